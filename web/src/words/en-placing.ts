/** Text of the placing guide in English. */
export const enPlacing = {
  title: 'Where a sensor belongs',
  lead: 'A sensor tells the truth about the spot where it sits. Most wrong figures are right figures of the wrong spot.',
  contents: 'On this page',
  so: 'Right',
  notSo: 'Wrong',
  loftSide: 'loft side, cold',
  roomSide: 'room side, warm',
  guides: {
    'coldest-corner': {
      title: 'The coldest corner',
      shows:
        'A corner of the room seen from inside: sloping ceiling, gable wall and low eaves wall meet in one point; the sensor sits on the slope, close to that point.',
      points: [
        'Look where slope, gable and eaves meet, or where the black stain is: that is where water settles first.',
        'On a cold morning, before the heating starts, feel the ceiling with the back of your hand. An infra-red thermometer helps to find the coldest spot; believe its differences, not its figures.',
      ],
      marks: { slope: 'slope', gable: 'gable', eaves: 'eaves wall', here: 'here' },
    },
    rafters: {
      title: 'On a rafter, or between two',
      shows:
        'A cut across the slope: two rafters with wool between them, the ceiling board below; one sensor under a rafter, one half-way between the rafters.',
      points: [
        'With wool between the rafters the timber is the colder line. With nothing between them, the field is.',
        'With two sensors, use one of each at the same height. With one, take the colder spot, and note in the diary which it is: after the works the other may be the colder.',
      ],
      marks: { rafter: 'rafter', wool: 'wool', on: 'on the rafter', between: 'between' },
    },
    contact: {
      title: 'Touching the surface',
      shows:
        'A close look at the ceiling board, twice. Right: the bead is bedded in a dab of filler against the board. Wrong: a dry bead touches the board at one point, with air round it.',
      points: [
        'A dry bead touches at a few points and mostly measures the air round it. Bed it in a dab of filler or heat-conducting paste.',
        'A bead with air under it reads too warm, and that flatters the ceiling: a tenth of the difference between room and surface is enough to turn 95 % at the surface into 89 %.',
      ],
      marks: { bedded: 'bedded in filler', dry: 'air under a dry bead' },
    },
    cover: {
      title: 'A thin cover',
      shows:
        'A close look at the ceiling board, twice. Right: paper tape over the bead, painted like the ceiling. Wrong: a foam pad over the bead, under which the board turns too cold.',
      points: [
        'Cover the bead with paper tape and paint it like the ceiling, so that it sees the room as the ceiling does.',
        'No foam pad: it keeps the warmth of the room from the board, and the spot under it becomes colder than the ceiling is. No shiny foil: it refuses the half of the warmth that comes as radiation.',
      ],
      marks: { tape: 'paper tape, painted', pad: 'foam pad' },
    },
    'lead-along': {
      title: 'The lead along the surface',
      shows:
        'A close look at the ceiling board, twice. Right: the lead runs 100 millimetres along the board under the tape before it turns into the room. Wrong: the lead drops from the bead straight into the room.',
      points: [
        'Copper carries warmth from the room into the bead. Fix the first 100 mm of the lead against the surface; over that length the warmth goes into the board instead.',
        'Try it: on a cold night hold the free part of the lead in a warm hand for ten minutes. A reading that moves by more than 0.1 K asks for more length along the surface.',
      ],
      marks: { length: '100 mm', drop: 'straight down' },
    },
    clear: {
      title: 'Away from lamps, ducts and sun',
      shows:
        'A room with a sloping ceiling. The sensor on the slope keeps clear of a hanging lamp, of a radiator with warm air rising above it, of a duct, and of the patch of sun from a window.',
      points: [
        'Keep a metre from lamps, ducts, chimneys, televisions, and from radiators and the warm air that rises above them.',
        'Keep out of the patch of sun. Walk round at noon on a clear day and look, also in spring when the sun stands higher.',
        'Not behind a cupboard either, unless that is the spot in question; then say so in its name.',
      ],
      marks: { lamp: 'lamp', radiator: 'radiator', duct: 'duct', sun: 'sun', here: 'here' },
    },
    control: {
      title: 'A control surface',
      shows:
        'A section of the room: the slope is lined, the flat ceiling is not. One sensor sits on the lined slope, the control on the flat ceiling.',
      points: [
        'A comparable surface that is not treated, such as the flat ceiling or a strip left unlined. What changes there too was the weather or the way of living, not the lining.',
        'Fix its sensor in the same way, with the same cover, and leave it alone through the works.',
      ],
      marks: { control: 'control', treated: 'treated', lining: 'lining' },
    },
    behind: {
      title: 'Behind the lining',
      shows:
        'The layers from the loft side to the room: rafter and wool, the old ceiling, the sensor on it, insulation, vapour control layer and the new face. The lead passes the vapour control layer through a seal.',
      points: [
        'On the old surface, before the lining closes, at the height of the coldest corner. Temperature and humidity together: the humidity of a gap means nothing without its own temperature.',
        'Better two than one: nobody gets there again. Seal the lead where it passes the vapour control layer.',
        'The sensor that measured the old surface stays. From the day the lining closes its place is “behind the lining”; say so with Move.',
      ],
      marks: { old: 'old ceiling', gap: 'sensor', vapour: 'vapour control, sealed', face: 'new face' },
    },
    room: {
      title: 'Room air',
      shows: 'An inner wall with a sensor at head height, a little off the wall, and a person beside it for scale.',
      points: [
        'Head height, on an inner wall, 20 mm off it, with free air round it. Not above a radiator, not in the draught of a door, not on a shelf at the outer wall.',
        'Every dew point comes from this one: give it the best humidity sensor you have.',
      ],
      marks: { height: 'head height', wall: 'inner wall' },
    },
    loft: {
      title: 'Loft air and timber',
      shows:
        'A section of the loft: the air sensor hangs in the middle, half-way between the insulation and the ridge; the timber sensor sits low on a rafter near the eaves. Air enters at the eaves.',
      points: [
        'Air: in the middle, half-way between insulation and ridge, off the timber, out of the stream from the eaves, not above the hatch.',
        'Timber: a rafter or the wall plate on the side without sun, low down near the eaves, where wood stays damp longest. A temperature sensor beside the pins, in the wood.',
        'Lay boards, bring light, mind heat and falls, and leave the gap at the eaves open.',
      ],
      marks: { air: 'air', timber: 'timber', gap: 'leave open' },
    },
    outdoors: {
      title: 'Outdoors, in the shade',
      shows:
        'A house with the low sun on its south side: the sensor hangs under the north eaves, in the shade of the house, 100 millimetres off the wall.',
      points: [
        'North side, shade all day, a roof over it against rain, 100 mm off the wall.',
        'Not beside windows, extract grilles or a boiler’s flue. Early sun reaches a north wall in June: look.',
      ],
      marks: { off: '100 mm', north: 'north', shade: 'shade' },
    },
  },
  after: 'When it is fixed',
  afterPoints: [
    'Take a photograph with a ruler in it, and write date and spot into the diary.',
    'Let the sensors run for two weeks of cold weather before the works begin: without a before there is nothing to compare.',
  ],
  asbestos: 'Old textured coatings and boards may hold asbestos: have them tested before you drill or scrape.',
};
