import { LIKELY_NIGHT, type Reach } from '../analysis/portfolio/vocabulary.ts';
import { csvOf } from '../evidence/export/formats.ts';
import type {
  Consent,
  Dwelling,
  PortfolioFilter,
  PortfolioMark,
  PortfolioRow,
  PortfolioView,
  Store,
} from '../store/port.ts';
import { reachOf } from './access/access.ts';
import { viewOf } from './access/homes.ts';
import { isLandlord, nameOf, type Visit } from './access/visit.ts';
import type { HomeLine } from './contract/portfolio.ts';
import { homeTable } from './portfolio-table.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface PortfolioParts {
  readonly store: Store;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

type Names =
  | 'getPortfolio'
  | 'getPortfolioGroups'
  | 'exportPortfolio'
  | 'listGroups'
  | 'addGroup'
  | 'renameGroup'
  | 'removeGroup'
  | 'getAttributes'
  | 'changeAttributes'
  | 'listConsents'
  | 'giveConsent'
  | 'withdrawConsent';

/** Rows of a file that are read at a time. */
const FILE_PAGE = 200;

/** Many homes: the list, what they are sorted by, and what their households let a landlord see. */
export function portfolioHandlers({ store, clock, dwellingOf }: PortfolioParts): Pick<Handlers, Names> {
  const seen = (visit: Visit): PortfolioView => viewOf(visit.actor, 'summary');
  const filterOf = (query: Asked): PortfolioFilter => ({
    now: clock(),
    search: query.search ?? null,
    condition: query.condition ?? null,
    area: query.area ?? null,
    buildType: query.buildType ?? null,
    groupId: query.group ?? null,
  });

  /** Whether somebody who lives in the home, and in some homes alone, signs in for themselves. */
  async function hasOwnPeople(dwellingId: number): Promise<boolean> {
    const [people, reaches] = await Promise.all([store.people(), store.reaches()]);
    return people.some((person) => {
      const reach: Reach = reachOf(person, reaches);
      return person.role === 'household' && reach.kind === 'listed' && reach.dwellingIds.includes(dwellingId);
    });
  }

  return {
    async getPortfolio({ query, visit }) {
      const view = seen(visit);
      const filter = filterOf(query);
      const after = query.after === undefined ? null : markOf(query.after);
      const [rows, counts, choices, unshared] = await Promise.all([
        store.portfolioRows(view, filter, { order: query.order, after, most: query.most + 1 }),
        store.portfolioCounts(view, filter),
        store.portfolioChoices(view),
        isLandlord(visit.actor) ? store.countUnshared(view.reach) : 0,
      ]);
      const homes = rows.slice(0, query.most);
      return {
        time: toInstant(filter.now),
        homes: homes.map((row) => lineOf(row, filter.now)),
        next: rows.length > query.most ? textOfMark(homes.at(-1)!.mark) : null,
        counts,
        unshared,
        likelyChance: LIKELY_NIGHT,
        choices: {
          areas: [...choices.areas],
          buildTypes: [...choices.buildTypes],
          groups: [...choices.groups],
        },
      };
    },

    async getPortfolioGroups({ query, visit }) {
      return store.portfolioGroups(seen(visit), filterOf(query), query.by);
    },

    async exportPortfolio({ query, visit }) {
      const view = seen(visit);
      const filter = filterOf(query);
      async function* pages() {
        let after: PortfolioMark | null = null;
        do {
          const rows: PortfolioRow[] = await store.portfolioRows(view, filter, {
            order: query.order,
            after,
            most: FILE_PAGE,
          });
          yield rows.map((row) => lineOf(row, filter.now));
          after = rows.length < FILE_PAGE ? null : rows.at(-1)!.mark;
        } while (after !== null);
      }
      return {
        type: 'text/csv; charset=utf-8; header=present',
        name: `coomb-homes-${toInstant(filter.now).slice(0, 10)}.csv`,
        pieces: csvOf({ table: homeTable, pages }),
      };
    },

    async listGroups() {
      return store.groups();
    },
    async addGroup({ body }) {
      return store.addGroup(body.name);
    },
    async renameGroup({ params, body }) {
      return store.renameGroup(params.id, body.name);
    },
    async removeGroup({ params }) {
      await store.removeGroup(params.id);
      return undefined;
    },

    async getAttributes({ params }) {
      return attributesView(await store.attributes((await dwellingOf(params)).id));
    },
    async changeAttributes({ params, body }) {
      const { id } = await dwellingOf(params);
      const given = Object.fromEntries(Object.entries(body).filter(([, value]) => value !== undefined));
      return attributesView(await store.changeAttributes(id, given));
    },

    async listConsents({ params }) {
      return (await store.consents((await dwellingOf(params)).id)).map(consentView).reverse();
    },
    async giveConsent({ params, body, visit }) {
      const { id } = await dwellingOf(params);
      const { actor } = visit;
      const lives = actor.kind === 'person' && actor.role === 'household';
      if (!lives && (await hasOwnPeople(id))) {
        throw new RequestProblem(
          'not-allowed',
          'Somebody of this household signs in: only they can agree to this. Others can take it back.',
        );
      }
      const { scope, agreedBy } = body;
      return consentView(
        await store.giveConsent({ dwellingId: id, scope, agreedBy, recordedBy: nameOf(actor), givenAt: clock() }),
      );
    },
    async withdrawConsent({ params, visit }) {
      const { id } = await dwellingOf(params);
      return consentView(await store.withdrawConsent(id, params.id, clock(), nameOf(visit.actor)));
    },
  };
}

interface Asked {
  readonly search?: string | undefined;
  readonly condition?: PortfolioFilter['condition'] | undefined;
  readonly area?: string | undefined;
  readonly buildType?: string | undefined;
  readonly group?: number | undefined;
}

const attributesView = ({ area, buildType, groupIds }: Awaited<ReturnType<Store['attributes']>>) => ({
  area,
  buildType,
  groupIds: [...groupIds],
});

const consentView = ({ id, scope, agreedBy, recordedBy, givenAt, withdrawnAt, withdrawnBy }: Consent) => ({
  id,
  scope,
  agreedBy,
  recordedBy,
  givenAt: toInstant(givenAt),
  withdrawnAt: withdrawnAt === null ? null : toInstant(withdrawnAt),
  withdrawnBy,
});

/** One home as it goes out; a night that is over says nothing of tonight. */
function lineOf(row: PortfolioRow, now: number): HomeLine {
  const { slug, name, zone, area, buildType, shared, summary } = row;
  const instantOf = (time: number | null | undefined): string | null => (time == null ? null : toInstant(time));
  const tonight = summary?.tonight && summary.tonight.endsAt > now ? summary.tonight : null;
  const works = summary?.works ?? null;
  return {
    slug,
    name,
    zone,
    area,
    buildType,
    shared,
    workedOutAt: instantOf(summary?.workedOutAt),
    dataTo: instantOf(summary?.dataTo),
    tonight: tonight && {
      night: tonight.night,
      place: tonight.place,
      chance: tonight.chance,
      marginK: tonight.marginK,
      marginLowK: tonight.marginLowK,
      marginHighK: tonight.marginHighK,
      likeliestAt: toInstant(tonight.likeliestAt),
    },
    factor: works?.factor ?? null,
    verdict: works?.verdict ?? null,
    verdictPlace: works?.verdictPlace ?? null,
    assessedAt: instantOf(works?.assessedAt),
    sensors: summary?.sensors ?? null,
    sensorsToVisit: summary?.sensorsToVisit ?? null,
    visitReasons: [...(summary?.visitReasons ?? [])],
    tooCold: summary?.tooCold ?? null,
    tooMoist: summary?.tooMoist ?? null,
  };
}

const textOfMark = ({ key, id }: PortfolioMark): string => Buffer.from(JSON.stringify([key, id])).toString('base64url');

function markOf(text: string): PortfolioMark {
  try {
    const [key, id] = JSON.parse(Buffer.from(text, 'base64url').toString('utf8')) as unknown[];
    if ((typeof key === 'string' || Number.isFinite(key)) && Number.isSafeInteger(id)) {
      return { key: key as string | number, id: id as number };
    }
  } catch {
    // said below
  }
  throw new RequestProblem('bad-request', 'Begin at the first page, or send back the `next` of the page before.', [
    { pointer: '/after', detail: 'is not the next of a page' },
  ]);
}
