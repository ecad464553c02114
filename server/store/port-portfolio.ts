import type { HomeSummary } from '../analysis/portfolio/summary.ts';
import type {
  ConsentScope,
  PortfolioCondition,
  PortfolioGrouping,
  PortfolioOrder,
  Reach,
} from '../analysis/portfolio/vocabulary.ts';

/** What homes are sorted by, beside their own names; as whoever looks after them calls it. */
export interface HomeAttributes {
  /** null: not told */
  readonly area: string | null;
  readonly buildType: string | null;
  readonly groupIds: readonly number[];
}

/** Homes that somebody looks after together. A group is of the whole install, and a home may be in several. */
export interface HomeGroup {
  readonly id: number;
  readonly name: string;
}

/** That a household lets a landlord see something of its home. Never changed, only withdrawn. */
export interface Consent {
  readonly id: number;
  readonly dwellingId: number;
  readonly scope: ConsentScope;
  /** who of the household agreed */
  readonly agreedBy: string;
  /** who wrote it down; null: nobody was signed in */
  readonly recordedBy: string | null;
  readonly givenAt: number;
  /** null: it holds */
  readonly withdrawnAt: number | null;
  readonly withdrawnBy: string | null;
}

/** Whose homes are looked at: those in reach and, of those, the ones whose household agreed to it. */
export interface PortfolioView {
  readonly reach: Reach;
  /** what a household must have agreed to for its home to be seen; null: all are seen */
  readonly shared: ConsentScope | null;
}

/** Which of them. What is null is not asked for. */
export interface PortfolioFilter {
  /** UTC milliseconds: a night that is over by then says nothing of tonight */
  readonly now: number;
  /** part of a name, a slug or an area, in any case */
  readonly search: string | null;
  readonly condition: PortfolioCondition | null;
  /** empty: homes of which it is not told */
  readonly area: string | null;
  readonly buildType: string | null;
  readonly groupId: number | null;
}

/** Where a page begins: after this row in the order asked for. */
export interface PortfolioMark {
  readonly key: number | string;
  readonly id: number;
}

export interface PortfolioRow {
  readonly id: number;
  readonly slug: string;
  readonly name: string;
  readonly zone: string;
  readonly area: string | null;
  readonly buildType: string | null;
  /** null: the household has agreed to nothing */
  readonly shared: ConsentScope | null;
  /** null: not worked out yet */
  readonly summary: HomeSummary | null;
  readonly mark: PortfolioMark;
}

/** Homes, and how many of them each condition is true of. */
export type PortfolioCounts = { readonly homes: number } & { readonly [C in PortfolioCondition]: number };

export interface PortfolioGroupRow extends PortfolioCounts {
  /** null: homes of which it is not told */
  readonly name: string | null;
}

export interface PortfolioChoices {
  readonly areas: readonly string[];
  readonly buildTypes: readonly string[];
  readonly groups: readonly HomeGroup[];
}

/**
 * Many homes: what they are sorted by, a line for each that is kept up as things change, who may see which, and questions
 * over all of them that cost no more than the lines they answer with and one pass over the others.
 */
export interface PortfolioStore {
  attributes(dwellingId: number): Promise<HomeAttributes>;
  /** What is left out stays. @throws StoreError `not-found` for a group that is not there */
  changeAttributes(dwellingId: number, change: Partial<HomeAttributes>): Promise<HomeAttributes>;

  /** In order of name. */
  groups(): Promise<HomeGroup[]>;
  /** @throws StoreError `already-there` */
  addGroup(name: string): Promise<HomeGroup>;
  renameGroup(id: number, name: string): Promise<HomeGroup>;
  /** The homes stay; nobody reaches any through the group any more. */
  removeGroup(id: number): Promise<void>;

  /** All ever given, in order of id. */
  consents(dwellingId: number): Promise<Consent[]>;
  /** The one that holds, if there is one. */
  consent(dwellingId: number): Promise<Consent | null>;
  /** One that held before is withdrawn at the same moment by whoever records the new one. */
  giveConsent(consent: Pick<Consent, 'dwellingId' | 'scope' | 'agreedBy' | 'recordedBy' | 'givenAt'>): Promise<Consent>;
  /** One that is withdrawn already keeps its first time. */
  withdrawConsent(dwellingId: number, id: number, at: number, by: string | null): Promise<Consent>;

  /** Of everybody who has been given one. */
  reaches(): Promise<ReadonlyMap<number, Reach>>;
  /** null: takes it away. */
  setReach(personId: number, reach: Reach | null): Promise<void>;
  isWithin(dwellingId: number, reach: Reach): Promise<boolean>;

  summary(dwellingId: number): Promise<HomeSummary | null>;
  keepSummary(dwellingId: number, summary: HomeSummary): Promise<void>;
  /** Homes whose line was worked out before a time or not at all, the oldest first. */
  summariesBefore(time: number, most: number): Promise<number[]>;

  /** The next rows in an order, at most `most`. */
  portfolioRows(
    view: PortfolioView,
    filter: PortfolioFilter,
    page: { readonly order: PortfolioOrder; readonly after: PortfolioMark | null; readonly most: number },
  ): Promise<PortfolioRow[]>;
  /** The condition of the filter is left aside: each is counted. */
  portfolioCounts(view: PortfolioView, filter: PortfolioFilter): Promise<PortfolioCounts>;
  portfolioGroups(view: PortfolioView, filter: PortfolioFilter, by: PortfolioGrouping): Promise<PortfolioGroupRow[]>;
  portfolioChoices(view: PortfolioView): Promise<PortfolioChoices>;
  /** Homes in reach whose household has not agreed to anything. */
  countUnshared(reach: Reach): Promise<number>;
}
