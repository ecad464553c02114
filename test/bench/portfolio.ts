import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { givenManyHomes } from '../browser/many-homes.ts';
import type { BenchRow } from './row.ts';

const HOMES = 10_000;
/** What a reader takes for at once, ms. No source. */
const AIM_MS = 300;
/** A page of 10,000 lines would take some 10 MB of text alone, MiB. */
const MOST_MIB = 64;

/** Page data of many homes in a process that has just opened the database, and the memory that it took. */
export async function benchPortfolio(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-portfolio-'));
  const database = join(folder, 'coomb.db');
  try {
    await givenManyHomes(database, HOMES);
    const script = fileURLToPath(new URL('./portfolio-child.ts', import.meta.url));
    const child = spawnSync(process.execPath, ['--import', 'tsx', script, database], { encoding: 'utf8' });
    if (child.status !== 0) throw new Error(child.stderr);
    const { cases, grownMiB } = JSON.parse(child.stdout) as { cases: [string, number][]; grownMiB: number };
    return [
      ...cases.map(
        ([name, ms]): BenchRow => ({
          name: `${name}, of ${HOMES} homes`,
          measured: ms,
          limit: AIM_MS,
          unit: 'ms',
          ratio: ms / AIM_MS,
          aim: 1,
          direction: 'at most',
          note: 'database just opened',
        }),
      ),
      {
        name: 'memory that all of these took at the most',
        measured: grownMiB,
        limit: MOST_MIB,
        unit: 'MiB',
        ratio: grownMiB / MOST_MIB,
        aim: 1,
        direction: 'at most',
      },
    ];
  } finally {
    rmSync(folder, { recursive: true });
  }
}
