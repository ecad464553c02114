import { describe, expect, test } from 'vitest';
import type { HomeSummary } from '../../../server/analysis/portfolio/summary.ts';
import {
  LIKELY_NIGHT,
  type PortfolioOrder,
  portfolioConditions,
  portfolioOrders,
  type Reach,
} from '../../../server/analysis/portfolio/vocabulary.ts';
import type { PortfolioFilter, PortfolioMark, PortfolioRow, PortfolioView } from '../../../server/store/port.ts';
import { dwellingCalled, givenDwelling, HOUR, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const NOW = NEW_YEAR + 20 * HOUR;
const everything: PortfolioView = { reach: { kind: 'all' }, shared: null };
const anything: PortfolioFilter = {
  now: NOW,
  search: null,
  condition: null,
  area: null,
  buildType: null,
  groupId: null,
};

const night = (chance: number, change: Partial<NonNullable<HomeSummary['tonight']>> = {}) => ({
  night: '2026-01-01',
  endsAt: NOW + 12 * HOUR,
  place: 'Slope',
  chance,
  marginK: 0.25,
  marginLowK: -1.125,
  marginHighK: 1.5,
  likeliestAt: NOW + 9 * HOUR,
  ...change,
});

const works = (f: number, verdict: NonNullable<HomeSummary['works']>['verdict']): HomeSummary['works'] => ({
  assessedAt: NOW - HOUR,
  factor: {
    place: 'Slope',
    phase: 'after',
    f,
    low: f - 0.02,
    high: f + 0.02,
    target: 0.75,
    standing: f + 0.02 < 0.75 ? 'below' : f - 0.02 >= 0.75 ? 'met' : 'unsure',
  },
  verdict,
  verdictPlace: 'Slope',
});

const summary = (change: Partial<HomeSummary> = {}): HomeSummary => ({
  workedOutAt: NOW - HOUR,
  dataTo: NOW - HOUR,
  tonight: night(0.1),
  works: works(0.8, 'target-met'),
  sensors: 5,
  sensorsToVisit: 0,
  visitReasons: [],
  tooCold: false,
  tooMoist: false,
  ...change,
});

export function portfolioContract(given: UnderTest): void {
  const rows = (
    filter: Partial<PortfolioFilter> = {},
    order: PortfolioOrder = 'name',
    view: PortfolioView = everything,
  ): Promise<PortfolioRow[]> =>
    given.store.portfolioRows(view, { ...anything, ...filter }, { order, after: null, most: 1000 });
  const slugs = async (...asked: Parameters<typeof rows>): Promise<string[]> =>
    (await rows(...asked)).map(({ slug }) => slug);

  /** Homes of every kind, one thing wrong with each but the last two. */
  async function givenHomes() {
    const { store } = given;
    const lines: Record<string, HomeSummary | null> = {
      wet: summary({ tonight: night(0.9) }),
      'wet-last-night': summary({ tonight: night(0.95, { endsAt: NOW }) }),
      below: summary({ works: works(0.6, 'better-short-of-target') }),
      worse: summary({ works: works(0.76, 'worse') }),
      'no-change': summary({ works: works(0.77, 'no-change-shown') }),
      visit: summary({ sensorsToVisit: 2, visitReasons: ['battery', 'silent'] }),
      cold: summary({ tooCold: true, tonight: null }),
      moist: summary({ tooMoist: true, works: null }),
      sound: summary(),
      unknown: null,
    };
    const ids = new Map<string, number>();
    for (const [slug, line] of Object.entries(lines)) {
      const { id } = await givenDwelling(store, slug);
      ids.set(slug, id);
      if (line !== null) await store.keepSummary(id, line);
    }
    return { lines, id: (slug: string): number => ids.get(slug)! };
  }

  describe('keeps a line for each home', () => {
    test('as it was given, after opening again too, and another in its place', async () => {
      const { lines, id } = await givenHomes();
      await given.reopen();
      for (const [slug, line] of Object.entries(lines)) expect(await given.store.summary(id(slug))).toEqual(line);
      const other = summary({ tonight: null, works: null, dataTo: null, tooCold: null, tooMoist: true });
      await given.store.keepSummary(id('wet'), other);
      expect(await given.store.summary(id('wet'))).toEqual(other);
      expect((await rows()).find(({ slug }) => slug === 'wet')!.summary).toEqual(other);
      await expect(given.store.keepSummary(4711, other)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('and says which are due, those never worked out first', async () => {
      const { id } = await givenHomes();
      await given.store.keepSummary(id('wet'), summary({ workedOutAt: NOW }));
      expect(await given.store.summariesBefore(NOW, 2)).toEqual([id('unknown'), id('wet-last-night')]);
      expect(await given.store.summariesBefore(NOW, 100)).not.toContain(id('wet'));
    });
  });

  describe('finds homes among many', () => {
    test('by each condition, and counts what each finds', async () => {
      await givenHomes();
      const expected = {
        'wet-tonight': ['wet'],
        'below-target': ['below'],
        'not-helped': ['no-change', 'worse'],
        'needs-visit': ['visit'],
        'too-cold': ['cold'],
        'too-moist': ['moist'],
      };
      for (const condition of portfolioConditions) {
        expect(await slugs({ condition }), condition).toEqual(expected[condition]);
      }
      expect(await given.store.portfolioCounts(everything, { ...anything, condition: 'too-cold' })).toEqual({
        homes: 10,
        'wet-tonight': 1,
        'below-target': 1,
        'not-helped': 2,
        'needs-visit': 1,
        'too-cold': 1,
        'too-moist': 1,
      });
    });

    test('a chance counts as wet from the chance at which word of it is sent', async () => {
      const { id } = await givenHomes();
      await given.store.keepSummary(id('sound'), summary({ tonight: night(LIKELY_NIGHT) }));
      await given.store.keepSummary(id('below'), summary({ tonight: night(LIKELY_NIGHT - 0.001) }));
      expect(await slugs({ condition: 'wet-tonight' })).toEqual(['sound', 'wet']);
    });

    test('by part of a name or an area in any case, letters beyond ASCII too, and takes no wildcard', async () => {
      const { store } = given;
      const { id } = await store.addDwelling({ ...dwellingCalled('muehle'), name: 'Obere MÜHLE 100%' });
      await store.addDwelling({ ...dwellingCalled('barn'), name: 'The barn' });
      await store.changeAttributes(id, { area: 'Äußere Straße' });
      expect(await slugs({ search: 'mühle' })).toEqual(['muehle']);
      expect(await slugs({ search: 'ÄUßERE' })).toEqual(['muehle']);
      expect(await slugs({ search: '100%' })).toEqual(['muehle']);
      expect(await slugs({ search: '%' })).toEqual(['muehle']);
      expect(await slugs({ search: '_' })).toEqual([]);
      expect(await slugs({ search: "'" })).toEqual([]);
    });

    test('by area, build type and group, and those of which it is not told', async () => {
      const { store } = given;
      const { id } = await givenHomes();
      const north = await store.addGroup('North');
      await store.changeAttributes(id('wet'), { area: 'Upper end', buildType: 'solid wall', groupIds: [north.id] });
      await store.changeAttributes(id('below'), { area: 'Upper end' });
      await store.changeAttributes(id('cold'), { area: 'upper End', groupIds: [north.id] });
      expect(await slugs({ area: 'Upper end' })).toEqual(['below', 'wet']);
      expect(await slugs({ area: 'Upper end', buildType: '' })).toEqual(['below']);
      expect(await slugs({ groupId: north.id })).toEqual(['cold', 'wet']);
      expect(await slugs({ area: '' })).toHaveLength(7);
      expect(await store.portfolioGroups(everything, anything, 'build-type')).toMatchObject([
        { name: 'solid wall', homes: 1, 'wet-tonight': 1, 'too-cold': 0 },
        { name: null, homes: 9, 'wet-tonight': 0, 'too-cold': 1 },
      ]);
      expect(await store.portfolioGroups(everything, { ...anything, condition: 'too-cold' }, 'area')).toMatchObject([
        { name: 'Upper end', homes: 2 },
        { name: 'upper End', homes: 1 },
        { name: null, homes: 7 },
      ]);
      expect(await store.portfolioChoices(everything)).toEqual({
        areas: ['Upper end', 'upper End'],
        buildTypes: ['solid wall'],
        groups: [north],
      });
    });

    test('the worst first, what is not known last', async () => {
      await givenHomes();
      expect((await slugs({}, 'tonight'))[0]).toBe('wet');
      // no forecast, no line, or one of a night that is over
      expect((await slugs({}, 'tonight')).slice(-3)).toEqual(['wet-last-night', 'cold', 'unknown']);
      expect((await slugs({}, 'factor')).slice(0, 3)).toEqual(['below', 'worse', 'no-change']);
      expect((await slugs({}, 'factor')).slice(-2)).toEqual(['moist', 'unknown']);
      expect((await slugs({}, 'sensors'))[0]).toBe('visit');
    });

    test('a page after the other gives every home once, in every order, while others are added', async () => {
      const { store } = given;
      const { id } = await givenHomes();
      await store.changeAttributes(id('wet'), { area: 'a' });
      for (const order of portfolioOrders) {
        const whole = (await rows({}, order)).map(({ slug }) => slug);
        const paged: string[] = [];
        let after: PortfolioMark | null = null;
        for (;;) {
          const page: PortfolioRow[] = await store.portfolioRows(everything, anything, { order, after, most: 3 });
          paged.push(...page.map(({ slug }) => slug));
          if (page.length < 3) break;
          after = page.at(-1)!.mark;
        }
        expect(paged, order).toEqual(whole);
      }
      const [first] = await store.portfolioRows(everything, anything, { order: 'name', after: null, most: 1 });
      await givenDwelling(store, 'aaa-before-all');
      const rest = await store.portfolioRows(everything, anything, { order: 'name', after: first!.mark, most: 100 });
      expect(rest.map(({ slug }) => slug)).not.toContain('aaa-before-all');
      expect(rest).toHaveLength(9);
    });
  });

  describe('keeps groups of homes', () => {
    test('each name once; one that is removed leaves its homes and nobody reaches them through it', async () => {
      const { store } = given;
      const { id } = await givenDwelling(store);
      const group = await store.addGroup('Terrace');
      await expect(store.addGroup('Terrace')).rejects.toMatchObject({ fault: 'already-there' });
      await store.changeAttributes(id, { groupIds: [group.id, group.id] });
      expect(await store.attributes(id)).toEqual({ area: null, buildType: null, groupIds: [group.id] });
      const reach: Reach = { kind: 'listed', dwellingIds: [], groupIds: [group.id] };
      await store.setReach(7, reach);
      expect(await store.isWithin(id, reach)).toBe(true);
      expect(await store.renameGroup(group.id, 'Row')).toEqual({ id: group.id, name: 'Row' });
      await store.removeGroup(group.id);
      expect(await store.groups()).toEqual([]);
      expect(await store.isWithin(id, reach)).toBe(false);
      expect((await store.reaches()).get(7)).toEqual({ kind: 'listed', dwellingIds: [], groupIds: [] });
      expect((await store.attributes(id)).groupIds).toEqual([]);
      await expect(store.changeAttributes(id, { groupIds: [group.id] })).rejects.toMatchObject({ fault: 'not-found' });
      // an id is not given again: nobody gets into a new group by an old reach
      expect((await store.addGroup('Another')).id).not.toBe(group.id);
    });
  });

  describe('keeps what a household agreed to', () => {
    const agreed = (dwellingId: number, scope: 'summary' | 'figures' | 'report', givenAt = NOW) => ({
      dwellingId,
      scope,
      agreedBy: 'Ivo',
      recordedBy: 'Maud',
      givenAt,
    });

    test('one at a time, and what was agreed before stays on record', async () => {
      const { store } = given;
      const { id } = await givenDwelling(store);
      expect(await store.consent(id)).toBeNull();
      const first = await store.giveConsent(agreed(id, 'report'));
      const second = await store.giveConsent(agreed(id, 'summary', NOW + HOUR));
      await given.reopen();
      expect(await given.store.consent(id)).toEqual(second);
      expect(await given.store.consents(id)).toEqual([
        { ...first, withdrawnAt: NOW + HOUR, withdrawnBy: 'Maud' },
        second,
      ]);
      const taken = await given.store.withdrawConsent(id, second.id, NOW + 2 * HOUR, 'Ivo');
      expect(taken).toMatchObject({ withdrawnAt: NOW + 2 * HOUR, withdrawnBy: 'Ivo' });
      expect(await given.store.withdrawConsent(id, second.id, NOW + 3 * HOUR, 'Maud')).toEqual(taken);
      expect(await given.store.consent(id)).toBeNull();
      await expect(given.store.withdrawConsent(id, 99, NOW, null)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('a home is in a list of shared ones only while enough is agreed to', async () => {
      const { store } = given;
      const open = await givenDwelling(store, 'open');
      const line = await givenDwelling(store, 'line-only');
      await givenDwelling(store, 'closed');
      await store.giveConsent(agreed(open.id, 'figures'));
      const kept = await store.giveConsent(agreed(line.id, 'summary'));
      const shared = (least: 'summary' | 'figures' | 'report'): PortfolioView => ({
        reach: { kind: 'all' },
        shared: least,
      });
      expect(await slugs({}, 'name', shared('summary'))).toEqual(['line-only', 'open']);
      expect(await slugs({}, 'name', shared('figures'))).toEqual(['open']);
      expect(await slugs({}, 'name', shared('report'))).toEqual([]);
      expect((await rows({}, 'name')).map(({ shared: scope }) => scope)).toEqual([null, 'summary', 'figures']);
      expect((await store.portfolioCounts(shared('summary'), anything)).homes).toBe(2);
      expect(await store.countUnshared({ kind: 'all' })).toBe(1);
      await store.withdrawConsent(line.id, kept.id, NOW, null);
      expect(await slugs({}, 'name', shared('summary'))).toEqual(['open']);
      expect(await store.countUnshared({ kind: 'all' })).toBe(2);
    });
  });

  describe('keeps whom a person reaches', () => {
    test('homes of a list and of groups, and no other in any answer', async () => {
      const { store } = given;
      const { id } = await givenHomes();
      const group = await store.addGroup('North');
      await store.changeAttributes(id('cold'), { groupIds: [group.id], area: 'Upper end' });
      await store.changeAttributes(id('below'), { area: 'Lower end' });
      const reach: Reach = { kind: 'listed', dwellingIds: [id('wet')], groupIds: [group.id] };
      await store.setReach(3, reach);
      await store.setReach(4, { kind: 'all' });
      await given.reopen();
      expect(await given.store.reaches()).toEqual(
        new Map<number, Reach>([
          [3, reach],
          [4, { kind: 'all' }],
        ]),
      );
      const view: PortfolioView = { reach, shared: null };
      expect(await slugs({}, 'name', view)).toEqual(['cold', 'wet']);
      expect(await slugs({ search: 'e' }, 'name', view)).toEqual(['cold', 'wet']);
      expect(await given.store.portfolioCounts(view, anything)).toMatchObject({ homes: 2, 'below-target': 0 });
      expect((await given.store.portfolioChoices(view)).areas).toEqual(['Upper end']);
      expect((await given.store.someDwellings(view, 1, 'wet')).map(({ slug }) => slug)).toEqual(['wet']);
      expect((await given.store.someDwellings(view, 1, 'cold')).map(({ slug }) => slug)).toEqual(['wet', 'cold']);
      expect((await given.store.someDwellings(view, 9, 'below')).map(({ slug }) => slug)).toEqual(['wet', 'cold']);
      expect(await given.store.isWithin(id('below'), reach)).toBe(false);
      await given.store.setReach(3, null);
      expect(await given.store.reaches()).toEqual(new Map([[4, { kind: 'all' }]]));
    });
  });

  test('finds a dwelling by its name in addresses', async () => {
    const { id } = await givenDwelling(given.store, 'barn');
    expect(await given.store.findDwelling('barn')).toMatchObject({ id, slug: 'barn', isExample: false });
    expect(await given.store.findDwelling('byre')).toBeNull();
  });
}
