import { DateTime } from 'luxon';
import type { Calibration } from '../../analysis/calibration.ts';
import { type DayTally, dayTallies } from '../../analysis/local-days.ts';
import type { ReportKind } from '../../analysis/report-vocabulary.ts';
import { fixed } from '../../analysis/say.ts';
import type {
  CalibrationRecord,
  DiaryEntry,
  Dwelling,
  Phase,
  Place,
  Placement,
  Sensor,
  Series,
  Store,
} from '../../store/port.ts';
import type { Figure } from '../figures.ts';
import type { Results } from '../results.ts';

export interface ReportPhoto {
  /** time of the diary's entry, UTC milliseconds */
  readonly takenAt: number;
  readonly alt: string;
  readonly jpeg: Uint8Array;
}

/** Everything a report speaks of. */
export interface ReportFacts {
  readonly kind: ReportKind;
  /** UTC milliseconds, whole hours */
  readonly from: number;
  readonly to: number;
  readonly dwelling: Dwelling;
  readonly places: readonly Place[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly placements: readonly Placement[];
  readonly calibrations: readonly CalibrationRecord[];
  readonly phases: readonly Phase[];
  /** in order of time, within the span */
  readonly diary: readonly DiaryEntry[];
  readonly photos: readonly ReportPhoto[];
  readonly days: ReadonlyMap<number, readonly DayTally[]>;
  readonly results: Results;
  readonly figures: readonly Figure[];
  readonly fingerprint: string;
  readonly version: string;
  /** what the chain of digests covers, as plain lines */
  readonly covering: string;
}

type Given = Omit<
  ReportFacts,
  'dwelling' | 'places' | 'sensors' | 'series' | 'placements' | 'calibrations' | 'phases' | 'diary' | 'days'
>;

/** @param store holds what is reported and nothing else */
export async function readFacts(store: Store, given: Given): Promise<ReportFacts> {
  const { from, to, results } = given;
  const { dwelling } = results;
  const [places, sensors, series, placements, calibrations, phases, diary] = await Promise.all([
    store.places(dwelling.id),
    store.sensors(dwelling.id),
    store.series(dwelling.id),
    store.placements(dwelling.id),
    store.calibrations(dwelling.id),
    store.phases(dwelling.id),
    store.diary(dwelling.id),
  ]);
  const days = new Map<number, readonly DayTally[]>();
  for (const { id } of places) {
    days.set(id, dayTallies(await store.placeHours(dwelling.id, id, from, to), dwelling.zone));
  }
  const told = diary.filter(({ time }) => time >= from && time < to).sort((a, b) => a.time - b.time);
  return { ...given, dwelling, places, sensors, series, placements, calibrations, phases, diary: told, days };
}

/** How the report says times, days and figures. */
export interface Say {
  /** `14 January 2026` */
  date(time: number): string;
  /** `14 Jan 2026 18:00` */
  moment(time: number): string;
  /** the local calendar day of an instant, counted in days since 1970 */
  day(time: number): number;
  /** the figure of that id with its interval and unit; `not known` where it is not */
  figure(id: string, digits?: number): string;
  /** null where there is no such figure or it is not known */
  value(id: string): Figure | null;
}

export function sayIn({ dwelling, figures }: Pick<ReportFacts, 'dwelling' | 'figures'>): Say {
  const local = (time: number): DateTime => DateTime.fromMillis(time, { zone: dwelling.zone, locale: 'en-GB' });
  const byId = new Map(figures.map((figure) => [figure.id, figure]));
  const value = (id: string): Figure | null => {
    const found = byId.get(id);
    return found === undefined || found.value === null ? null : found;
  };
  return {
    date: (time) => local(time).toFormat('d LLLL yyyy'),
    moment: (time) => local(time).toFormat('d LLL yyyy HH:mm'),
    day: (time) => {
      const { year, month, day } = local(time);
      return Date.UTC(year, month - 1, day) / 86_400_000;
    },
    figure: (id, digits) => {
      const found = value(id);
      return found === null ? 'not known' : figureWords(found, digits);
    },
    value,
  };
}

const usualDigits = (unit: string): number => (unit === '' ? 2 : unit === 'K' || unit === '°C' || unit === '%' ? 1 : 0);

/** `0.72 (0.69 to 0.75)`, `41 h`; the digits follow the unit unless they are given. */
export function figureWords({ value, low, high, unit }: Figure, digits = usualDigits(unit)): string {
  if (value === null) return 'not known';
  const interval = low === null || high === null ? '' : ` (${fixed(low, digits)} to ${fixed(high, digits)})`;
  return `${fixed(value, digits)}${interval}${unit === '' ? '' : ` ${unit}`}`;
}

/** How a calibration was made and what it does, in a line. */
export const calibrationWords = ({ points }: Pick<Calibration, 'points'>, unit: string): string =>
  points
    .map(({ reading, reference }) => `read ${fixed(reading, 2)} ${unit} at ${fixed(reference, 2)} ${unit}`)
    .join(', ');
