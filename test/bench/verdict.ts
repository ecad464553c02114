import { assess } from '../../server/analysis/assess.ts';
import { calibratedSensors } from '../../server/simulate/ceiling-case.ts';
import {
  drawCase,
  drawOneCause,
  inputOf,
  openDataIsHere,
  place,
  readHouses,
  shopSensors,
} from '../analysis/ceiling-cases.ts';
import { runCases } from '../analysis/scored-cases.ts';
import type { BenchRow } from './row.ts';

/** A thousand and two in all; the one-cause dwellings count three times. */
const CASES = { works: 300, calibratedNothing: 200, shopNothing: 200, halfToCured: 200, oneCause: 34 };

const row = (
  name: string,
  measured: number,
  limit: number,
  direction: BenchRow['direction'],
  unit: string,
  note?: string,
): BenchRow => ({
  name,
  measured,
  limit,
  unit,
  ratio: measured / limit,
  aim: 1,
  direction,
  ...(note === undefined ? {} : { note }),
});

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

/** The verdict against planted truth, and its speed. The limits are the project's promises, not this machine's. */
export async function benchVerdict(): Promise<BenchRow[]> {
  if (!openDataIsHere) {
    console.warn('left out: the verdict against planted truth needs ../shared/open-data beside the project');
    return [];
  }
  const houses = readHouses();
  const works = runCases(houses, 'works', calibratedSensors, 0, CASES.works);
  const calm = runCases(houses, 'nothing-done', calibratedSensors, 10_000, CASES.calibratedNothing);
  const shop = runCases(houses, 'nothing-done', shopSensors, 20_000, CASES.shopNothing);
  const cured = runCases(houses, 'half-to-cured', shopSensors, 30_000, CASES.halfToCured);
  const scores = [works, calm, shop, cured];
  const cases = scores.reduce((sum, score) => sum + score.cases, 0);
  const coverage = scores.reduce((sum, score) => sum + score.coverage * score.cases, 0) / cases;
  const nothing = (calm.metOrBetter * calm.cases + shop.metOrBetter * shop.cases) / (calm.cases + shop.cases);
  const bias = Math.abs(works.bias * works.cases + calm.bias * calm.cases) / (works.cases + calm.cases);
  let led = 0;
  for (const cause of ['fabric', 'moisture', 'heating'] as const) {
    for (let seed = 0; seed < CASES.oneCause; seed++) {
      const { causes } = assess({
        ...inputOf(drawOneCause(houses, cause, calibratedSensors, 40_000 + seed), seed),
        after: null,
      });
      if (causes && causes[cause].value >= Math.max(causes.fabric.value, causes.moisture.value, causes.heating.value)) {
        led += 1;
      }
    }
  }
  const each = scores.map(
    (score, k) =>
      `${['lined', 'nothing done', 'nothing done, shop sensors', '0.55 to 0.85'][k]} ${percent(score.coverage)}`,
  );
  return [
    row('95 % intervals of f that hold the truth', coverage, 0.92, 'at least', 'share', each.join(', ')),
    row('the same, not too wide', coverage, 0.98, 'at most', 'share'),
    row('bias of f with calibrated sensors', bias, 0.01, 'at most', 'f'),
    row(
      'avoided risk hours, median error',
      Math.abs(works.avoided.medianError),
      0.1,
      'at most',
      'share of the truth',
      `median size of the error ${percent(works.avoided.medianSize)}, ${works.avoided.cases} cases`,
    ),
    row('avoided risk hours, 95 % intervals that hold the truth', works.avoided.coverage, 0.88, 'at least', 'share'),
    row('met or better where nothing was done', nothing, 0.01, 'at most', 'share', `${calm.cases + shop.cases} cases`),
    row(
      'met or better from f 0.55 to 0.85, three weeks each side',
      cured.metOrBetter,
      0.95,
      'at least',
      'share',
      `not enough evidence in ${percent(cured.notEnough)}`,
    ),
    row('the right cause leads', led / (3 * CASES.oneCause), 0.95, 'at least', 'share of one-cause dwellings'),
    ...speed(houses),
  ];
}

/** Two winters, ten places, a thousand resamples. */
function speed(houses: ReturnType<typeof readHouses>): BenchRow[] {
  const one = drawCase(houses, 'works', shopSensors, 3);
  const input = inputOf(one, 3);
  const { surface, room, outdoor } = one.measured;
  const whole = {
    ...input,
    loftAir: place('loft', 'loft-air', outdoor),
    loftTimber: place('timber', 'loft-timber', outdoor),
    control: place('control', 'control-surface', {
      ...surface,
      temperature: surface.temperature.map((value) => value + 0.5),
    }),
    behind: place('behind', 'behind-lining', room),
    otherSurfaces: ['a', 'b', 'c'].map((id) => place(id, 'ceiling-surface', surface)),
  };
  const times: number[] = [];
  for (let k = 0; k < 7; k++) {
    times.push(processorTime(() => assess(whole)));
  }
  const hours = (one.before.to - one.before.from + one.after.to - one.after.from) / 3_600_000;
  const best = Math.min(...times);
  const floor = Math.min(...[0, 1, 2].map(() => bareLoop(hours, 1000)));
  return [
    row(
      'one assessment: two winters, ten places, 1000 resamples',
      best,
      1000,
      'at most',
      'ms of processor time',
      `${hours} h in both phases`,
    ),
    {
      ...row('the same against looking at every hour once a resample', best, floor, 'at most', 'ms of processor time'),
      aim: 30,
    },
  ];
}

/** A multiplication, an addition and a comparison for every hour of every resample. */
function bareLoop(hours: number, resamples: number): number {
  const values = Float64Array.from({ length: hours }, (_, i) => Math.sin(i));
  const limits = Float64Array.from({ length: hours }, (_, i) => Math.cos(1.3 * i));
  let count = 0;
  const took = processorTime(() => {
    for (let r = 0; r < resamples; r++) {
      const slope = 1 + r / resamples;
      for (let i = 0; i < hours; i++) if (slope * values[i]! + 0.1 >= limits[i]!) count += 1;
    }
  });
  if (count < 0) throw new RangeError('a count cannot be negative');
  return took;
}

/** Processor time of this process, ms: what else the machine does is not in it. */
function processorTime(work: () => void): number {
  const began = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(began);
  return (user + system) / 1000;
}
