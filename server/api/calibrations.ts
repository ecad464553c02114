import { calibratingSettings, type Outcome, within } from '../analysis/calibrating.ts';
import { applying, type Calibration, correctedColumn, inUse } from '../analysis/calibration.ts';
import { calibrationDrift } from '../analysis/calibration-drift.ts';
import { calibrateByIce, type IceRun, iceSteadiness } from '../analysis/ice-point.ts';
import { calibrateBySalt, type SaltRun, saltSteadiness } from '../analysis/salt-check.ts';
import { sensorErrors } from '../analysis/sensor-errors.ts';
import { type ComparedSeries, compareSideBySide } from '../analysis/side-by-side.ts';
import { judgeSteadiness, type Steadiness, steadinessLimits } from '../analysis/steadiness.ts';
import { type Quantity, quantities } from '../physics/quantities.ts';
import { measured, standardUncertainty } from '../physics/uncertainty.ts';
import type { CalibrationRecord, Dwelling, Sensor, Series, Store } from '../store/port.ts';
import type {
  CalibrationProposals,
  CalibrationRun,
  CalibrationWire,
  NewCalibrations,
} from './contract/calibrations.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { calibrationView, outcomeView, steadinessView, toInstant } from './views.ts';

export interface CalibrationParts {
  readonly store: Store;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
  /** hours of the dwelling became stale, and its pages out of date */
  readonly changed: (dwelling: Dwelling) => void;
}

const LONGEST_RUN_DAYS = 31;
const DAY_MS = 86_400_000;
const MOST_TRACED = 240;

/** What the API does for the operations on calibrations. */
export function calibrationHandlers({
  store,
  clock,
  dwellingOf,
  changed,
}: CalibrationParts): Pick<
  Handlers,
  'listCalibrations' | 'proposeCalibrations' | 'addCalibrations' | 'withdrawCalibration'
> {
  return {
    async listCalibrations({ params }) {
      return listed(await rowsOf(store, await dwellingOf(params)), clock());
    },

    async proposeCalibrations({ params, body }) {
      return propose(store, await dwellingOf(params), body, clock());
    },

    async addCalibrations({ params, body }) {
      const dwelling = await dwellingOf(params);
      const rows = await rowsOf(store, dwelling);
      const made = body.calibrations.map((one, k) => toRow(one, k, rows, clock()));
      const added = await store.addCalibrations(dwelling.id, made);
      changed(dwelling);
      const ids = new Set(added.map(({ id }) => id));
      return listed(await rowsOf(store, dwelling), clock()).filter(({ id }) => ids.has(id));
    },

    async withdrawCalibration({ params }) {
      const dwelling = await dwellingOf(params);
      await store.withdrawCalibration(dwelling.id, params.id, clock());
      changed(dwelling);
      return listed(await rowsOf(store, dwelling), clock()).find(({ id }) => id === params.id)!;
    },
  };
}

interface Rows {
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

async function rowsOf(store: Store, { id }: Dwelling): Promise<Rows> {
  const [sensors, series, calibrations] = await Promise.all([
    store.sensors(id),
    store.series(id),
    store.calibrations(id),
  ]);
  return { sensors, series, calibrations };
}

/** All calibrations, the last made first, each with its drift against the one made before it. */
function listed({ sensors, series, calibrations }: Rows, now: number): CalibrationWire[] {
  return calibrations
    .map((record) => {
      const own = series.find(({ id }) => id === record.seriesId)!;
      const sensor = sensors.find(({ id }) => id === own.sensorId)!;
      const ordered = inUse(calibrations, record.seriesId);
      const before = madeBefore(record, ordered);
      return calibrationView(record, {
        sensor,
        quantity: own.quantity,
        next: ordered.find((other) => follows(other, record)) ?? null,
        drift: before === null ? null : { sinceId: before.id, ...calibrationDrift(before, record) },
        now,
      });
    })
    .sort((a, b) => (a.madeAt === b.madeAt ? b.id - a.id : a.madeAt < b.madeAt ? 1 : -1));
}

/** Of two that begin at one instant the later made counts. */
const follows = (other: CalibrationRecord, record: CalibrationRecord): boolean =>
  other.from > record.from || (other.from === record.from && other.id > record.id);

function madeBefore(record: CalibrationRecord, ordered: readonly CalibrationRecord[]): CalibrationRecord | null {
  if (record.withdrawnAt !== null) return null;
  const earlier = ordered.filter(({ madeAt }) => madeAt < record.madeAt).sort((a, b) => a.madeAt - b.madeAt);
  return earlier.at(-1) ?? null;
}

function toRow(
  one: NewCalibrations['calibrations'][number],
  k: number,
  { series }: Rows,
  now: number,
): Parameters<Store['addCalibrations']>[1][number] {
  const { sensorId, quantity, from, madeAt, ...rest } = one;
  const own = series.find((candidate) => candidate.sensorId === sensorId && candidate.quantity === quantity);
  if (own === undefined) {
    throw new RequestProblem('bad-request', `Sensor ${sensorId} has never sent ${quantity}.`, [
      { pointer: `/calibrations/${k}/sensorId`, detail: `has sent no ${quantity}` },
    ]);
  }
  if (Date.parse(madeAt) > now) {
    throw new RequestProblem('bad-request', 'A calibration cannot have been made in the future.', [
      { pointer: `/calibrations/${k}/madeAt`, detail: 'is in the future' },
    ]);
  }
  return { ...rest, seriesId: own.id, from: from === null ? 0 : Date.parse(from), madeAt: Date.parse(madeAt) };
}

/** One series of a run with its readings as sent. */
interface Running extends Series {
  readonly sensor: Sensor;
  readonly times: Float64Array;
  readonly values: Float64Array;
  /** in use, oldest first */
  readonly calibrations: readonly Calibration[];
}

const EMPTY = new Float64Array(0);

async function propose(
  store: Store,
  dwelling: Dwelling,
  run: CalibrationRun,
  now: number,
): Promise<CalibrationProposals> {
  const spans = run.method === 'salt' ? run.jars.map((jar) => spanOf(jar, now)) : [spanOf(run, now)];
  const from = Math.min(...spans.map((span) => span.from));
  const to = Math.max(...spans.map((span) => span.to));
  if (to - from > 2 * LONGEST_RUN_DAYS * DAY_MS) {
    throw new RequestProblem('bad-request', `Two jars may lie ${2 * LONGEST_RUN_DAYS} days apart at most.`, [
      { pointer: '/jars', detail: 'too far apart: a sensor may drift meanwhile' },
    ]);
  }
  const [rows, columns] = await Promise.all([rowsOf(store, dwelling), store.seriesColumns(dwelling.id, from, to)]);
  const wanted = new Set(run.sensorIds);
  for (const id of wanted) {
    if (rows.sensors.some((sensor) => sensor.id === id)) continue;
    throw new RequestProblem('not-found', `There is no sensor ${id} in ${dwelling.slug}.`, [
      { pointer: '/sensorIds', detail: `${id} is not a sensor` },
    ]);
  }
  const series = rows.series
    .filter(({ sensorId }) => wanted.has(sensorId))
    .map((own): Running => {
      const column = columns.find(({ seriesId }) => seriesId === own.id);
      return {
        ...own,
        sensor: rows.sensors.find(({ id }) => id === own.sensorId)!,
        times: column?.times ?? EMPTY,
        values: column?.values ?? EMPTY,
        calibrations: inUse(rows.calibrations, own.id),
      };
    });
  const judged = judge(run, series, spans);
  return {
    time: toInstant(now),
    method: run.method,
    settings: { ...calibratingSettings },
    references: judged.references,
    series: judged.series.map(({ own, steadiness, outcome }) => ({
      ...headingOf(own),
      steadiness: steadiness.map(steadinessView),
      outcome: outcome && outcomeView(outcome),
      trace: traceOf(own),
    })),
  };
}

interface RunSpan {
  readonly from: number;
  readonly to: number;
}

function spanOf(given: { from: string; to?: string | undefined }, now: number): RunSpan {
  const from = Date.parse(given.from);
  const to = given.to === undefined ? now : Math.min(now, Date.parse(given.to));
  if (to < from) {
    throw new RequestProblem('bad-request', 'The run must end after it begins, and begin before now.', [
      { pointer: '/from', detail: 'must be before to and before now' },
    ]);
  }
  if (to - from > LONGEST_RUN_DAYS * DAY_MS) {
    throw new RequestProblem('bad-request', `A run may last ${LONGEST_RUN_DAYS} days at most: say when it ended.`, [
      { pointer: '/to', detail: `must be within ${LONGEST_RUN_DAYS} days of from` },
    ]);
  }
  return { from, to };
}

interface Judged {
  readonly own: Running;
  readonly steadiness: readonly Steadiness[];
  /** null: it is the reference */
  readonly outcome: Outcome | null;
}

interface JudgedRun {
  readonly references: CalibrationProposals['references'];
  readonly series: readonly Judged[];
}

function judge(run: CalibrationRun, series: readonly Running[], spans: readonly RunSpan[]): JudgedRun {
  if (run.method === 'side-by-side') return judgeBox(run, series, spans[0]!);
  const quantity: Quantity = run.method === 'salt' ? 'humidity' : 'temperature';
  const own = series.filter((one) => one.quantity === quantity);
  const missing = run.sensorIds.find((id) => !own.some(({ sensorId }) => sensorId === id));
  if (missing !== undefined) {
    throw new RequestProblem('bad-request', `Sensor ${missing} has never sent ${quantity}.`, [
      { pointer: '/sensorIds', detail: `${missing} has sent no ${quantity}` },
    ]);
  }
  return {
    references: [],
    series: run.method === 'salt' ? judgeJars(run, own, series, spans) : judgeIce(own, spans[0]!),
  };
}

function judgeBox(
  { referenceSensorId }: Extract<CalibrationRun, { method: 'side-by-side' }>,
  series: readonly Running[],
  { from, to }: RunSpan,
): JudgedRun {
  const limits = steadinessLimits['side-by-side'];
  const references: CalibrationProposals['references'] = [];
  const judged: Judged[] = [];
  let boxTemperature: number | null = null;
  for (const quantity of ['temperature', 'humidity'] as const) {
    const own = series.filter((one) => one.quantity === quantity);
    if (own.length === 0) continue;
    const chosen = own.find(({ sensorId }) => sensorId === referenceSensorId);
    const { reference, outcomes } = compareSideBySide({
      name: `side-by-side run of ${toInstant(from)}, ${quantity}`,
      quantity,
      from,
      to,
      series: own.map((one): ComparedSeries => {
        const calibration = applying(one.calibrations, from);
        const { sensor, times, values } = one;
        const errors = sensorErrors(sensor, quantity, calibration);
        return { seriesId: one.id, name: sensor.name, calibration, errors, times, values };
      }),
      reference: referenceSensorId === null ? { kind: 'mean' } : { kind: 'sensor', seriesId: chosen?.id ?? NO_SERIES },
      boxTemperature,
    });
    if (reference !== null) {
      const { value, uncertainty, seriesIds, stretchedBy } = reference;
      if (quantity === 'temperature') boxTemperature = value;
      const sensorIds = seriesIds.map((id) => own.find((one) => one.id === id)!.sensorId);
      references.push({ quantity, value, uncertainty, stretchedBy, sensorIds });
    }
    for (const one of own) {
      const steadiness = judgeSteadiness(one, from, to, {
        ...limits[quantity],
        settlingHours: calibratingSettings.boxHours,
      });
      const outcome = outcomes.find(({ seriesId }) => seriesId === one.id)?.outcome ?? null;
      judged.push({ own: one, steadiness: [steadiness], outcome });
    }
  }
  return { references, series: judged };
}

/** No series has this number. */
const NO_SERIES = -1;

function judgeJars(
  { jars }: Extract<CalibrationRun, { method: 'salt' }>,
  own: readonly Running[],
  series: readonly Running[],
  spans: readonly RunSpan[],
): Judged[] {
  return own.map((humidity) => {
    const temperature = series.find(
      (one) => one.sensorId === humidity.sensorId && one.quantity === 'temperature' && one.times.length > 0,
    );
    const runs = jars.map(({ salt, solutionMadeAt }, k): SaltRun => {
      const span = spans[k]!;
      const inForce = temperature === undefined ? null : applying(temperature.calibrations, span.from);
      return {
        name: `jar of ${salt.replaceAll('-', ' ')} made ${toInstant(Date.parse(solutionMadeAt))}`,
        salt,
        solutionMadeAt: Date.parse(solutionMadeAt),
        ...span,
        humidity: within(humidity, span.from, span.to),
        temperature: temperature === undefined ? null : within(asCorrected(temperature), span.from, span.to),
        temperatureUncertainty: standardUncertainty(
          measured(0, ...sensorErrors(humidity.sensor, 'temperature', inForce)),
        ),
      };
    });
    return {
      own: humidity,
      steadiness: runs.map((run) => saltSteadiness(run)),
      outcome: calibrateBySalt(humidity.id, runs),
    };
  });
}

const asCorrected = ({ times, values, calibrations, quantity }: Running) => ({
  times,
  values: correctedColumn(times, values, calibrations, quantity),
});

function judgeIce(own: readonly Running[], { from, to }: RunSpan): Judged[] {
  return own.map((one) => {
    const run: IceRun = { name: `ice of ${toInstant(from)}`, from, to, temperature: one };
    return { own: one, steadiness: [iceSteadiness(run)], outcome: calibrateByIce(one.id, run) };
  });
}

const headingOf = ({ sensor, quantity }: Running) => ({
  sensorId: sensor.id,
  sensorKey: sensor.key,
  sensorName: sensor.name,
  quantity,
  unit: quantities[quantity].unit,
});

function traceOf({ times, values }: Running): { time: string; value: number }[] {
  const stride = Math.max(1, Math.ceil(times.length / MOST_TRACED));
  const traced: { time: string; value: number }[] = [];
  for (let k = 0; k < times.length; k += stride) traced.push({ time: toInstant(times[k]!), value: values[k]! });
  return traced;
}
