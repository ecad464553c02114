/** Asks for page data of many homes in a process of its own: nothing is warm, and its memory is its own. */
import { performance } from 'node:perf_hooks';
import type { PortfolioFilter, PortfolioView } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';

const database = process.argv[2];
if (database === undefined) throw new Error('name the database');
const everything: PortfolioView = { reach: { kind: 'all' }, shared: null };
const filter: PortfolioFilter = {
  now: Date.now(),
  search: null,
  condition: null,
  area: null,
  buildType: null,
  groupId: null,
};
const peak = (): number => process.resourceUsage().maxRSS / 1024;
const before = peak();
const cases: [string, number][] = [];

/** The first page with counts and choices, as the screen asks for it. */
async function page(name: string, change: Partial<PortfolioFilter>): Promise<void> {
  const begun = performance.now();
  const store = await openSqliteStore(database!);
  try {
    const asked = { ...filter, ...change };
    const rows = await store.portfolioRows(everything, asked, { order: 'tonight', after: null, most: 51 });
    await store.portfolioCounts(everything, asked);
    await store.portfolioChoices(everything);
    if (rows.length === 0) throw new Error(`${name} found nothing`);
    cases.push([name, performance.now() - begun]);
  } finally {
    await store.close();
  }
}

await page('first page, the worst of tonight first', {});
await page('first page of those likely wet tonight', { condition: 'wet-tonight' });
await page('first page of a search', { search: 'quarry' });
process.stdout.write(JSON.stringify({ cases, grownMiB: peak() - before }));
