import type { FactorSummary, HomeSummary, TonightSummary, WorksSummary } from '../analysis/portfolio/summary.ts';
import {
  type ConsentScope,
  consentScopes,
  LIKELY_NIGHT,
  type PortfolioCondition,
  type PortfolioGrouping,
  type PortfolioOrder,
  portfolioConditions,
  takesIn,
} from '../analysis/portfolio/vocabulary.ts';
import { wholeTime } from './arguments.ts';
import type { Consent, PortfolioFilter, PortfolioMark, PortfolioRow, PortfolioView } from './port.ts';
import { type Columns, selectList } from './row-columns.ts';

/**
 * What the engines share of the questions over many homes. An engine brings its words (`Dialect`) and gives each value a
 * place in the statement.
 */
export interface Dialect {
  /** compares texts byte by byte, behind an expression */
  readonly bytes: string;
  /** a text that comes after all others */
  readonly last: string;
  /** whether an expression is one of a list of numbers or texts */
  oneOf(expression: string, place: string, kind: 'number' | 'text'): string;
  /** whether a text stands in another */
  holds(expression: string, place: string): string;
  /** gives a value to the statement: its place in the text */
  place(value: string | number | readonly number[] | readonly string[]): string;
}

export const consentColumns: Columns<Consent> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  scope: 'scope',
  agreedBy: 'agreed_by',
  recordedBy: 'recorded_by',
  givenAt: 'given_at',
  withdrawnAt: 'withdrawn_at',
  withdrawnBy: 'withdrawn_by',
};

type Nullable<T> = { readonly [K in keyof T]: T[K] | null };

/** A summary as its row holds it, flat. */
export interface SummaryRow extends Nullable<TonightSummary>, Omit<Nullable<FactorSummary>, 'place'> {
  readonly dwellingId: number;
  readonly workedOutAt: number;
  readonly dataTo: number | null;
  readonly assessedAt: number | null;
  readonly factorPlace: string | null;
  readonly verdict: WorksSummary['verdict'];
  readonly verdictPlace: string | null;
  readonly sensors: number;
  readonly sensorsToVisit: number;
  readonly visitReasons: string;
  readonly tooCold: 0 | 1 | null;
  readonly tooMoist: 0 | 1 | null;
}

export const summaryColumns: Columns<SummaryRow> = {
  dwellingId: 'dwelling_id',
  workedOutAt: 'worked_out_at',
  dataTo: 'data_to',
  night: 'night',
  endsAt: 'night_ends_at',
  place: 'night_place',
  chance: 'chance',
  marginK: 'margin_k',
  marginLowK: 'margin_low_k',
  marginHighK: 'margin_high_k',
  likeliestAt: 'likeliest_at',
  assessedAt: 'assessed_at',
  factorPlace: 'factor_place',
  phase: 'factor_phase',
  f: 'factor',
  low: 'factor_low',
  high: 'factor_high',
  target: 'factor_target',
  standing: 'factor_standing',
  verdict: 'verdict',
  verdictPlace: 'verdict_place',
  sensors: 'sensors',
  sensorsToVisit: 'sensors_to_visit',
  visitReasons: 'visit_reasons',
  tooCold: 'too_cold',
  tooMoist: 'too_moist',
};

/** The place of the moment of asking; a statement that does not need it has no place for it. */
type Now = () => string;

/** What is so of tonight is so only as long as that night is not over. */
const conditions: Readonly<Record<PortfolioCondition, (now: Now) => string>> = {
  'wet-tonight': (now) => `(night_ends_at > ${now()} AND chance >= ${LIKELY_NIGHT})`,
  'below-target': () => "factor_standing = 'below'",
  'not-helped': () => "verdict IN ('no-change-shown', 'worse')",
  'needs-visit': () => 'sensors_to_visit > 0',
  'too-cold': () => 'too_cold = 1',
  'too-moist': () => 'too_moist = 1',
};

/** Each ascending, so that a page begins where the one before ended. What is not known comes last. */
const orders: Readonly<Record<PortfolioOrder, (now: Now, dialect: Dialect) => string>> = {
  tonight: (now) => `coalesce(-(CASE WHEN night_ends_at > ${now()} THEN chance END), 1)`,
  factor: () => 'coalesce(factor, 1e9)',
  sensors: () => '-coalesce(sensors_to_visit, -1)',
  name: (_now, { bytes }) => `folded(dwelling.name) ${bytes}`,
  area: (_now, { bytes, last }) => `coalesce(folded(area), ${last}) ${bytes}`,
};

const groupings: Readonly<Record<PortfolioGrouping, string>> = { area: 'area', 'build-type': 'build_type' };

const tables = `dwelling
  LEFT JOIN home_attribute ON home_attribute.dwelling_id = dwelling.id
  LEFT JOIN home_summary ON home_summary.dwelling_id = dwelling.id`;

const countList = (now: Now): string =>
  portfolioConditions
    .map((condition) => `count(*) FILTER (WHERE ${conditions[condition](now)}) AS "${condition}"`)
    .join(', ');

/** Texts are compared in lower case, letters beyond ASCII too: in statements by the function `folded`. */
export const folded = (text: string): string => text.normalize('NFC').toLowerCase();

/** A condition on the rows of `dwelling`: those in reach whose household agreed to enough. */
export function seenBy({ reach, shared }: PortfolioView, dialect: Dialect): string {
  const parts: string[] = [];
  if (reach.kind === 'listed') {
    const homes = dialect.oneOf('dwelling.id', dialect.place(reach.dwellingIds), 'number');
    const groups = dialect.oneOf('group_id', dialect.place(reach.groupIds), 'number');
    parts.push(
      `(${homes} OR EXISTS (SELECT 1 FROM home_in_group WHERE home_in_group.dwelling_id = dwelling.id AND ${groups}))`,
    );
  }
  if (shared !== null) parts.push(`EXISTS (${consentThatHolds('1')} AND ${enough(shared, dialect)})`);
  return parts.length === 0 ? 'TRUE' : parts.join(' AND ');
}

const consentThatHolds = (what: string): string =>
  `SELECT ${what} FROM consent WHERE consent.dwelling_id = dwelling.id AND withdrawn_at IS NULL`;

const enough = (shared: ConsentScope, dialect: Dialect): string =>
  dialect.oneOf('scope', dialect.place(consentScopes.filter((scope) => takesIn(scope, shared))), 'text');

/** Homes that are seen and asked for, but for the condition. */
function asked(view: PortfolioView, filter: PortfolioFilter, dialect: Dialect): string {
  const parts = ['leaving = 0', seenBy(view, dialect)];
  if (filter.search !== null) {
    const search = dialect.place(folded(filter.search));
    const within = ['folded(dwelling.name)', 'slug', "folded(coalesce(area, ''))"];
    parts.push(`(${within.map((text) => dialect.holds(text, search)).join(' OR ')})`);
  }
  if (filter.area !== null) parts.push(`coalesce(area, '') = ${dialect.place(filter.area)}`);
  if (filter.buildType !== null) parts.push(`coalesce(build_type, '') = ${dialect.place(filter.buildType)}`);
  if (filter.groupId !== null) {
    parts.push(`EXISTS (SELECT 1 FROM home_in_group WHERE home_in_group.dwelling_id = dwelling.id
      AND group_id = ${dialect.place(filter.groupId)})`);
  }
  return parts.join(' AND ');
}

function nowOf(filter: PortfolioFilter, dialect: Dialect): Now {
  let place: string | null = null;
  wholeTime('now', filter.now);
  return () => {
    place ??= dialect.place(filter.now);
    return place;
  };
}

export function rowsStatement(
  view: PortfolioView,
  filter: PortfolioFilter,
  page: { readonly order: PortfolioOrder; readonly after: PortfolioMark | null; readonly most: number },
  dialect: Dialect,
): string {
  const now = nowOf(filter, dialect);
  const key = orders[page.order](now, dialect);
  const where = [asked(view, filter, dialect)];
  if (filter.condition !== null) where.push(conditions[filter.condition](now));
  if (page.after !== null) {
    where.push(`(${key}, dwelling.id) > (${dialect.place(page.after.key)}, ${dialect.place(page.after.id)})`);
  }
  return `SELECT dwelling.id AS "homeId", slug, name, zone, area, build_type AS "buildType", ${key} AS "key",
      (${consentThatHolds('scope')}) AS "shared", ${selectList(prefixed)}
    FROM ${tables} WHERE ${where.join(' AND ')}
    ORDER BY ${key}, dwelling.id LIMIT ${dialect.place(page.most)}`;
}

export function countsStatement(view: PortfolioView, filter: PortfolioFilter, dialect: Dialect): string {
  const now = nowOf(filter, dialect);
  return `SELECT count(*) AS "homes", ${countList(now)} FROM ${tables} WHERE ${asked(view, filter, dialect)}`;
}

export function groupsStatement(
  view: PortfolioView,
  filter: PortfolioFilter,
  by: PortfolioGrouping,
  dialect: Dialect,
): string {
  const now = nowOf(filter, dialect);
  const column = groupings[by];
  return `SELECT ${column} AS "name", count(*) AS "homes", ${countList(now)}
    FROM ${tables} WHERE ${asked(view, filter, dialect)} GROUP BY ${column}
    ORDER BY ${column} IS NULL, folded(${column}) ${dialect.bytes}, ${column} ${dialect.bytes}`;
}

export const choicesStatement = (view: PortfolioView, column: 'area' | 'build_type', dialect: Dialect): string =>
  `SELECT ${column} AS "name" FROM dwelling JOIN home_attribute ON home_attribute.dwelling_id = dwelling.id
   WHERE leaving = 0 AND ${column} IS NOT NULL AND ${seenBy(view, dialect)}
   GROUP BY ${column} ORDER BY folded(${column}) ${dialect.bytes}, ${column} ${dialect.bytes}`;

export const seenGroupsStatement = (view: PortfolioView, dialect: Dialect): string =>
  `SELECT id, name FROM home_group WHERE id IN (
     SELECT home_in_group.group_id FROM home_in_group JOIN dwelling ON dwelling.id = home_in_group.dwelling_id
     WHERE leaving = 0 AND ${seenBy(view, dialect)})
   ORDER BY folded(name) ${dialect.bytes}, id`;

export const unsharedStatement = (view: PortfolioView, dialect: Dialect): string =>
  `SELECT count(*) AS "homes" FROM dwelling
   WHERE leaving = 0 AND ${seenBy(view, dialect)} AND NOT EXISTS (${consentThatHolds('1')})`;

export const withinStatement = (view: PortfolioView, dwellingId: number, dialect: Dialect): string =>
  `SELECT 1 FROM dwelling WHERE id = ${dialect.place(dwellingId)} AND leaving = 0 AND ${seenBy(view, dialect)}`;

const prefixed = Object.fromEntries(
  Object.entries(summaryColumns).map(([field, column]) => [field, `home_summary.${column}`]),
);

/** A row of {@link rowsStatement}. */
export type ListedRow = Omit<SummaryRow, 'dwellingId' | 'workedOutAt'> &
  Pick<PortfolioRow, 'slug' | 'name' | 'zone' | 'area' | 'buildType' | 'shared'> & {
    readonly homeId: number;
    readonly key: number | string;
    readonly dwellingId: number | null;
    readonly workedOutAt: number | null;
  };

export function toListed(row: ListedRow): PortfolioRow {
  const { homeId, slug, name, zone, area, buildType, shared, key, dwellingId, workedOutAt } = row;
  const summary = dwellingId === null || workedOutAt === null ? null : toSummary({ ...row, dwellingId, workedOutAt });
  return { id: homeId, slug, name, zone, area, buildType, shared, summary, mark: { key, id: homeId } };
}

export function toSummaryRow(dwellingId: number, summary: HomeSummary): SummaryRow {
  const { workedOutAt, dataTo, tonight, works, sensors, sensorsToVisit, visitReasons } = summary;
  wholeTime('workedOutAt', workedOutAt);
  const factor = works?.factor ?? null;
  const flag = (said: boolean | null): 0 | 1 | null => (said === null ? null : said ? 1 : 0);
  return {
    dwellingId,
    workedOutAt,
    dataTo,
    night: tonight?.night ?? null,
    endsAt: tonight?.endsAt ?? null,
    place: tonight?.place ?? null,
    chance: tonight?.chance ?? null,
    marginK: tonight?.marginK ?? null,
    marginLowK: tonight?.marginLowK ?? null,
    marginHighK: tonight?.marginHighK ?? null,
    likeliestAt: tonight?.likeliestAt ?? null,
    assessedAt: works?.assessedAt ?? null,
    factorPlace: factor?.place ?? null,
    phase: factor?.phase ?? null,
    f: factor?.f ?? null,
    low: factor?.low ?? null,
    high: factor?.high ?? null,
    target: factor?.target ?? null,
    standing: factor?.standing ?? null,
    verdict: works?.verdict ?? null,
    verdictPlace: works?.verdictPlace ?? null,
    sensors,
    sensorsToVisit,
    visitReasons: JSON.stringify(visitReasons),
    tooCold: flag(summary.tooCold),
    tooMoist: flag(summary.tooMoist),
  };
}

export function toSummary(row: SummaryRow): HomeSummary {
  const { workedOutAt, dataTo, sensors, sensorsToVisit, visitReasons, assessedAt, verdict, verdictPlace } = row;
  const said = (flag: 0 | 1 | null): boolean | null => (flag === null ? null : flag === 1);
  return {
    workedOutAt,
    dataTo,
    tonight: tonightOf(row),
    works: assessedAt === null ? null : { assessedAt, factor: factorOf(row), verdict, verdictPlace },
    sensors,
    sensorsToVisit,
    visitReasons: JSON.parse(visitReasons) as string[],
    tooCold: said(row.tooCold),
    tooMoist: said(row.tooMoist),
  };
}

/** Columns of one part are filled together or not at all. */
function tonightOf(row: SummaryRow): TonightSummary | null {
  if (row.night === null) return null;
  const { night, endsAt, place, chance, marginK, marginLowK, marginHighK, likeliestAt } = row;
  return { night, endsAt, place, chance, marginK, marginLowK, marginHighK, likeliestAt } as TonightSummary;
}

function factorOf(row: SummaryRow): FactorSummary | null {
  if (row.f === null) return null;
  const { factorPlace: place, phase, f, low, high, target, standing } = row;
  return { place, phase, f, low, high, target, standing } as FactorSummary;
}
