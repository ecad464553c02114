import { type AirStates, type DiffusionPath, type VapourProfile, vapourProfile } from './diffusion.ts';
import { inRange } from './range.ts';

/** Mean states of one month. Vapour pressures are means of pressures, not pressures of mean humidities. */
export interface ClimateMonth extends AirStates {
  /** as it is to be printed: January, 2026-01 */
  readonly name: string;
  readonly days: number;
}

interface PlaneMonth {
  readonly node: number;
  readonly name: string;
  /** water that settled (or dried, negative) in the month, kg/m2; drying stops when the plane is dry */
  readonly change: number;
  /** what the rate at which the plane began the month would come to in the whole month, kg/m2 */
  readonly atFirstRate: number;
  /** held at the end of the month, kg/m2 */
  readonly held: number;
}

interface CondensationMonth {
  readonly name: string;
  /** vapour in through the inner surface and out through the outer one, kg/m2 */
  readonly entered: number;
  readonly left: number;
  readonly planes: readonly PlaneMonth[];
  /** held at all planes at the end of the month, kg/m2 */
  readonly held: number;
  readonly wetSurfaces: VapourProfile['wetSurfaces'];
}

interface Season {
  /** from the first month in which water settles; in the given order where none does */
  readonly months: readonly CondensationMonth[];
  readonly limits: typeof diffusionLimits;
}

/** @source ISO 13788:2012, 6.5 (criteria), from memory: the three kinds of result */
export type CondensationYear =
  | (Season & { readonly kind: 'no-condensation' })
  | (Season & {
      readonly kind: 'dries-within-the-year';
      readonly peak: number;
      readonly peakMonth: string;
      readonly dryAgain: string;
    })
  | (Season & {
      readonly kind: 'accumulates';
      readonly peak: number;
      readonly peakMonth: string;
      /** still held after twelve months, kg/m2 */
      readonly remaining: number;
      /** water settles in every month, so that the year has no natural start */
      readonly everyMonth: boolean;
    });

/**
 * What the method leaves out. Printed with every result.
 *
 * @source ISO 13788:2012, 6.1, in our words
 */
export const diffusionLimits = Object.freeze([
  {
    code: 'no-air-leakage',
    message:
      'Air that leaks through joints, sockets and gaps is left out, and often carries far more vapour than diffusion does.',
  },
  {
    code: 'no-storage',
    message: 'Materials are taken to store neither heat nor moisture; real timber, plaster and wool even out swings.',
  },
  {
    code: 'no-liquid-flow',
    message: 'Water that has settled stays where it is: no suction, no dripping.',
  },
  {
    code: 'no-wetting',
    message: 'Rain, leaks, rising damp and moisture built in are left out, and so are sun and clear-sky cooling.',
  },
  {
    code: 'constant-properties',
    message:
      'Conductivities and vapour resistances do not change as materials become wet; heat of condensation is left out.',
  },
  {
    code: 'one-dimension',
    message: 'One straight path is followed, away from bridges, edges and the eaves.',
  },
  {
    code: 'monthly-means',
    message: 'Means of months are used; water that settles at night and dries by day is not seen.',
  },
] as const);

const SECONDS_A_DAY = 86_400;
const MOST_CHANGES_A_MONTH = 1000;

/**
 * A year of condensation and drying inside a build-up. It starts dry in the first month of a wet season; where there
 * are several, in the one after the longest dry spell. Where a plane dries out within a month the month is cut there, so
 * that entered - left = change of what is held.
 *
 * @param climate the twelve months in order; the calendar is a circle
 * @param start index of the month to start with; left out, found by the rule above
 * @throws RangeError for other than 12 months, days outside 1 to 31, or impossible states
 * @source ISO 13788:2012, 6.4
 */
export function condensationYear(
  path: DiffusionPath,
  climate: readonly ClimateMonth[],
  start?: number,
): CondensationYear {
  if (climate.length !== 12) throw new RangeError(`climate has ${climate.length} months; it must have 12`);
  const settles = climate.map((month) => vapourProfile(path, month).planes.length > 0);
  const first = start === undefined ? startOfWetSeason(settles) : inRange('start', start, '(month index)', 0, 11);

  let held: ReadonlyMap<number, number> = new Map();
  const months: CondensationMonth[] = [];
  for (let step = 0; step < 12; step += 1) {
    const run = throughMonth(path, climate[(first + step) % 12]!, held);
    held = run.held;
    months.push(run.month);
  }
  const limits = diffusionLimits;
  const peakAt = months.reduce((best, month, index) => (month.held > months[best]!.held ? index : best), 0);
  const peak = months[peakAt]!.held;
  const remaining = months.at(-1)!.held;
  if (!months.some((month) => month.planes.length > 0)) return { kind: 'no-condensation', months, limits };
  const peakMonth = months[peakAt]!.name;
  if (remaining > 0) {
    return { kind: 'accumulates', months, limits, peak, peakMonth, remaining, everyMonth: settles.every(Boolean) };
  }
  const lastWet = months.findLastIndex((month) => month.held > 0);
  return { kind: 'dries-within-the-year', months, limits, peak, peakMonth, dryAgain: months[lastWet + 1]!.name };
}

/** Index of the first wet month after the longest run of dry ones; 0 where all months are alike. */
function startOfWetSeason(settles: readonly boolean[]): number {
  let best = 0;
  let longest = 0;
  for (let month = 0; month < 12; month += 1) {
    if (!settles[month]) continue;
    let dry = 0;
    while (dry < 12 && !settles[(month + 11 - dry) % 12]) dry += 1;
    if (dry > longest) {
      longest = dry;
      best = month;
    }
  }
  return best;
}

interface MonthRun {
  readonly month: CondensationMonth;
  readonly held: ReadonlyMap<number, number>;
  /** seconds into the month at which the last wet plane became dry; null where none did so */
  readonly dryAt: number | null;
}

function throughMonth(path: DiffusionPath, climate: ClimateMonth, before: ReadonlyMap<number, number>): MonthRun {
  const seconds = inRange('days', climate.days, 'd', 1, 31) * SECONDS_A_DAY;
  const held = new Map(before);
  const firstRate = new Map<number, number>();
  let dryAt: number | null = null;
  let entered = 0;
  let left = 0;
  let wetSurfaces: VapourProfile['wetSurfaces'] = [];
  let now = 0;
  for (let change = 0; now < seconds; change += 1) {
    if (change > MOST_CHANGES_A_MONTH) throw new Error('planes keep drying and wetting within one month');
    const profile = vapourProfile(path, climate, new Set(held.keys()));
    if (change === 0) wetSurfaces = profile.wetSurfaces;
    // A dry node that the string only grazes may show a rate of 0 or, by rounding, just under it: nothing settles.
    const rates = profile.planes
      .map(({ node, inflow, outflow }) => ({ node, rate: inflow - outflow, amount: held.get(node) ?? 0 }))
      .filter(({ rate, amount }) => amount > 0 || rate > 0);
    let step = seconds - now;
    for (const { node, rate, amount } of rates) {
      if (!firstRate.has(node)) firstRate.set(node, rate);
      if (rate < 0) step = Math.min(step, amount / -rate);
    }
    for (const { node, rate, amount } of rates) {
      if (rate < 0 && amount / -rate <= step) {
        held.delete(node);
      } else {
        held.set(node, amount + rate * step);
      }
    }
    entered += profile.inflow * step;
    left += profile.outflow * step;
    now += step;
    if (rates.length > 0 && held.size === 0) dryAt ??= now;
  }
  const planes = [...firstRate]
    .sort(([one], [other]) => one - other)
    .map(([node, rate]) => ({
      node,
      name: path.nodes[node]!.name,
      change: (held.get(node) ?? 0) - (before.get(node) ?? 0),
      atFirstRate: rate * seconds,
      held: held.get(node) ?? 0,
    }));
  const total = planes.reduce((sum, plane) => sum + plane.held, 0);
  return { month: { name: climate.name, entered, left, planes, held: total, wetSurfaces }, held, dryAt };
}

export type Drying =
  | { readonly kind: 'dries'; readonly days: number }
  | { readonly kind: 'not-dry-in-time'; readonly remaining: number };

/**
 * How long a wetting takes to dry by diffusion: `amount` at one node, from the start of one month on. Water that moves from
 * there to a colder plane has not dried: the answer is when all planes are dry.
 *
 * @param node index into the path's nodes, neither surface
 * @param amount kg/m2, above 0 and at most 100; the standard's trial is 1
 * @param start index of the first month
 * @param mostYears 1 to 10
 * @returns days until no water is held anywhere, or what is still held, kg/m2
 * @source ISO 13788:2012, clause 7 (1 kg/m2, at most ten years), from memory; there the water is put in the middle of a layer
 */
export function dryingOf(
  path: DiffusionPath,
  climate: readonly ClimateMonth[],
  { node, amount, start, mostYears }: { node: number; amount: number; start: number; mostYears: number },
): Drying {
  if (climate.length !== 12) throw new RangeError(`climate has ${climate.length} months; it must have 12`);
  inRange('node', node, '(index)', 1, path.nodes.length - 2);
  inRange('amount', amount, 'kg/m2', 1e-6, 100);
  inRange('start', start, '(month index)', 0, 11);
  inRange('mostYears', mostYears, 'years', 1, 10);
  let held: ReadonlyMap<number, number> = new Map([[node, amount]]);
  let days = 0;
  for (let step = 0; step < 12 * mostYears; step += 1) {
    const month = climate[(start + step) % 12]!;
    const run = throughMonth(path, month, held);
    if (run.dryAt !== null) return { kind: 'dries', days: days + run.dryAt / SECONDS_A_DAY };
    held = run.held;
    days += month.days;
  }
  return { kind: 'not-dry-in-time', remaining: [...held.values()].reduce((sum, part) => sum + part, 0) };
}
