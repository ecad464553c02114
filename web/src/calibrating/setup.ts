import type {
  CalibrationProposals,
  CalibrationRun,
  NewCalibrations,
} from '../../../server/api/contract/calibrations.ts';
import type { Sensor } from '../../../server/api/contract/dwelling.ts';
import type { SaturatedSalt } from '../../../server/physics/saturated-salts.ts';
import { fromInput } from '../time/zone.ts';

export type RunMethod = CalibrationRun['method'];

/** One jar as someone is describing it; times are local, as the fields hold them. */
export interface JarSetup {
  readonly salt: SaturatedSalt;
  readonly madeAt: string;
  readonly from: string;
  /** empty: still running */
  readonly to: string;
}

/** A run as someone is describing it. */
export interface Setup {
  readonly method: RunMethod;
  readonly sensorIds: readonly number[];
  /** null: the mean of all */
  readonly referenceSensorId: number | null;
  readonly from: string;
  /** empty: still running */
  readonly to: string;
  readonly jars: readonly JarSetup[];
}

export type SetupFault =
  | 'no-sensor'
  | 'one-sensor'
  | 'no-time'
  | 'to-come'
  | 'too-long'
  | 'ends-first'
  | 'reference-left-out';

export type RunOrFault =
  | { readonly kind: 'run'; readonly run: CalibrationRun }
  | { readonly kind: 'fault'; readonly fault: SetupFault };

const fault = (code: SetupFault): RunOrFault => ({ kind: 'fault', fault: code });

interface Span {
  readonly from: string;
  readonly to?: string;
}

/** The program looks at no more than this of a run; a year half typed would ask for centuries. */
const LONGEST_MS = 31 * 86_400_000;
/** Clocks differ, and a field holds whole minutes. */
const AHEAD_MS = 60_000;

function spanOf(zone: string, from: string, to: string, now: number): Span | SetupFault {
  const begun = fromInput(zone, from);
  if (begun === null) return 'no-time';
  const ended = to === '' ? null : fromInput(zone, to);
  if (to !== '' && ended === null) return 'no-time';
  const start = Date.parse(begun);
  const end = ended === null ? now : Date.parse(ended);
  if (start > now + AHEAD_MS) return 'to-come';
  if (ended !== null && end <= start) return 'ends-first';
  if (end - start > LONGEST_MS) return 'too-long';
  return ended === null ? { from: begun } : { from: begun, to: ended };
}

/** The run that a setup says, of sensors that can take part; or what is missing. */
export function toRun(setup: Setup, sensors: readonly Sensor[], zone: string, now: number): RunOrFault {
  const able = new Set(takingPart(setup.method, sensors).map(({ id }) => id));
  const sensorIds = setup.sensorIds.filter((id) => able.has(id));
  if (sensorIds.length === 0) return fault('no-sensor');
  if (setup.method === 'salt') {
    const jars = [];
    for (const jar of setup.jars) {
      const span = spanOf(zone, jar.from, jar.to, now);
      const solutionMadeAt = fromInput(zone, jar.madeAt);
      if (typeof span === 'string') return fault(span);
      if (solutionMadeAt === null) return fault('no-time');
      jars.push({ salt: jar.salt, solutionMadeAt, ...span });
    }
    return { kind: 'run', run: { method: 'salt', sensorIds, jars } };
  }
  const span = spanOf(zone, setup.from, setup.to, now);
  if (typeof span === 'string') return fault(span);
  if (setup.method === 'ice-point') return { kind: 'run', run: { method: 'ice-point', sensorIds, ...span } };
  if (sensorIds.length < 2) return fault('one-sensor');
  const { referenceSensorId } = setup;
  if (referenceSensorId !== null && !sensorIds.includes(referenceSensorId)) return fault('reference-left-out');
  return { kind: 'run', run: { method: 'side-by-side', sensorIds, referenceSensorId, ...span } };
}

/** Sensors that a method says something of. */
export function takingPart(method: RunMethod, sensors: readonly Sensor[]): readonly Sensor[] {
  const measures = (sensor: Sensor, ...names: string[]) =>
    sensor.series.some(({ quantity, last }) => last !== null && names.includes(quantity));
  switch (method) {
    case 'side-by-side':
      return sensors.filter((sensor) => measures(sensor, 'temperature', 'humidity'));
    case 'salt':
      return sensors.filter((sensor) => measures(sensor, 'humidity'));
    case 'ice-point':
      return sensors.filter((sensor) => measures(sensor, 'temperature'));
  }
}

export type ProposedSeries = CalibrationProposals['series'][number];

export const seriesKey = (series: Pick<ProposedSeries, 'sensorId' | 'quantity'>): string =>
  `${series.sensorId} ${series.quantity}`;

/** The proposals that were not left out, as calibrations to be kept. */
export function kept(
  proposals: CalibrationProposals,
  leftOut: ReadonlySet<string>,
  applies: 'from-the-first' | 'from-the-comparison',
  note: string,
): NewCalibrations['calibrations'] {
  return proposals.series.flatMap((series) => {
    const { outcome } = series;
    if (outcome?.kind !== 'proposed' || leftOut.has(seriesKey(series))) return [];
    const { points, uncertainty, sharedSource, sharedUncertainty, madeAt } = outcome;
    return [
      {
        sensorId: series.sensorId,
        quantity: series.quantity,
        method: proposals.method,
        from: applies === 'from-the-first' ? null : madeAt,
        points: [...points],
        uncertainty,
        sharedSource,
        sharedUncertainty,
        note,
        madeAt,
      },
    ];
  });
}

/** Points of a trace on a sheet of `width` by `height`, for a line; empty where there is nothing to draw. */
export function traceLine(trace: ProposedSeries['trace'], width: number, height: number): string {
  if (trace.length < 2) return '';
  const times = trace.map(({ time }) => Date.parse(time));
  const values = trace.map(({ value }) => value);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const [first, last] = [times[0]!, times.at(-1)!];
  if (last === first) return '';
  const x = (time: number) => ((time - first) / (last - first)) * width;
  const y = (value: number) => (high === low ? height / 2 : height - ((value - low) / (high - low)) * height);
  return values.map((value, i) => `${i === 0 ? 'M' : 'L'}${x(times[i]!).toFixed(1)} ${y(value).toFixed(1)}`).join('');
}
