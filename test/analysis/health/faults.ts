import type { Arrivals, HealthCode, HealthFinding } from '../../../server/analysis/health/finding.ts';
import { sensorFindings } from '../../../server/analysis/health/sensor-findings.ts';
import { healthSettings } from '../../../server/analysis/health/settings.ts';
import { HOUR_MS } from '../../../server/analysis/vocabulary.ts';
import { type Home, homeHours, homeReadings } from '../../../server/simulate/home.ts';
import type { HouseHours } from '../../../server/simulate/house.ts';
import { gaussianAt } from '../../../server/simulate/random.ts';
import { sampleHome } from '../../../server/simulate/sample-home.ts';
import type { Fault, SensorReading, SimulatedSensor } from '../../../server/simulate/sensor.ts';
import { type WatchedPlace, windowsAt } from './windows.ts';

/** Two weeks of December in the sample home, without any of its planted faults. */
export const NOW = Date.UTC(2025, 11, 15);
const FROM = NOW - healthSettings.windowMs;
const at = (day: number, hour = 0): number => FROM + (day * 24 + hour) * HOUR_MS;
const DAY_MS = 24 * HOUR_MS;

let hours: HouseHours | undefined;
const trueHours = (): HouseHours => {
  hours ??= homeHours(sampleHome, NOW);
  return hours;
};

const columns = (readings: readonly SensorReading[]): WatchedPlace['series'] =>
  Object.fromEntries(
    (['temperature', 'humidity', 'timberMoisture', 'battery'] as const).flatMap((quantity) => {
      const present = readings.filter((reading) => reading[quantity] !== null);
      return present.length === 0
        ? []
        : [
            [
              quantity,
              {
                times: Float64Array.from(present, ({ time }) => time),
                values: Float64Array.from(present, (reading) => reading[quantity]!),
              },
            ],
          ];
    }),
  );

type Change = (sensor: SimulatedSensor) => Partial<SimulatedSensor>;

/** Every watched place of a home over a span, its sensors changed as told. */
export function watchedPlaces(
  home: Home,
  hours: HouseHours,
  from: number,
  to: number,
  changes: Readonly<Record<string, Change>> = {},
): WatchedPlace[] {
  return home.places.flatMap(({ key: place, name, kind }) => {
    const stay = home.placements.find(
      (placement) => placement.place === place && placement.from < to && (placement.to ?? to) >= to,
    );
    const sensor = home.sensors.find(({ key }) => key === stay?.sensor);
    if (stay === undefined || sensor === undefined) return [];
    const changed = { ...sensor, ...changes[sensor.key]?.(sensor) };
    const readings = [...homeReadings(home, hours, changed, Math.max(from, stay.from), to)];
    return [{ name, kind, intervalSeconds: changed.intervalSeconds, series: columns(readings) }];
  });
}

const winter = (changes: Readonly<Record<string, Change>> = {}): WatchedPlace[] =>
  watchedPlaces(sampleHome, trueHours(), FROM, NOW, changes);

const faulty = (sensor: string, ...faults: readonly Fault[]): WatchedPlace[] =>
  winter({ [sensor]: () => ({ faults }) });

const named = (places: readonly WatchedPlace[], change: Readonly<Record<string, Partial<WatchedPlace>>>) =>
  places.map((place) => ({ ...place, ...change[place.name] }));

/** Arrivals of a device whose clock is off by so much and drifts by so much a day; a radio takes up to five seconds. */
function arrivals(behindMs: number, driftMsPerDay: number): Arrivals {
  const times = Float64Array.from({ length: 13 * 24 }, (_, hour) => at(1, hour));
  const lags = times.map(
    (time, k) => behindMs + (driftMsPerDay * (time - FROM)) / DAY_MS + 2000 + 800 * gaussianAt(7, k),
  );
  return { times, lags };
}

const BEDROOM = 'Bedroom air';
const SLOPE = 'Sloping ceiling near the eaves';
const EDGE = 'Edge of the lining';
const LOFT = 'Loft air';
const OUTDOORS = 'Outdoors, north wall';
const BEHIND = 'Old ceiling behind the lining';

/** Two sensors' readings under one name, in order of time. */
function merged(a: WatchedPlace['series'], b: WatchedPlace['series']): WatchedPlace['series'] {
  const both = (quantity: 'temperature' | 'humidity') => {
    const all = [a[quantity]!, b[quantity]!].flatMap(({ times, values }) =>
      Array.from(times, (time, k) => ({ time, value: values[k]! })),
    );
    all.sort((one, other) => one.time - other.time);
    return {
      times: Float64Array.from(all, ({ time }) => time),
      values: Float64Array.from(all, ({ value }) => value),
    };
  };
  return { temperature: both('temperature'), humidity: both('humidity') };
}

/** A second device in the loft that sends as often as the bedroom's. */
function loftTwin(): WatchedPlace['series'] {
  const roamer = sampleHome.sensors.find(({ key }) => key === 'roamer')!;
  const twin = { ...roamer, faults: [], intervalSeconds: 900, batteries: [] };
  return columns([...homeReadings(sampleHome, trueHours(), twin, FROM, NOW)]);
}

const seriesOf = (places: readonly WatchedPlace[], name: string): WatchedPlace['series'] =>
  places.find((place) => place.name === name)!.series;

/** What was done to which sensor, and the one thing that should be said of it. */
export interface PlantedFault {
  readonly name: string;
  readonly code: HealthCode;
  readonly at: string;
  readonly places: () => readonly WatchedPlace[];
}

export const plantedFaults: readonly PlantedFault[] = [
  {
    name: 'silent for two days',
    code: 'silent',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'silent', from: at(12), to: NOW }),
  },
  {
    name: 'four hours overdue',
    code: 'late',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'silent', from: at(13, 20), to: NOW }),
  },
  {
    name: 'away for 20 hours',
    code: 'gaps',
    at: OUTDOORS,
    places: () => faulty('outdoors', { kind: 'silent', from: at(5), to: at(5, 20) }),
  },
  {
    name: 'every third reading lost',
    code: 'gaps',
    at: LOFT,
    places: () => winter({ roamer: () => ({ faults: [], lostShare: 1 / 3 }) }),
  },
  {
    name: 'repeats one reading for 14 hours',
    code: 'flat-lined',
    at: OUTDOORS,
    places: () => faulty('outdoors', { kind: 'flat-lined', from: at(6), to: at(6, 14) }),
  },
  {
    name: 'repeats one temperature for two days, and measures no other thing',
    code: 'flat-lined',
    at: EDGE,
    places: () => faulty('edge', { kind: 'flat-lined', from: at(6), to: at(8) }),
  },
  {
    name: 'shows 85 °C once',
    code: 'power-on-value',
    at: EDGE,
    places: () => faulty('edge', { kind: 'spike', value: 85, from: at(4, 3), to: at(4, 3) + HOUR_MS / 2 }),
  },
  {
    name: 'one reading 20 K too high',
    code: 'spikes',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'spike', value: 38.5, from: at(4, 3), to: at(4, 3) + HOUR_MS / 4 }),
  },
  {
    name: 'steps up by 18 K and stays',
    code: 'jump',
    at: BEHIND,
    places: () => faulty('behind', { kind: 'shifted', by: 18, from: at(11), to: NOW }),
  },
  {
    name: 'wet element in the loft for 40 hours',
    code: 'stuck-at-100',
    at: LOFT,
    places: () => faulty('roamer', { kind: 'wetted', from: at(9), to: at(10, 16) }),
  },
  {
    name: 'wet element in the bedroom for 8 hours',
    code: 'stuck-at-100',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'wetted', from: at(9), to: at(9, 8) }),
  },
  {
    name: 'wet element on the slope for two dry days',
    code: 'stuck-at-100',
    at: SLOPE,
    places: () => faulty('slope', { kind: 'wetted', from: at(9), to: at(11) }),
  },
  {
    name: 'reads 15 % high after a wetting',
    code: 'humidity-wetted',
    at: OUTDOORS,
    places: () => faulty('outdoors', { kind: 'over-reading', by: 15, from: at(3), to: NOW }),
  },
  {
    name: 'warms itself by 0.8 K once an hour',
    code: 'self-heating',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'self-heating', by: 0.8, from: FROM, to: NOW }),
  },
  {
    name: 'clock seven minutes behind',
    code: 'clock-skew',
    at: SLOPE,
    places: () => named(winter(), { [SLOPE]: { arrivals: arrivals(7 * 60_000, 0) } }),
  },
  {
    name: 'local time sent as UTC, one hour ahead',
    code: 'clock-skew',
    at: SLOPE,
    places: () => named(winter(), { [SLOPE]: { clockAhead: 700 } }),
  },
  {
    name: 'clock loses 15 seconds a day',
    code: 'clock-drift',
    at: SLOPE,
    places: () => named(winter(), { [SLOPE]: { arrivals: arrivals(-100_000, 15_000) } }),
  },
  {
    name: 'a second device in the loft under the same topic',
    code: 'duplicated-identity',
    at: BEDROOM,
    places: () => {
      const home = winter();
      return named(home, { [BEDROOM]: { series: merged(seriesOf(home, BEDROOM), loftTwin()) } });
    },
  },
  {
    name: 'four instants with two values',
    code: 'duplicated-identity',
    at: BEDROOM,
    places: () => named(winter(), { [BEDROOM]: { conflicts: 4 } }),
  },
  {
    name: 'surface and room sensor swapped',
    code: 'swapped-places',
    at: SLOPE,
    places: () => {
      const home = winter();
      return named(home, {
        [SLOPE]: { series: seriesOf(home, BEDROOM) },
        [BEDROOM]: { series: seriesOf(home, SLOPE) },
      });
    },
  },
  {
    name: 'indoor and outdoor sensor swapped',
    code: 'swapped-places',
    at: OUTDOORS,
    places: () => {
      const home = winter();
      return named(home, {
        [OUTDOORS]: { series: seriesOf(home, BEDROOM), intervalSeconds: 900 },
        [BEDROOM]: { series: seriesOf(home, OUTDOORS), intervalSeconds: 1800 },
      });
    },
  },
  {
    name: 'room in Fahrenheit',
    code: 'unit-mix-up',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'fahrenheit', from: FROM, to: NOW }),
  },
  {
    name: 'outdoors in Fahrenheit',
    code: 'unit-mix-up',
    at: OUTDOORS,
    places: () => faulty('outdoors', { kind: 'fahrenheit', from: FROM, to: NOW }),
  },
  {
    name: 'humidity as a share of 1',
    code: 'unit-mix-up',
    at: BEDROOM,
    places: () => faulty('bedroom', { kind: 'share-of-one', from: FROM, to: NOW }),
  },
  {
    name: 'battery in its last days',
    code: 'battery',
    at: SLOPE,
    places: () => winter({ slope: () => ({ faults: [], batteries: [{ from: NOW - 113 * DAY_MS, days: 120 }] }) }),
  },
];

/** What is said of every sensor of the home, by the name of its place. */
export function findingsAt(places: readonly WatchedPlace[], now = NOW): Map<string, HealthFinding[]> {
  return new Map(windowsAt(places, now).map((window) => [window.key, sensorFindings(window)]));
}

export const healthyWinter = (): readonly WatchedPlace[] => winter();
