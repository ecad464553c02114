import { createHash } from 'node:crypto';
import { StoreError } from '../port.ts';
import type { MovedRow, MovedValue, MoveSource, MoveTarget, OneDwelling } from './end.ts';
import { type MovedTable, movedTables, PAGE } from './tables.ts';

/** Where a move is. */
export interface MoveStep {
  readonly step: 'moving' | 'comparing';
  readonly table: string;
  readonly rows: number;
}

export interface MoveOrder {
  /** says which source it is, to tell a move that goes on from another one; without passwords */
  readonly sourceName: string;
  /** its dwelling alone; null: everything */
  readonly slug: string | null;
  readonly onStep?: (step: MoveStep) => void;
}

export interface Moved {
  /** rows of each table, counted and summed up in both databases and found the same */
  readonly tables: readonly { readonly name: string; readonly rows: number; readonly digest: string }[];
}

/**
 * Copies tables row by row in the order of their keys, goes on where an earlier try stopped, then counts and sums up every
 * table on both sides. Only when all agree may the program open the database that was moved into.
 *
 * @throws StoreError when the databases do not fit, or differ afterwards; the source is never changed
 */
export async function move(source: MoveSource, target: MoveTarget, order: MoveOrder): Promise<Moved> {
  const { slug, sourceName, onStep = () => {} } = order;
  const only = slug === null ? null : await dwellingOf(source, slug);
  const tables = only === null ? movedTables : movedTables.filter(({ ofDwelling }) => ofDwelling !== null);
  const known = await target.begin(`${sourceName}${only === null ? '' : `, dwelling ${only.slug}`}`);
  const columnsOf = new Map<string, string[]>();
  for (const { name } of tables) columnsOf.set(name, await commonColumns(source, target, name));

  for (const table of tables) {
    const columns = columnsOf.get(table.name)!;
    let { after, rows } = known.get(table.name) ?? { after: null, rows: 0 };
    const limit = table.page ?? PAGE;
    for (;;) {
      const page = await source.page(table, columns, after, limit, only);
      if (page.length > 0) {
        after = keyOf(table, columns, page.at(-1)!);
        rows += page.length;
        await target.put(table, columns, page, { after, rows });
      }
      onStep({ step: 'moving', table: table.name, rows });
      if (page.length < limit) break;
    }
  }

  const compared: Moved['tables'][number][] = [];
  for (const table of tables) {
    const columns = columnsOf.get(table.name)!;
    onStep({ step: 'comparing', table: table.name, rows: 0 });
    const [here, there] = await Promise.all([sumUp(source, table, columns, only), sumUp(target, table, columns, null)]);
    if (here.rows !== there.rows || here.digest !== there.digest) {
      throw new StoreError(
        'failed',
        `${table.name} differs after the move: ${here.rows} rows in the source, ${there.rows} in the database moved into. ` +
          'Stop whatever writes into the source, empty the database moved into, and begin again. The source was not changed.',
      );
    }
    compared.push({ name: table.name, ...here });
  }
  await target.finish();
  return { tables: compared };
}

async function dwellingOf(source: MoveSource, slug: string): Promise<OneDwelling> {
  const there = await source.dwellings();
  const found = there.find((one) => one.slug === slug);
  if (found !== undefined) return found;
  throw new StoreError(
    'not-found',
    `There is no dwelling ${slug}; there are ${there.map((one) => one.slug).join(', ')}.`,
  );
}

async function commonColumns(source: MoveSource, target: MoveSource, table: string): Promise<string[]> {
  const [here, there] = await Promise.all([source.columns(table), target.columns(table)]);
  const missing = here.filter((name) => !there.includes(name)).concat(there.filter((name) => !here.includes(name)));
  if (here.length > 0 && missing.length === 0) return here;
  throw new StoreError(
    'failed',
    `The tables ${table} of the two databases have not the same columns (${missing.join(', ')}): start this version of coomb once on the source, then move.`,
  );
}

const keyOf = (table: MovedTable, columns: readonly string[], row: MovedRow): MovedRow =>
  table.key.map((name) => row[columns.indexOf(name)]!);

/** A value as text that no other value has, the same for every engine. */
function spelt(value: MovedValue): string {
  if (value === null) return 'n';
  if (value instanceof Uint8Array) return `b${createHash('sha256').update(value).digest('hex')}`;
  return typeof value === 'number' ? `r${value}` : JSON.stringify(value);
}

async function sumUp(
  end: MoveSource,
  table: MovedTable,
  columns: readonly string[],
  only: OneDwelling | null,
): Promise<{ rows: number; digest: string }> {
  const hash = createHash('sha256');
  const limit = table.page ?? PAGE;
  let rows = 0;
  for (let after: MovedRow | null = null; ; ) {
    const page: MovedRow[] = await end.page(table, columns, after, limit, only);
    rows += page.length;
    hash.update(page.map((row) => `${row.map(spelt).join(',')}\n`).join(''));
    if (page.length < limit) return { rows, digest: hash.digest('hex') };
    after = keyOf(table, columns, page.at(-1)!);
  }
}
