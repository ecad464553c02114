import type { ComponentChildren } from 'preact';
import { placingWords } from '../words/placing.ts';

/**
 * Small pictures of where a sensor belongs, in the look of the section. Each is drawn on a sheet of 320 by 200; the
 * words beside it say the same.
 */
const sheet = { width: 320, height: 200 } as const;

const g = placingWords.guides;

function Picture(props: {
  name: keyof typeof g;
  children: (hatch: (kind: 'wool' | 'foam') => string) => ComponentChildren;
}) {
  const id = `guide-${props.name}`;
  return (
    <svg class="guide" viewBox={`0 0 ${sheet.width} ${sheet.height}`} role="img" aria-label={g[props.name].shows}>
      <defs>
        <pattern id={`${id}-wool`} width="14" height="14" patternUnits="userSpaceOnUse">
          <path class="wool-line" d="M0 11c3.5-11 10.5-11 14 0" />
        </pattern>
        <pattern id={`${id}-foam`} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(28)">
          <path class="foam-line" d="M0 0v6" />
        </pattern>
        <marker id={`${id}-tip`} viewBox="0 0 8 8" refX="6" refY="4" markerWidth="6" markerHeight="6" orient="auto">
          <path class="air-tip" d="M0 .8 7 4 0 7.2z" />
        </marker>
      </defs>
      {props.children((kind) => `url(#${id}-${kind})`)}
    </svg>
  );
}

const air = (name: keyof typeof g, path: string) => (
  <path class="g-air" d={path} marker-end={`url(#guide-${name}-tip)`} />
);

function Note(props: { x: number; y: number; text: string; anchor?: 'start' | 'middle' | 'end' }) {
  return (
    <text class="drawing-note" x={props.x} y={props.y} text-anchor={props.anchor ?? 'start'}>
      {props.text}
    </text>
  );
}

/** The sensor itself: a ring, as on the section; `dashed` where it should not be. */
const Sensor = (props: { x: number; y: number; r?: number; wrong?: true }) => (
  <circle class={props.wrong ? 'g-sensor is-wrong' : 'g-sensor'} cx={props.x} cy={props.y} r={props.r ?? 7} />
);

/** A length between two witness marks. */
const Length = (props: { x1: number; y1: number; x2: number; y2: number }) => (
  <path
    class="g-measure"
    d={`M${props.x1} ${props.y1}L${props.x2} ${props.y2}M${props.x1 - 3} ${props.y1 + 3}l6-6M${props.x2 - 3} ${props.y2 + 3}l6-6`}
  />
);

/** Two close looks at the ceiling board, the right way and the wrong way. */
function Pair() {
  return (
    <>
      <path class="g-board" d="M8 44H152V74H8Z" />
      <path class="g-board" d="M168 44H312V74H168Z" />
      <path class="g-divide" d="M160 8V192" />
      <text class="g-verdict" x="8" y="18">
        {placingWords.so}
      </text>
      <text class="g-verdict" x="168" y="18">
        {placingWords.notSo}
      </text>
      <Note x={8} y={38} text={placingWords.loftSide} />
    </>
  );
}

function Contact() {
  const { marks } = g.contact;
  return (
    <Picture name="contact">
      {() => (
        <>
          <Pair />
          <path class="g-filler" d="M44 74C52 98 62 100 80 100S108 98 116 74Z" />
          <Sensor x={80} y={84} r={8} />
          <path class="g-lead" d="M88 84C100 82 108 79 120 77H152" />
          <path class="g-leader" d="M80 100V128" />
          <Note x={80} y={144} text={marks.bedded} anchor="middle" />
          <Sensor x={240} y={83} r={8} wrong />
          <path class="g-lead" d="M248 84C262 86 280 88 312 90" />
          {air('contact', 'M204 92C212 84 220 80 230 79')}
          {air('contact', 'M204 108C222 102 234 100 240 94')}
          <path class="g-leader" d="M240 104V128" />
          <Note x={240} y={144} text={marks.dry} anchor="middle" />
          <Note x={8} y={188} text={placingWords.roomSide} />
        </>
      )}
    </Picture>
  );
}

function Cover() {
  const { marks } = g.cover;
  return (
    <Picture name="cover">
      {(hatch) => (
        <>
          <Pair />
          <path class="g-filler" d="M56 74C62 92 70 94 80 94S98 92 104 74Z" />
          <Sensor x={80} y={83} r={7} />
          <path class="g-tape" d="M30 75C48 76 56 80 62 91 68 98 92 98 98 91 104 80 112 76 130 75" />
          <path class="g-leader" d="M80 97V128" />
          <Note x={80} y={144} text={marks.tape} anchor="middle" />
          <path class="g-filler" d="M216 74C222 92 230 94 240 94S258 92 264 74Z" />
          <Sensor x={240} y={83} r={7} wrong />
          <path class="g-pad" fill={hatch('foam')} d="M200 75H216C222 92 230 95 240 95S258 92 264 75H280V116H200Z" />
          <path class="g-leader" d="M240 116V128" />
          <Note x={240} y={144} text={marks.pad} anchor="middle" />
          <Note x={8} y={188} text={placingWords.roomSide} />
        </>
      )}
    </Picture>
  );
}

function LeadAlong() {
  const { marks } = g['lead-along'];
  return (
    <Picture name="lead-along">
      {() => (
        <>
          <Pair />
          <path class="g-filler" d="M14 74C18 88 24 90 32 90S46 88 50 74Z" />
          <Sensor x={32} y={82} r={6} />
          <path class="g-lead" d="M38 80C44 78 48 78 54 78H128C140 78 142 84 142 96V176" />
          <path class="g-tape" d="M54 83H126" />
          <Length x1={32} y1={108} x2={134} y2={108} />
          <Note x={83} y={126} text={marks.length} anchor="middle" />
          <path class="g-filler" d="M222 74C226 88 232 90 240 90S254 88 258 74Z" />
          <Sensor x={240} y={82} r={6} wrong />
          <path class="g-lead" d="M240 88V176" />
          {air('lead-along', 'M252 168V124')}
          <Note x={234} y={150} text={marks.drop} anchor="end" />
          <Note x={8} y={188} text={placingWords.roomSide} />
        </>
      )}
    </Picture>
  );
}

function Clear() {
  const { marks } = g.clear;
  return (
    <Picture name="clear">
      {() => (
        <>
          <path class="g-room" d="M14 186V24H150L284 130V186Z" />
          <path class="g-ink" d="M14 186V24H150L284 130V186" />
          <path class="g-floor" d="M8 186H312" />
          <path class="g-line" d="M76 24V60M62 72C64 62 88 62 90 72Z" />
          <path class="g-warm" d="M64 80l-8 10M76 82v12M88 80l8 10" />
          <Note x={76} y={112} text={marks.lamp} anchor="middle" />
          <path class="g-line" d="M246 156H276V182H246ZM254 156V182M261 156V182M268 156V182" />
          <path class="g-warm" d="M252 150c-6-8 6-12 0-20M262 150c-6-8 6-12 0-20M272 150c-6-6 5-8 1-13" />
          <Note x={240} y={176} text={marks.radiator} anchor="end" />
          <path class="g-line" d="M150 24l-9-7h-18v7M150 24l4 3" />
          <path class="g-warm" d="M126 30v9M134 30v9M142 30v9" />
          <Note x={132} y={54} text={marks.duct} anchor="middle" />
          <path class="g-line" d="M14 92V140M20 92V140M14 92H20M14 140H20" />
          <path class="g-sun" d="M20 96 120 186M20 136 78 186" />
          <Note x={40} y={178} text={marks.sun} />
          <Sensor x={203} y={76} />
          <path class="g-leader" d="M197 82 176 106" />
          <Note x={172} y={120} text={marks.here} anchor="middle" />
        </>
      )}
    </Picture>
  );
}

function Rafters() {
  const { marks } = g.rafters;
  return (
    <Picture name="rafters">
      {(hatch) => (
        <>
          <path class="g-tiles" d="M4 26H316" />
          <path class="g-wool" fill={hatch('wool')} d="M8 62H56V112H8ZM96 62H224V112H96ZM264 62H312V112H264Z" />
          <path class="g-timber" d="M56 40H96V112H56ZM224 40H264V112H224Z" />
          <path
            class="g-grain"
            d="M62 40V112M70 40V112M80 40V112M89 40V112M230 40V112M239 40V112M249 40V112M258 40V112"
          />
          <path class="g-board" d="M8 112H312V128H8Z" />
          <Sensor x={76} y={136} />
          <Sensor x={160} y={136} />
          <path class="g-leader" d="M76 143V160M160 143V160" />
          <Note x={76} y={174} text={marks.on} anchor="middle" />
          <Note x={168} y={174} text={marks.between} anchor="middle" />
          <Note x={244} y={174} text={marks.rafter} anchor="middle" />
          <path class="g-leader" d="M244 160V108" />
          <path class="g-note-ground" d="M142 78h36v18h-36z" />
          <Note x={160} y={91} text={marks.wool} anchor="middle" />
        </>
      )}
    </Picture>
  );
}

/** Spots of mould round the corner: x, y, radius. */
const stain: readonly (readonly [number, number, number])[] = [
  [226, 117, 5],
  [219, 111, 3.5],
  [233, 115, 3.5],
  [214, 105, 2],
  [225, 107, 2.5],
  [241, 119, 3],
  [250, 121, 2],
  [247, 115, 1.5],
  [258, 127, 1.6],
  [222, 125, 3],
  [230, 126, 3],
  [220, 134, 2],
  [232, 136, 1.8],
  [207, 101, 1.4],
  [233, 106, 1.5],
  [217, 119, 2],
  [240, 128, 1.6],
];

function ColdestCorner() {
  const { marks } = g['coldest-corner'];
  return (
    <Picture name="coldest-corner">
      {() => (
        <>
          <path class="g-room" d="M12 196V30L120 6 226 116V196Z" />
          <path class="g-ink" d="M226 196V116L120 6M226 116 312 140M120 6 196 22M12 196V30L120 6" />
          <path class="g-line" d="M196 22 312 52" />
          <g class="g-stain">
            {stain.map(([x, y, r]) => (
              <circle key={`${x} ${y}`} cx={x} cy={y} r={r} />
            ))}
          </g>
          <Sensor x={240} y={102} />
          <path class="g-leader" d="M245 97 268 76" />
          <Note x={272} y={72} text={marks.here} />
          <Note x={180} y={50} text={marks.slope} anchor="start" />
          <Note x={84} y={110} text={marks.gable} />
          <Note x={262} y={172} text={marks.eaves} anchor="middle" />
        </>
      )}
    </Picture>
  );
}

/** Room, slope, loft: what the section shows, small. */
function Roof(props: { wool: string }) {
  return (
    <>
      <path class="g-room" d="M8 190V86H118L214 154V190Z" />
      <path class="g-wool" fill={props.wool} d="M8 80V52H92L130 80Z" />
      <path class="g-board" d="M8 80H120L218 148 214 154 118 86H8Z" />
      <path class="g-line" d="M46 12 270 168" />
      <path class="g-ink" d="M70 12 282 160 270 168" />
      <path class="g-tiles" d="M82 12 290 156" />
      <path class="g-line" d="M214 154V190M244 150V190" />
      <path class="g-floor" d="M4 190H248" />
    </>
  );
}

function Control() {
  const { marks } = g.control;
  return (
    <Picture name="control">
      {(hatch) => (
        <>
          <Roof wool={hatch('wool')} />
          <path class="g-foam" fill={hatch('foam')} d="M122 89 208 150 202 158 116 97Z" />
          <path class="g-face" d="M116 97 202 158" />
          <Sensor x={52} y={94} />
          <path class="g-leader" d="M52 101V120" />
          <Note x={52} y={134} text={marks.control} anchor="middle" />
          <Sensor x={152} y={131} />
          <path class="g-leader" d="M147 137 134 152" />
          <Note x={128} y={166} text={marks.treated} anchor="middle" />
          <path class="g-leader" d="M190 147 252 110" />
          <path class="g-note-ground" d="M248 92h46v18h-46z" />
          <Note x={252} y={106} text={marks.lining} />
        </>
      )}
    </Picture>
  );
}

function Behind() {
  const { marks } = g.behind;
  return (
    <Picture name="behind">
      {(hatch) => (
        <>
          <path class="g-tiles" d="M6 20H314" />
          <path class="g-line" d="M8 30H312" />
          <path class="g-wool" fill={hatch('wool')} d="M8 42H312V72H8Z" />
          <path class="g-board" d="M8 72H312V84H8Z" />
          <path class="g-foam" fill={hatch('foam')} d="M8 96H92V102H130V96H312V134H8Z" />
          <path class="g-vapour" d="M8 136H312" />
          <path class="g-board" d="M8 138H312V148H8Z" />
          <Sensor x={110} y={93} r={6} />
          <path class="g-lead" d="M116 92H196C206 92 208 96 208 104V176" />
          <path class="g-seal" d="M200 132h16v8h-16z" />
          <Note x={8} y={184} text={marks.gap} />
          <path class="g-leader" d="M28 171 104 96" />
          <Note x={70} y={184} text={marks.face} />
          <path class="g-leader" d="M92 171V144" />
          <Note x={312} y={184} text={marks.vapour} anchor="end" />
          <path class="g-leader" d="M250 171 217 140" />
          <path class="g-note-ground" d="M226 50h80v16h-80z" />
          <Note x={230} y={63} text={marks.old} />
          <path class="g-leader" d="M250 66V78" />
        </>
      )}
    </Picture>
  );
}

function Room() {
  const { marks } = g.room;
  return (
    <Picture name="room">
      {() => (
        <>
          <path class="g-room" d="M20 14H300V186H20Z" />
          <path class="g-board" d="M20 14H34V186H20Z" />
          <path class="g-floor" d="M8 186H312" />
          <path class="g-line" d="M20 14H312" />
          <path
            class="g-line"
            d="M108 70a11 11 0 1 0 .1 0ZM108 92C96 94 92 104 92 118V140H98V186M108 92C120 94 124 104 124 118V140H118V186M108 146V186"
          />
          <path class="g-dash" d="M58 80H94" />
          <Sensor x={48} y={80} r={8} />
          <path class="g-line" d="M34 80H40" />
          {air('room', 'M66 104C58 100 52 98 49 92')}
          {air('room', 'M66 56C58 60 52 62 49 68')}
          <Length x1={200} y1={80} x2={200} y2={186} />
          <path class="g-dash" d="M122 80H206" />
          <Note x={210} y={138} text={marks.height} />
          <Note x={42} y={34} text={marks.wall} />
        </>
      )}
    </Picture>
  );
}

function Loft() {
  const { marks } = g.loft;
  return (
    <Picture name="loft">
      {(hatch) => (
        <>
          <path class="g-wool" fill={hatch('wool')} d="M8 166V130H232L262 152 250 166Z" />
          <path class="g-board" d="M8 166H262V174H8Z" />
          <path class="g-line" d="M82 24 286 176" />
          <path class="g-ink" d="M96 18 304 172 286 176" />
          <path class="g-tiles" d="M106 14 312 166" />
          <path class="g-line" d="M82 24 8 78M96 18 82 24" />
          <path class="g-line" d="M68 33V82" />
          <Sensor x={68} y={90} />
          <path class="g-leader" d="M76 90H96" />
          <Note x={100} y={94} text={marks.air} />
          <Sensor x={196} y={104} />
          <path class="g-leader" d="M189 102H172" />
          <Note x={168} y={106} text={marks.timber} anchor="end" />
          {air('loft', 'M294 196V176C276 160 262 150 248 140')}
          {air('loft', 'M242 136C228 126 206 122 176 120')}
          <Note x={282} y={194} text={marks.gap} anchor="end" />
        </>
      )}
    </Picture>
  );
}

function Outdoors() {
  const { marks } = g.outdoors;
  return (
    <Picture name="outdoors">
      {() => (
        <>
          <path class="g-shade" d="M99 34 314 141V186H158V92L182 104Z" />
          <path class="g-room" d="M48 186V88L99 45 150 88V186Z" />
          <path class="g-board" d="M40 186V94H48V186ZM150 186V94H158V186Z" />
          <path class="g-ink" d="M20 104 99 37 178 104" />
          <path class="g-tiles" d="M14 98 98 27M100 27 184 98" />
          <path class="g-floor" d="M8 186H312" />
          <circle class="g-sun-disc" cx={30} cy={30} r={9} />
          <path class="g-warm" d="M44 37l12 6M40 44l9 10M46 28h13M30 45v13" />
          <path class="g-line" d="M158 122H170" />
          <Sensor x={177} y={122} />
          <Length x1={158} y1={142} x2={178} y2={142} />
          <Note x={186} y={147} text={marks.off} />
          <Note x={262} y={142} text={marks.shade} anchor="middle" />
          {air('outdoors', 'M244 172H288')}
          <Note x={238} y={176} text={marks.north} anchor="end" />
        </>
      )}
    </Picture>
  );
}

export const placingDrawings: Readonly<Record<keyof typeof g, () => ComponentChildren>> = {
  'coldest-corner': ColdestCorner,
  rafters: Rafters,
  contact: Contact,
  cover: Cover,
  'lead-along': LeadAlong,
  clear: Clear,
  control: Control,
  behind: Behind,
  room: Room,
  loft: Loft,
  outdoors: Outdoors,
};
