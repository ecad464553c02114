import type { NextStep } from '../settling/next-steps.ts';

/** Text from an empty page to a settled home, in English: the first form, what is next, the example. */
export const enSettling = {
  first: {
    title: 'No home yet',
    lead: 'Give the home a name and draw the roof. Both can be changed at any time. Then connect a sensor, or read in a file that one has written.',
    name: 'Name of the home',
    slug: 'Short name for topics',
    slugHint: 'lower-case letters, digits and hyphens; sensors send to coomb/<short name>/<sensor>',
    slugMore: 'Short name and time zone',
    zone: 'Time zone',
    zoneHint: 'taken from this browser; nights and days are counted by its clock',
    section: 'The roof',
    sectionLead:
      'Rough measures will do: they make the drawing, not the figures. What is filled in is a common small house.',
    add: 'Add this home',
    or: 'Or look round first',
  },
  measures: {
    pitchDeg: 'how steep the roof is: 0 is flat, 45 is halfway to upright',
    slopeLengthMm: 'from the low wall up to the flat ceiling, measured along the slope',
    roomHeightMm: 'from the floor to the flat part of the ceiling',
    liningThicknessMm: 'what was put on the slope from the room side, insulation and board together',
    loftInsulationMm: 'what lies on the flat ceiling in the loft',
    eavesGapMm: 'the gap above the insulation through which outdoor air enters the loft; it must stay open',
  },
  preview: 'The drawing as it will be',
  next: {
    title: 'What is next',
    done: (done: string, all: string) => `${done} of ${all} done`,
    steps: {
      section: ['Draw the roof', 'The drawing still has the measures of a common house.'],
      sensor: ['Connect a sensor, or read in a file', 'Nothing was heard yet.'],
      place: ['Give every sensor its place', 'What a sensor sends counts from the day it stands somewhere.'],
      room: ['Watch the air of the room', 'Whether a surface is damp is judged against it: temperature and humidity.'],
      surface: ['Watch the cold surface', 'A sensor on the sloping ceiling, or on its lining.'],
      outdoors: ['Watch the outdoors', 'Without it the weather cannot be taken out of the comparison.'],
      phase: ['Name the span before the works', 'Before and after are compared span by span.'],
    } as const satisfies Record<NextStep['kind'], readonly [string, string]>,
  },
  example: {
    title: 'An example to try',
    lead: (name: string) =>
      `${name}: an invented home with three winters of readings, a lining in the middle, and a diary. It comes beside your own homes and can be removed again without a trace.`,
    add: 'Try the example',
    tag: 'example, invented data',
    steps: {
      readings: 'Reading in the invented readings …',
      hours: 'Working out the hours …',
      now: 'Filling in up to now …',
    },
    there: (name: string) => `${name} is here. Everything in it is invented.`,
    open: 'Look at it',
    remove: 'Remove the example',
    removeLead: (name: string) =>
      `${name} goes with all its readings, and with whatever you added to it yourself. Your own homes are not touched.`,
    removing: 'The example is being removed. You need not wait.',
    removed: 'The example was removed.',
    share: (share: string) => `${share} done`,
  },
  own: {
    title: 'Connect a sensor',
    lead: 'Give the sensor a name of its own, and let it send to the address below over MQTT.',
    name: 'Name of the sensor',
    nameHint: 'letters, digits and hyphens, one for each sensor; as ceiling-1',
    broker: 'Broker',
    brokerLoopback:
      'This is an address of this computer alone. For sensors elsewhere in the house set COOMB_MQTT_HOST, and user and password with COOMB_MQTT_USER and COOMB_MQTT_PASSWORD; then start the program again.',
    topic: 'Topic',
    message: 'Message: a flat JSON object. Leave out what the sensor does not measure.',
    time: 'With no “time” the moment of arrival counts. Buffered readings may come later as an array of such objects, each with its own “time” (ISO 8601 or seconds since 1970). The same reading twice is one reading.',
    curl: 'An example to paste (curl)',
    try: 'To try it at once, without a sensor: paste this into a terminal of this computer. It counts as a real reading, under a name you can leave unplaced.',
    waiting: (topic: string) => `Waiting for the first message on ${topic} …`,
    heard: (sensor: string, figures: string) => `Heard ${sensor}: ${figures}.`,
    heardNext: 'Give it a place in the table above.',
    notUnderstood: (topic: string, reason: string) => `Something came on ${topic}, but was not understood: ${reason}`,
    explain: 'Say what it means',
    other: 'A sensor that sends in a form of its own is connected by saying what its messages mean:',
    file: 'A logger that writes files:',
    caution:
      'Batteries and plug-in supplies: use makes that carry the safety marks of your country, and none that get warm. Old textured coatings and boards may hold asbestos: have them tested before you drill or scrape.',
  },
  placing: {
    newPlace: 'a new place …',
    give: 'Give it a place',
    giveTitle: (name: string) => `A place for ${name}`,
    fromHint: 'what it sent from then on counts for this place',
  },
};
