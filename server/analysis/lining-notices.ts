import { MOULD_SURFACE_RESISTANCE } from '../physics/air-layer.ts';
import { RISK_HUMIDITY } from '../physics/hours-over.ts';
import type { Notice } from '../physics/notice.ts';
import type { HiddenCase, HiddenMonth, HiddenResult, HiddenState } from './hidden-cases.ts';
import type { BuildUpFigures } from './lining-figures.ts';
import type { LiningInput } from './lining-input.ts';

export const liningNoticeCodes = [
  'limits-too-far-apart',
  'beyond-the-void-not-counted',
  'hidden-layer-worse',
  'hidden-layer-damper',
  'hidden-layer-not-worse',
  'hidden-layer-wet',
  'air-tightness-decides',
  'vapour-control-decides',
  'condensation-accumulates',
  'surface-still-at-risk',
  'thin-board-to-the-room',
  'no-monthly-climate',
  'no-log',
] as const;

export type LiningNoticeCode = (typeof liningNoticeCodes)[number];

export type LiningNotice = Notice<LiningNoticeCode>;

/**
 * Differences that count as worse. Common practice, no source: smaller ones are within what the inputs are known to; half
 * a step of the mould index is less than the choice of material class makes.
 */
export const worseFrom = Object.freeze({
  /** % of relative humidity */
  humidity: 1,
  /** hours a year */
  riskHours: 24,
  /** of the mould index */
  mouldIndex: 0.5,
  /** kg/m2 of water held */
  water: 0.01,
});

/** One thing in which the old surface is worse off behind the lining, in words and figures. */
interface Worsening {
  readonly code: string;
  readonly words: string;
  /** its figures, under names that no other has */
  readonly data: LiningNotice['data'];
}

/**
 * Ways in which mould or water has more of a chance at the old surface afterwards. Humidity is held against what mould
 * needs at that temperature: behind a lining it is colder, and 85 % at 4 °C is less than 82 % at 15 °C. Empty: none.
 */
function worsenings(before: HiddenCase, after: HiddenCase): Worsening[] {
  return [...statesWorse(before, after), ...monthsWorse(before, after), ...hoursWorse(before, after)];
}

/** How far humidity lies over the growth limit, %; minus infinity where it is too cold for mould. */
const overLimit = ({ humidity, growthLimit }: HiddenState): number =>
  growthLimit === null ? Number.NEGATIVE_INFINITY : humidity - growthLimit;

const growsMore = (before: HiddenState, after: HiddenState): boolean =>
  overLimit(after) >= 0 && overLimit(after) - overLimit(before) >= worseFrom.humidity;

function statesWorse({ design: one }: HiddenCase, { design: two }: HiddenCase): Worsening[] {
  const found: Worsening[] = [];
  if (growsMore(one, two)) {
    found.push({
      code: 'design-humidity',
      words: `${two.humidity.toFixed(0)} % humidity at the design state, over the ${two.growthLimit!.toFixed(0)} % from which mould can grow there`,
      data: { design_humidity_pct: two.humidity, design_growth_limit_pct: two.growthLimit },
    });
  }
  if (two.wet && !one.wet) found.push({ code: 'design-water', words: 'water settles at the design state', data: {} });
  return found;
}

function monthsWorse({ months: one }: HiddenCase, { months: two }: HiddenCase): Worsening[] {
  if (one === null || two === null) return [];
  const found: Worsening[] = [];
  const before = mostOver(one);
  const after = mostOver(two);
  if (growsMore(before, after)) {
    found.push({
      code: 'month-humidity',
      words: `${after.humidity.toFixed(0)} % humidity in ${after.name}, ${overLimit(after).toFixed(0)} % over the growth limit${overLimit(before) >= 0 ? ` (before: ${overLimit(before).toFixed(0)} % over, in ${before.name})` : ''}`,
      data: {
        month_name: after.name,
        month_humidity_pct: after.humidity,
        month_over_limit_pct: overLimit(after),
        month_name_before: before.name,
        month_over_limit_before_pct: overLimit(before) >= 0 ? overLimit(before) : null,
      },
    });
  }
  const wet = two.filter((month) => month.wet);
  if (wet.length > one.filter((month) => month.wet).length) {
    const names = wet.map(({ name }) => name);
    found.push({ code: 'month-water', words: `water settles in ${names.join(', ')}`, data: { wet_months: names } });
  }
  return found;
}

const mostOver = (months: readonly HiddenMonth[]): HiddenMonth =>
  months.reduce((most, month) => (overLimit(month) > overLimit(most) ? month : most));

function hoursWorse({ logged: one }: HiddenCase, { logged: two }: HiddenCase): Worsening[] {
  if (one === null || two === null) return [];
  const found: Worsening[] = [];
  if (two.mouldHighest >= GROWTH_STARTS && two.mouldHighest - one.mouldHighest >= worseFrom.mouldIndex) {
    found.push({
      code: 'mould-index',
      words: `mould index up to ${two.mouldHighest.toFixed(1)} (${two.mouldWords}) in the log instead of ${one.mouldHighest.toFixed(1)}`,
      data: { mould_index: two.mouldHighest, mould_index_before: one.mouldHighest },
    });
  }
  if ((two.mostWater ?? 0) >= worseFrom.water) {
    found.push({
      code: 'water-held',
      words: `up to ${((two.mostWater ?? 0) * 1000).toFixed(0)} g/m2 of water held behind the lining in the log`,
      data: { most_water_kg_m2: two.mostWater },
    });
  }
  return found;
}

/** Ways in which the old surface is damper afterwards, though not so that mould or water has more of a chance. */
function dampenings(before: HiddenCase, after: HiddenCase): Worsening[] {
  const found: Worsening[] = [];
  const rise = after.design.humidity - before.design.humidity;
  if (rise >= worseFrom.humidity) {
    found.push({
      code: 'design-damper',
      words: `${after.design.humidity.toFixed(0)} % at the design state instead of ${before.design.humidity.toFixed(0)} %`,
      data: {},
    });
  }
  const { logged: one } = before;
  const { logged: two } = after;
  if (one !== null && two !== null && two.knownHours > 0) {
    const perYear = ((two.riskHours - one.riskHours) * HOURS_A_YEAR) / two.knownHours;
    if (perYear >= worseFrom.riskHours) {
      found.push({
        code: 'risk-hours',
        words: `${two.riskHours} risk hours in the log instead of ${one.riskHours}`,
        data: { risk_hours: two.riskHours, risk_hours_before: one.riskHours },
      });
    }
  }
  return found;
}

const HOURS_A_YEAR = 8760;

/** Mould index from which growth has started, seen under a microscope. */
const GROWTH_STARTS = 1;

const isWet = ({ design, months }: HiddenCase): boolean => design.wet || (months?.some((month) => month.wet) ?? false);

/** What the notices look at. */
export interface Found {
  readonly input: LiningInput;
  /** months the log does not cover; empty where there is a climate or no log */
  readonly monthsMissing: readonly string[];
  readonly before: BuildUpFigures;
  readonly after: BuildUpFigures;
  readonly hidden: HiddenResult;
}

/** In this order: what is worse, what decides it, what is left at risk, what is missing, what the method says of itself. */
export function liningNotices(found: Found): LiningNotice[] {
  return [
    ...hiddenLayerNotices(found),
    ...condensationNotices(found),
    ...surfaceNotices(found),
    ...boardNotices(found),
    ...missingNotices(found),
    ...methodNotices(found),
  ];
}

function hiddenLayerNotices({ hidden }: Found): LiningNotice[] {
  const { before, asDescribed, after } = hidden;
  const worse = worsenings(before, asDescribed);
  const damper = dampenings(before, asDescribed);
  const colder = before.design.temperature - asDescribed.design.temperature;
  const data: LiningNotice['data'] = {
    ...Object.assign({}, ...[...worse, ...damper].map((one) => one.data)),
    surface: hidden.surface,
    temperature_before_c: before.design.temperature,
    temperature_after_c: asDescribed.design.temperature,
    humidity_before_pct: before.design.humidity,
    humidity_after_pct: asDescribed.design.humidity,
    air_leak_m3_per_h_m2: asDescribed.airLeak,
    worse_in: worse.map(({ code }) => code),
    damper_in: damper.map(({ code }) => code),
  };
  const notices: LiningNotice[] = [];
  if (worse.length > 0) {
    notices.push({
      code: 'hidden-layer-worse',
      severity: 'warning',
      message: `This lining makes the hidden layer worse: behind it the ${hidden.surface} is ${colder.toFixed(1)} K colder at the design state, and there: ${worse.map(({ words }) => words).join('; ')}.`,
      data,
    });
  } else if (isWet(asDescribed)) {
    notices.push({
      code: 'hidden-layer-wet',
      severity: 'warning',
      message: `Water settles on the ${hidden.surface} behind the lining, as it did before the lining; but nobody will see it or wipe it off there.`,
      data,
    });
  } else if (damper.length > 0) {
    notices.push({
      code: 'hidden-layer-damper',
      severity: 'caution',
      message: `Behind the lining the ${hidden.surface} is damper: ${damper.map(({ words }) => words).join('; ')}. By these figures neither mould nor standing water would follow. Measure it to be sure.`,
      data,
    });
  } else {
    notices.push({
      code: 'hidden-layer-not-worse',
      severity: 'note',
      message: `Behind the lining the ${hidden.surface} is ${colder.toFixed(1)} K colder and no worse off at the design state: ${asDescribed.design.humidity.toFixed(0)} % instead of ${before.design.humidity.toFixed(0)} %. Measure it to be sure.`,
      data,
    });
  }
  const isWorse = (one: HiddenCase | undefined): boolean => one !== undefined && worsenings(before, one).length > 0;
  const same = (vapourControl: HiddenCase['vapourControl'], leak: number): HiddenCase | undefined =>
    after.find((one) => one.vapourControl === vapourControl && one.airLeak === leak);
  const described = asDescribed.vapourControl;
  if (asDescribed.airLeak > 0 && isWorse(asDescribed) && !isWorse(same(described, 0))) {
    notices.push({
      code: 'air-tightness-decides',
      severity: 'warning',
      message: `Without any air leak the hidden layer would be no worse than before; with ${asDescribed.airLeak} m3/(h m2) of room air behind the lining it is. How well the edges and joints are sealed decides.`,
      data: { air_leak_m3_per_h_m2: asDescribed.airLeak },
    });
  }
  const withControl = same('with', asDescribed.airLeak);
  const without = same('without', asDescribed.airLeak);
  if (isWorse(without) && !isWorse(withControl)) {
    notices.push({
      code: 'vapour-control-decides',
      severity: described === 'with' ? 'caution' : 'warning',
      message:
        described === 'with'
          ? 'The vapour control is what keeps the hidden layer no worse than before. It has to be whole: joints taped, edges sealed, no holes.'
          : 'With vapour control on the room side the hidden layer would be no worse than before. This build-up has none.',
      data: { described },
    });
  }
  return notices;
}

function condensationNotices({ before, after }: Found): LiningNotice[] {
  const year = after.condensation;
  if (year?.kind !== 'accumulates') return [];
  const earlier = before.condensation?.kind === 'accumulates' ? before.condensation.remaining : 0;
  return [
    {
      code: 'condensation-accumulates',
      severity: year.remaining > earlier ? 'warning' : 'caution',
      message: `By the monthly method ${(year.remaining * 1000).toFixed(0)} g/m2 of water are still inside the lined ceiling after a year (as it was: ${(earlier * 1000).toFixed(0)} g/m2).`,
      data: { remaining_before_kg_m2: earlier, remaining_after_kg_m2: year.remaining, peak_after_kg_m2: year.peak },
    },
  ];
}

function surfaceNotices({ after }: Found): LiningNotice[] {
  const mould = after.design.find((surface) => surface.rsi === MOULD_SURFACE_RESISTANCE)!;
  if (!(mould.surfaceHumidity >= RISK_HUMIDITY)) return [];
  return [
    {
      code: 'surface-still-at-risk',
      severity: 'warning',
      message: `At the design state ${mould.surfaceHumidity >= 100 ? 'water still settles on the lined surface itself' : `the lined surface itself still reaches ${mould.surfaceHumidity.toFixed(0)} % humidity`} ${mould.coldestThrough.length > 0 ? `over the ${mould.coldestThrough.join(' and ')} ` : ''}where air moves little, as in corners and behind furniture (Rsi 0.25). More insulation, or a drier room, is needed.`,
      data: {
        surface_humidity_pct: mould.surfaceHumidity,
        temperature_c: mould.lowestTemperature,
        through: mould.coldestThrough,
      },
    },
  ];
}

const THINNEST_BOARD_M = 0.0125;

function boardNotices({ input }: Found): LiningNotice[] {
  const board = input.after.layers.find((layer) => layer.kind === 'solid');
  if (board === undefined || board.thickness >= THINNEST_BOARD_M) return [];
  return [
    {
      code: 'thin-board-to-the-room',
      severity: 'caution',
      message: `The board that faces the room, ${board.name}, is ${(board.thickness * 1000).toFixed(1)} mm thick. Over foam that may not give the fire performance the local code asks of a ceiling; ask before you build.`,
      data: { layer: board.name, thickness_mm: board.thickness * 1000 },
    },
  ];
}

function missingNotices({ input, monthsMissing, after }: Found): LiningNotice[] {
  const notices: LiningNotice[] = [];
  if (input.logged === null) {
    notices.push({
      code: 'no-log',
      severity: 'note',
      message:
        'Hours of room air and outdoor air are missing, so there is no coldest night and no mould index behind the lining.',
      data: {},
    });
  }
  if (after.condensation === null) {
    const known = input.logged === null ? '' : ` The log does not cover enough of: ${monthsMissing.join(', ')}.`;
    notices.push({
      code: 'no-monthly-climate',
      severity: 'note',
      message: `No monthly condensation table: it needs twelve months, typed in or logged.${known}`,
      data: { missing: monthsMissing, has_log: input.logged !== null },
    });
  }
  return notices;
}

function methodNotices({ before, after }: Found): LiningNotice[] {
  const seen = new Map<string, LiningNotice>();
  for (const [when, figures] of [
    ['before', before],
    ['after', after],
  ] as const) {
    for (const notice of figures.transmittances[0]!.notices) {
      const known = [...seen.values()].some((one) => one.message === notice.message);
      if (!known) seen.set(`${when} ${notice.code}`, notice);
    }
  }
  return [...seen.values()];
}
