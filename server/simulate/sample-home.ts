import { createHash } from 'node:crypto';
import type { PhaseKind } from '../analysis/vocabulary.ts';
import type { Quantity } from '../physics/quantities.ts';
import { type Home, type HomePlace, type HomePlacement, homeHours, homeReadings } from './home.ts';
import type { HouseHours } from './house.ts';
import type { Scenario } from './scenario.ts';
import { type BatteryFill, offsetsOf, type SensorKind, type SimulatedSensor, sensorKinds } from './sensor.ts';

const SEED = 20_241_001;
const ZONE = 'Europe/London';
const utc = (text: string): number => Date.parse(`${text}Z`);
const iso = (time: number): string => new Date(time).toISOString().replace('.000Z', 'Z');
const span = (from: string, to: string): { from: number; to: number } => ({ from: utc(from), to: utc(to) });

/** Instants that readings in the sample files can have: from included, to excluded. */
export const sampleSpan = span('2024-10-01T00:00:00', '2026-05-01T00:00:00');

const HEATING_FAILURE = span('2025-01-11T17:00:00', '2025-01-16T11:00:00');
const LAUNDRY = [
  span('2024-11-18T00:00:00', '2024-12-16T00:00:00'),
  span('2026-02-01T00:00:00', '2026-02-22T00:00:00'),
];
const WINDOW_OPEN = span('2026-01-08T08:00:00', '2026-01-10T17:00:00');
const WORKS = span('2025-09-08T08:00:00', '2025-09-20T10:00:00');
const LINED_FROM = utc('2025-09-12T15:00:00');
const RADIO_AWAY = span('2025-03-03T09:00:00', '2025-03-04T16:00:00');
const NEW_OUTDOOR_BATTERY = utc('2025-02-05T16:00:00');
const LOFT_DAY = utc('2024-11-09T11:00:00');
const DRY_AGAIN = utc('2025-10-13T00:00:00');

const DAY = 86_400_000;
/** Batteries that last 420 days, changed once a year for ten years. */
const yearly = (from: number): BatteryFill[] =>
  Array.from({ length: 10 }, (_, year) => ({ from: from + year * 365 * DAY, days: 420 }));

const places: readonly HomePlace[] = [
  { key: 'bedroom', name: 'Bedroom air', kind: 'room-air', faces: null, point: 'room' },
  { key: 'slope', name: 'Sloping ceiling near the eaves', kind: 'ceiling-surface', faces: 'bedroom', point: 'slope' },
  { key: 'edge', name: 'Edge of the lining', kind: 'ceiling-surface', faces: 'bedroom', point: 'edge' },
  { key: 'flat', name: 'Flat ceiling', kind: 'control-surface', faces: 'bedroom', point: 'control' },
  { key: 'behind', name: 'Old ceiling behind the lining', kind: 'behind-lining', faces: null, point: 'behind' },
  { key: 'loft', name: 'Loft air', kind: 'loft-air', faces: null, point: 'loft' },
  { key: 'rafter', name: 'Rafter in the loft', kind: 'loft-timber', faces: null, point: 'timber' },
  { key: 'outdoors', name: 'Outdoors, north wall', kind: 'outdoor-air', faces: null, point: 'outdoor' },
];

/** Where on the drawn section a place is, where that is not the usual for its kind. */
const positions: Readonly<Record<string, Scenario['places'][number]['position']>> = {
  slope: { along: 0.7, up: 0 },
  edge: { along: 0.97, up: 0 },
};

const usual = {
  seed: SEED,
  intervalSeconds: 1800,
  jitterSeconds: 20,
  lostShare: 0.004,
  outageDays: 0.01,
  contactError: 0,
  faults: [{ kind: 'silent', ...RADIO_AWAY }],
  batteries: [],
} as const satisfies Partial<SimulatedSensor>;

const sensors: readonly SimulatedSensor[] = [
  { ...usual, key: 'bedroom', model: 'SHT40', intervalSeconds: 900 },
  {
    ...usual,
    key: 'slope',
    model: 'SHT31',
    intervalSeconds: 900,
    contactError: 0.02,
    batteries: yearly(utc('2024-09-28T00:00:00')),
  },
  { ...usual, key: 'flat', model: 'DS18B20' },
  {
    ...usual,
    key: 'edge',
    model: 'DS18B20',
    // what this chip shows when it lost power between order and answer
    faults: [
      ...usual.faults,
      { kind: 'spike', value: 85, ...span('2025-12-19T03:00:00', '2025-12-19T03:30:00') },
      { kind: 'spike', value: 85, ...span('2026-02-11T14:00:00', '2026-02-11T14:30:00') },
    ],
  },
  { ...usual, key: 'behind', model: 'SHT31' },
  {
    ...usual,
    key: 'roamer',
    model: 'BME280',
    batteries: yearly(utc('2024-09-28T00:00:00')),
    faults: [...usual.faults, { kind: 'wetted', ...span('2026-01-24T02:00:00', '2026-01-25T19:00:00') }],
  },
  { ...usual, key: 'rafter', model: 'resistance pins', batteries: yearly(utc('2024-09-28T00:00:00')) },
  {
    ...usual,
    key: 'outdoors',
    model: 'SHT31',
    lostShare: 0.012,
    batteries: [{ from: utc('2024-09-28T00:00:00'), days: 120 }, ...yearly(NEW_OUTDOOR_BATTERY)],
    faults: [...usual.faults, { kind: 'flat-lined', ...span('2025-11-19T20:00:00', '2025-11-20T10:00:00') }],
  },
];

const START = sampleSpan.from;
const placements: readonly HomePlacement[] = [
  { sensor: 'bedroom', place: 'bedroom', from: START, to: null },
  { sensor: 'slope', place: 'slope', from: START, to: WORKS.from },
  { sensor: 'slope', place: 'slope', from: WORKS.to, to: null },
  { sensor: 'flat', place: 'flat', from: START, to: null },
  { sensor: 'edge', place: 'edge', from: WORKS.to, to: null },
  { sensor: 'behind', place: 'behind', from: LINED_FROM, to: null },
  { sensor: 'roamer', place: 'bedroom', from: START, to: LOFT_DAY },
  { sensor: 'roamer', place: 'loft', from: LOFT_DAY, to: null },
  { sensor: 'rafter', place: 'rafter', from: START, to: null },
  { sensor: 'outdoors', place: 'outdoors', from: START, to: null },
];

/** The invented home behind sample-data and the demo. No such house, village or people exist. */
export const sampleHome: Home = {
  epoch: utc('2024-08-01T00:00:00'),
  house: {
    weather: {
      kind: 'invented',
      seed: SEED,
      latitude: 53,
      annualMean: 9.8,
      annualSwing: 5.9,
      milderWinters: { 2024: -0.9, 2025: 1.6 },
    },
    living: {
      seed: SEED,
      zone: ZONE,
      heatedTo: 18.5,
      heatingHours: [
        [6, 8.5],
        [16.5, 22.5],
      ],
      heatingOff: [HEATING_FAILURE],
      background: 46,
      sleepers: 2,
      laundry: LAUNDRY,
      laundryRate: 70,
      windowOpen: [WINDOW_OPEN],
      windowChanges: 4,
      airChanges: 0.65,
    },
    roomVolume: 32,
    roomHours: 38,
    slopeFactorBefore: 0.5,
    slopeFactorAfter: 0.88,
    edgeFactorAfter: 0.68,
    controlFactor: 0.91,
    linedFrom: LINED_FROM,
    loftLeak: 0.035,
    liningLeak: 0.15,
  },
  places,
  sensors,
  placements,
};

const sensorNames: Readonly<Record<string, string>> = {
  bedroom: 'Bedroom, by the door',
  slope: 'Stuck to the slope, second rafter bay',
  flat: 'Stuck to the flat ceiling',
  edge: 'Stuck to the edge strip',
  behind: 'Behind the lining, second rafter bay',
  roamer: 'Box with the blue lid',
  rafter: 'Pins in the third rafter',
  outdoors: 'North wall, under the sill',
};

const phases: readonly { kind: PhaseKind; name: string; from: number; to: number | null }[] = [
  { kind: 'before', name: 'Before the lining', from: START, to: WORKS.from },
  { kind: 'works', name: 'Lining the slope', from: WORKS.from, to: WORKS.to },
  { kind: 'drying-out', name: 'Filler and paint drying', from: WORKS.to, to: DRY_AGAIN },
  { kind: 'after', name: 'With the lining', from: DRY_AGAIN, to: null },
];

const diary: readonly { time: string; kind: string; text: string }[] = [
  {
    time: '2024-10-01T18:00:00',
    kind: 'note',
    text: 'Sensors up. Blue-lid box stays beside the bedroom one for now, to compare them.',
  },
  { time: '2024-11-09T11:00:00', kind: 'note', text: 'Moved the blue-lid box from the bedroom to the loft.' },
  {
    time: '2024-11-18T09:00:00',
    kind: 'laundry-indoors',
    text: 'Too wet outside: drying laundry in the bedroom from now on.',
  },
  { time: '2024-12-16T09:00:00', kind: 'note', text: 'Laundry out of the bedroom again.' },
  { time: '2025-01-11T17:30:00', kind: 'heating-off', text: 'Boiler will not light.' },
  { time: '2025-01-16T11:00:00', kind: 'note', text: 'Boiler mended, heating on again.' },
  { time: '2025-02-05T16:00:00', kind: 'note', text: 'Outdoor sensor had been silent; put new batteries in.' },
  {
    time: '2025-03-04T16:30:00',
    kind: 'note',
    text: 'Radio was off since yesterday morning: somebody needed the socket.',
  },
  {
    time: '2025-03-29T10:00:00',
    kind: 'mould-seen',
    text: 'Black spots on the slope, in stripes between the rafters, about a hand wide.',
  },
  {
    time: '2025-04-26T14:00:00',
    kind: 'cleaned',
    text: 'Cleaned the slope, mask and gloves on. The stripes are gone for now.',
  },
  {
    time: '2025-09-08T08:00:00',
    kind: 'works',
    text: 'Slope sensor off, works begin: slope cleaned and dried, eaves gap checked and left open.',
  },
  {
    time: '2025-09-12T15:00:00',
    kind: 'works',
    text: 'Foam and board up between the ribs, joints taped. A sensor sits on the old ceiling behind it.',
  },
  {
    time: '2025-09-20T10:00:00',
    kind: 'works',
    text: 'Filled and painted. Slope sensor back in the same bay, a new one on the edge strip.',
  },
  { time: '2026-01-08T08:00:00', kind: 'window-open', text: 'Bedroom window left on the latch; noticed on Saturday.' },
  { time: '2026-02-01T10:00:00', kind: 'laundry-indoors', text: 'Laundry in the bedroom for some weeks.' },
  {
    time: '2026-03-15T15:00:00',
    kind: 'note',
    text: 'Looked along the slope with a torch: nothing on the lining, a faint grey line at its lower edge.',
  },
];

const thousandths = (value: number): number => Math.round(value * 1000) / 1000 + 0; // + 0: no minus zero
const cell = (value: number | null): string => (value === null ? '' : String(value));

const columnsOf = (sensor: SimulatedSensor): Quantity[] => {
  const kind: SensorKind = sensorKinds[sensor.model];
  const columns: Quantity[] = ['temperature'];
  if (kind.humidityLimit !== null) columns.push('humidity');
  if (kind.timberLimit !== null) columns.push('timberMoisture');
  if (sensor.batteries.length > 0) columns.push('battery');
  return columns;
};

const wireNames = {
  temperature: 'temperature_c',
  humidity: 'humidity_pct',
  timberMoisture: 'timber_moisture_pct',
  battery: 'battery_v',
} as const;

/** The readings of one sensor of the sample home as CSV text: a header, then a row for each message, LF at line ends. */
function sampleCsv(sensor: SimulatedSensor, hours: HouseHours, from: number, to: number): string {
  const columns = columnsOf(sensor).filter((column) => column in wireNames) as (keyof typeof wireNames)[];
  const lines = [['time', ...columns.map((column) => wireNames[column])].join(',')];
  for (const reading of homeReadings(sampleHome, hours, sensor, from, to)) {
    lines.push([iso(reading.time), ...columns.map((column) => cell(reading[column]))].join(','));
  }
  lines.push('');
  return lines.join('\n');
}

export interface SampleData {
  readonly scenario: Scenario;
  /** CSV text by the name of its packed file */
  readonly files: ReadonlyMap<string, string>;
}

/** Everything in sample-data, made anew. */
export function makeSampleData(): SampleData {
  const hours = homeHours(sampleHome, sampleSpan.to);
  const files = new Map<string, string>();
  const described = sensors.map((sensor) => {
    const text = sampleCsv(sensor, hours, sampleSpan.from, sampleSpan.to);
    const file = `readings/${sensor.key}.csv.gz`;
    files.set(file, text);
    return {
      key: sensor.key,
      name: sensorNames[sensor.key] ?? sensor.key,
      model: sensor.model,
      quantities: columnsOf(sensor),
      intervalSeconds: sensor.intervalSeconds,
      file,
      rows: text.split('\n').length - 2,
      sha256: createHash('sha256').update(text).digest('hex'),
    };
  });
  const { house } = sampleHome;
  const scenario: Scenario = {
    title: 'A cold strip of sloping ceiling, lined between two winters',
    note: 'Invented: no such house, village or people exist, and no reading was measured. Made from equations and a seed; README.md beside this file says how.',
    seed: SEED,
    from: iso(sampleSpan.from),
    to: iso(sampleSpan.to),
    dwelling: {
      slug: 'thrimble-cottage',
      name: 'Thrimble Cottage, Nether Sallowby',
      zone: ZONE,
      section: {
        pitchDeg: 42,
        slopeLengthMm: 1900,
        roomHeightMm: 2300,
        liningThicknessMm: 40,
        loftInsulationMm: 100,
        eavesGapMm: 50,
      },
    },
    places: places.map(({ key, name, kind, faces }) => ({ key, name, kind, faces, position: positions[key] ?? null })),
    sensors: described,
    placements: placements.map(({ sensor, place, from, to }) => ({
      sensor,
      place,
      from: iso(from),
      to: to === null ? null : iso(to),
    })),
    phases: phases.map(({ kind, name, from, to }) => ({
      kind,
      name,
      from: iso(from),
      to: to === null ? null : iso(to),
    })),
    diary: diary.map(({ time, kind, text }) => ({ time: `${time}Z`, kind, text })),
    planted: {
      slopeFactorBefore: house.slopeFactorBefore,
      slopeFactorAfter: house.slopeFactorAfter,
      edgeFactorAfter: house.edgeFactorAfter,
      controlFactor: house.controlFactor,
      offsets: Object.fromEntries(
        sensors.map((sensor) => {
          const { temperature, humidity, timberMoisture } = offsetsOf(sensor);
          return [
            sensor.key,
            {
              temperatureK: thousandths(temperature),
              humidityPct: thousandths(humidity),
              timberMoisturePct: thousandths(timberMoisture),
            },
          ];
        }),
      ),
      faults: sensors.flatMap((sensor) =>
        sensor.faults.map(({ kind, from, to }) => ({ sensor: sensor.key, kind, from: iso(from), to: iso(to) })),
      ),
    },
  };
  return { scenario, files };
}
