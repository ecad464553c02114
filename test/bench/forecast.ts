import { forecastTonight } from '../../server/analysis/forecast/forecast-tonight.ts';
import { type ForecastScore, scoreForecasts } from '../../server/analysis/forecast/score.ts';
import { forecastSettings } from '../../server/analysis/forecast/settings.ts';
import type { CeilingMass } from '../../server/simulate/ceiling-case.ts';
import { openDataIsHere, readHouses } from '../analysis/ceiling-cases.ts';
import {
  type ForecastCase,
  forecastCase,
  perfectFeeds,
  type ScoredNight,
  scoreNights,
} from '../analysis/forecast/cases.ts';
import type { BenchRow } from './row.ts';

/**
 * Settings and warning level were chosen on house-b under ceilings of f 0.55, 0.65 and 0.75; the scores are those of house-a
 * under other ceilings. A forecast is fitted to nothing but the hours before it.
 */
const CEILINGS: readonly (readonly [number, CeilingMass])[] = [
  [0.5, 'light'],
  [0.6, 'timber'],
  [0.7, 'light'],
  [0.8, 'heavy'],
];
/** The measured rooms are warm and dry: moved to a cool, moist dwelling in a milder climate, the hour-to-hour course real. */
const LIVING = { milder: 6, warmer: -4, moister: 1.2, extraPa: 100 };
const SEED = 50;

/** Recall and precision wanted at 18:00. */
const AIMS = {
  'no outdoor forecast': { recall: 0.9, precision: 0.7 },
  'a perfect outdoor forecast': { recall: 0.97, precision: 0.9 },
} as const;

const share = (value: number | null): string => (value === null ? '–' : value.toFixed(2));

/** Tonight's forecast, every winter night of two measured houses under modelled ceilings. The limits are the project's aims. */
export async function benchForecast(): Promise<BenchRow[]> {
  if (!openDataIsHere) {
    console.warn('left out: scoring forecasts needs ../shared/open-data beside the project');
    return [];
  }
  const [houseA, houseB] = readHouses();
  const casesOf = (house: typeof houseA): ForecastCase[] =>
    CEILINGS.map(([f, mass], k) => forecastCase(house!, { f, mass, living: LIVING }, SEED + k));
  const scored = casesOf(houseA);
  const chosenOn = casesOf(houseB);
  const rows: BenchRow[] = [];
  for (const feed of Object.keys(AIMS) as (keyof typeof AIMS)[]) {
    for (const hour of [18, 12] as const) {
      rows.push(...rowsOf(scored, feed, hour));
      scoreAll(chosenOn, feed, hour, 'house-b, on which the settings were chosen');
    }
  }
  return [...rows, speed(scored[1]!)];
}

function rowsOf(cases: readonly ForecastCase[], feed: keyof typeof AIMS, hour: 12 | 18): BenchRow[] {
  const { score, nights } = scoreAll(cases, feed, hour, 'house-a');
  const what = `${feed}, made at ${hour}:00`;
  const row = (
    name: string,
    measured: number | null,
    limit: number,
    direction: BenchRow['direction'],
    unit: string,
    note?: string,
  ): BenchRow => ({
    name: `${name}: ${what}`,
    measured: measured ?? Number.NaN,
    limit,
    unit,
    ratio: (measured ?? Number.NaN) / limit,
    aim: 1,
    direction,
    ...(note === undefined ? {} : { note }),
  });
  const brier = score.brier ?? Number.NaN;
  const ofSkill = (skill: number | null): number => brier / (1 - (skill ?? Number.NaN));
  const rows = [
    row(
      'Brier score against the rate of each ceiling’s own winter nights',
      brier,
      referenceOf(cases, nights),
      'at most',
      '',
    ),
    row('Brier score against “same as last night”', brier, ofSkill(score.skillAgainstLastNight), 'at most', ''),
  ];
  if (hour === 12) return rows;
  const { recall, precision } = AIMS[feed];
  const note =
    feed === 'no outdoor forecast' ? best(nights, recall) : `${best(nights, recall)}; ${livingShare(nights)}`;
  return [
    ...rows,
    row(
      'recall of condensation nights',
      score.recall,
      recall,
      'at least',
      'share',
      `${score.condensationNights} of ${score.nights} nights`,
    ),
    row('precision of warnings', score.precision, precision, 'at least', 'share', note),
  ];
}

function scoreAll(
  cases: readonly ForecastCase[],
  feed: keyof typeof AIMS,
  hour: 12 | 18,
  where: string,
): { score: ForecastScore; nights: readonly (readonly ScoredNight[])[] } {
  console.log(`\n  ${where}, ${feed}, made at ${hour}:00`);
  const nights = cases.map((one) => {
    const input = feed === 'no outdoor forecast' ? one.input : { ...one.input, feeds: perfectFeeds(one) };
    const { scored, notEnough } = scoreNights({ ...one, input }, hour);
    const score = scoreForecasts(scored);
    const inside = scored.filter(({ lowest, margin }) => margin.low <= lowest && lowest <= margin.high).length;
    console.log(
      `    f ${one.f.toFixed(2)}: ${score.condensationNights} of ${score.nights} nights (${notEnough} not enough), Brier ${brierWords(score)}, recall ${share(score.recall)}, precision ${share(score.precision)}, 90 % intervals that hold the lowest margin ${share(inside / score.nights)}`,
    );
    return scored;
  });
  const score = scoreForecasts(nights.flat());
  console.log(
    `    all: Brier ${brierWords(score)}, recall ${share(score.recall)}, precision ${share(score.precision)}`,
  );
  const filled = score.reliability.filter((bin) => bin.nights > 0);
  console.log(
    `    said → came true: ${filled.map((bin) => `${share(bin.meanChance)} → ${share(bin.rate)} (${bin.nights})`).join(', ')}`,
  );
  return { score, nights };
}

const brierWords = (score: ForecastScore): string =>
  `${(score.brier ?? Number.NaN).toFixed(3)} (skill ${share(score.skillAgainstSeason)} against the rate, ${share(score.skillAgainstLastNight)} against last night)`;

/** Brier score of always saying each ceiling's own rate: one rate for all ceilings together would be too easy to beat. */
function referenceOf(cases: readonly ForecastCase[], nights: readonly (readonly ScoredNight[])[]): number {
  let sum = 0;
  let count = 0;
  for (let k = 0; k < cases.length; k++) {
    const own = nights[k]!;
    const rate = own.filter(({ wet }) => wet).length / own.length;
    sum += own.length * rate * (1 - rate);
    count += own.length;
  }
  return sum / count;
}

/** The precision that the wanted recall would have cost, were the warning level chosen for it afterwards. */
function best(nights: readonly (readonly ScoredNight[])[], recall: number): string {
  const sorted = nights.flat().sort((a, b) => b.chance - a.chance);
  const wanted = recall * sorted.filter(({ wet }) => wet).length;
  let hits = 0;
  for (const [k, { wet, chance }] of sorted.entries()) {
    if (wet) hits += 1;
    if (hits >= wanted)
      return `recall ${recall} would have taken warnings from ${chance.toFixed(2)} on, at precision ${share(hits / (k + 1))}`;
  }
  return '';
}

/** What no weather forecast can tell: how much vapour the people will make after the forecast. */
function livingShare(nights: readonly (readonly ScoredNight[])[]): string {
  const known = nights.flat().filter(({ dewPointRise }) => !Number.isNaN(dewPointRise));
  const errors = known.map(({ lowest, margin }) => lowest - margin.value);
  const rises = known.map(({ dewPointRise }) => dewPointRise);
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  const product = (a: readonly number[], b: readonly number[]): number =>
    mean(a.map((value, k) => (value - mean(a)) * (b[k]! - mean(b))));
  const explained = product(errors, rises) ** 2 / (product(errors, errors) * product(rises, rises));
  const spread = Math.sqrt(product(errors, errors));
  return `the lowest margin is missed by ${spread.toFixed(1)} K (standard deviation), ${(100 * explained).toFixed(0)} % of whose square goes with how far the room’s dew point rose after the forecast`;
}

/** Processor time of one forecast with two months of hours behind it, and 60 days of outdoor forecasts. */
function speed(one: ForecastCase): BenchRow {
  const now = one.input.surface.start + 100 * 24 * 3_600_000;
  const input = { ...one.input, feeds: perfectFeeds(one), now };
  const times = Array.from({ length: 9 }, () => {
    const began = process.cpuUsage();
    forecastTonight(input);
    const { user, system } = process.cpuUsage(began);
    return (user + system) / 1000;
  });
  const measured = times.sort((a, b) => a - b)[4]!;
  return {
    name: 'one forecast of one surface',
    measured,
    limit: 100,
    unit: 'ms of processor time',
    ratio: measured / 100,
    aim: 1,
    direction: 'at most',
    note: `${forecastSettings.windowDays} days looked back on`,
  };
}
