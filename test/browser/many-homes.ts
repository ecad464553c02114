import type { HomeSummary } from '../../server/analysis/portfolio/summary.ts';
import { randomStream } from '../../server/simulate/random.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { section } from '../store/contract/given.ts';

const areas = ['Upper end', 'Lower end', 'Mill row', 'Quarry side'];
const buildTypes = ['solid wall', 'cavity wall', 'timber frame'];
const HOUR = 3_600_000;

/**
 * A line of invented figures; all that decides whether it is found is drawn, so that tests can count. It is of tomorrow:
 * lines of an hour that is over are worked out anew, and an hour may end while the homes are looked at.
 */
export function drawnSummary(random: () => number, now: number): HomeSummary {
  const chance = random() ** 3;
  const f = 0.55 + 0.35 * random();
  const visit = random() < 0.1 ? 1 + Math.floor(random() * 3) : 0;
  return {
    workedOutAt: now + 24 * HOUR,
    dataTo: Math.floor(now / HOUR) * HOUR,
    tonight:
      random() < 0.05
        ? null
        : {
            night: new Date(now).toISOString().slice(0, 10),
            endsAt: now + 14 * HOUR,
            place: 'Sloping ceiling',
            chance,
            marginK: 3 - 4 * chance,
            marginLowK: 1.6 - 4 * chance,
            marginHighK: 4.4 - 4 * chance,
            likeliestAt: now + 9 * HOUR,
          },
    works: {
      assessedAt: now,
      factor: {
        place: 'Sloping ceiling',
        phase: 'after',
        f,
        low: f - 0.03,
        high: f + 0.03,
        target: 0.75,
        standing: f - 0.03 >= 0.75 ? 'met' : f + 0.03 < 0.75 ? 'below' : 'unsure',
      },
      verdict: f >= 0.78 ? 'target-met' : random() < 0.3 ? 'no-change-shown' : 'better-short-of-target',
      verdictPlace: 'Sloping ceiling',
    },
    sensors: 6,
    sensorsToVisit: visit,
    visitReasons: visit === 0 ? [] : ['battery'],
    tooCold: random() < 0.08,
    tooMoist: random() < 0.12,
  };
}

/**
 * Fills a database with homes of invented lines, written as the program writes them. Gives the lines by slug. To be done
 * before a program opens it, which would work out the line of a home that has none yet.
 */
export async function givenManyHomes(database: string, count: number): Promise<Map<string, HomeSummary>> {
  const store = await openSqliteStore(database);
  const { uniform: random } = randomStream(20_260_114, 'many homes');
  const now = Date.now();
  const lines = new Map<string, HomeSummary>();
  try {
    const group = await store.addGroup('Terrace');
    for (let k = 1; k <= count; k++) {
      const slug = `home-${String(k).padStart(5, '0')}`;
      const { id } = await store.addDwelling({ slug, name: `${k} Bank Street`, zone: 'Europe/London', section });
      await store.changeAttributes(id, {
        area: areas[k % areas.length]!,
        buildType: buildTypes[k % buildTypes.length]!,
        groupIds: k % 5 === 0 ? [group.id] : [],
      });
      const line = drawnSummary(random, now);
      await store.keepSummary(id, line);
      lines.set(slug, line);
    }
  } finally {
    await store.close();
  }
  return lines;
}
