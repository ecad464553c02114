import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { StoreError } from '../port.ts';
import { type Connection, connect, type Database } from '../postgres/database.ts';
import { migrate } from '../postgres/migrations.ts';
import { partitionKeeper } from '../postgres/partitions.ts';
import type { MovedRow, MovedValue, MoveSource, MoveTarget } from './end.ts';
import { type MovedTable, PROGRESS_TABLE } from './tables.ts';
import { type ProgressRow, progressOf, unfinishedIn } from './unfinished.ts';

/** Ids that PostgreSQL gives out itself, so that a row with one of its own must be let in in so many words. */
const identities = ['person', 'session', 'trail', 'quarantine', 'home_group'] as const;
function sourceOn(connection: Connection, close: () => Promise<void>): MoveSource {
  const known = new Map<string, string>();

  /** The key of a table as SQL, its texts compared by their bytes as SQLite does. */
  async function keyOf({ name, key }: MovedTable): Promise<string> {
    const there = known.get(name);
    if (there !== undefined) return there;
    const texts = await connection.all<{ name: string }>(
      `SELECT attname AS name FROM pg_attribute WHERE attrelid = to_regclass($1) AND attnum > 0 AND attcollation <> 0`,
      [name],
    );
    const sql = key
      .map((column) => (texts.some((text) => text.name === column) ? `"${column}" COLLATE "C"` : `"${column}"`))
      .join(', ');
    known.set(name, sql);
    return sql;
  }

  return {
    async columns(table) {
      const rows = await connection.all<{ name: string }>(
        `SELECT attname AS name FROM pg_attribute WHERE attrelid = to_regclass($1) AND attnum > 0 AND NOT attisdropped
         ORDER BY attname COLLATE "C"`,
        [table],
      );
      return rows.map(({ name }) => name);
    },
    async page(table, columns, after, limit, only) {
      const { name, ofDwelling, leftOut } = table;
      const keys = await keyOf(table);
      const values: unknown[] = [];
      const given = (value: unknown): string => `$${values.push(value)}`;
      const conditions = [
        ...(after === null ? [] : [`(${keys}) > (${after.map(given).join(', ')})`]),
        ...(leftOut === undefined ? [] : [`NOT (${leftOut})`]),
        ...(only === null || ofDwelling === null
          ? []
          : ofDwelling === 'topic'
            ? [`starts_with(topic, ${given(`coomb/${only.slug}/`)})`]
            : [`"${ofDwelling}" = ${given(only.id)}`]),
      ];
      const rows = await connection.all<Record<string, MovedValue>>(
        `SELECT ${columns.map((column) => `"${column}"`).join(', ')} FROM "${name}"
         ${conditions.length === 0 ? '' : `WHERE ${conditions.join(' AND ')}`} ORDER BY ${keys} LIMIT ${given(limit)}`,
        values,
      );
      return rows.map((row) => columns.map((column) => row[column]!));
    },
    dwellings: () => connection.all<{ id: number; slug: string }>('SELECT id, slug FROM dwelling ORDER BY id'),
    close,
  };
}

const few = { connections: 4 } as const;

/** Gives `work` the database as it is at this moment. */
export async function withPostgresSource<T>(url: string, work: (source: MoveSource) => Promise<T>): Promise<T> {
  const db = connect({ url, ...few });
  try {
    await migrate(db);
    return await db.write(async (tx) => {
      await tx.run('SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY');
      // the other side may take long over a page
      await tx.run('SET LOCAL idle_in_transaction_session_timeout = 0');
      return await work(sourceOn(tx, async () => {}));
    });
  } finally {
    await db.close();
  }
}

/** An empty database on a server, or one into which a move is going on. */
export async function postgresTarget(url: string): Promise<MoveTarget> {
  const db = connect({ url, ...few });
  try {
    await migrate(db);
    return targetOn(db);
  } catch (error) {
    await db.close();
    throw error;
  }
}

function targetOn(db: Database): MoveTarget {
  const partitions = partitionKeeper(db);

  /** Times of rows, ms, of the tables that are cut up by them. */
  function* timesOf(table: MovedTable, columns: readonly string[], rows: readonly MovedRow[]): Generator<number> {
    const key = columns.indexOf(table.name === 'reading' ? 'time' : 'hour');
    const unit = table.name === 'reading' ? 1 : HOUR_MS;
    for (const row of rows) yield (row[key] as number) * unit;
  }

  return {
    ...sourceOn(db, () => db.close()),
    async begin(what) {
      return db.write(async (tx) => {
        if ((await tx.first(unfinishedIn('pg_tables'))) === undefined) {
          const { homes } = (await tx.first<{ homes: number }>('SELECT count(*) AS homes FROM dwelling'))!;
          if (homes > 0) {
            throw new StoreError('already-there', 'The database moved into holds homes already: give it an empty one.');
          }
          await tx.run(
            `CREATE TABLE ${PROGRESS_TABLE} (table_name text PRIMARY KEY, after text, rows bigint NOT NULL)`,
          );
          await tx.run(`INSERT INTO ${PROGRESS_TABLE} VALUES ('', $1, 0)`, [what]);
          // filled by the program when it makes the tables
          await tx.run('DELETE FROM last_dwelling; DELETE FROM installation');
        }
        const kept = await tx.all<ProgressRow>(`SELECT table_name AS name, after, rows FROM ${PROGRESS_TABLE}`);
        return progressOf(kept, what);
      });
    },
    async put(table, columns, rows, { after, rows: count }) {
      if (table.name === 'reading' || table.name === 'hour_record') {
        await partitions.ensure(table.name, timesOf(table, columns, rows));
      }
      const names = columns.map((column) => `"${column}"`).join(', ');
      const own = (identities as readonly string[]).includes(table.name) ? 'OVERRIDING SYSTEM VALUE' : '';
      await db.write(async (tx) => {
        await tx.run('SET CONSTRAINTS ALL DEFERRED');
        await tx.run(
          `INSERT INTO "${table.name}" (${names}) ${own}
           SELECT ${names} FROM json_populate_recordset(NULL::"${table.name}", $1::json)`,
          [JSON.stringify(rows.map((row) => Object.fromEntries(columns.map((name, k) => [name, asJson(row[k]!)]))))],
        );
        if (table.name === 'device_account') {
          await tx.run(
            `INSERT INTO device_name (username, dwelling_id) SELECT username, dwelling_id FROM device_account
             ON CONFLICT DO NOTHING`,
          );
        }
        await tx.run(
          `INSERT INTO ${PROGRESS_TABLE} VALUES ($1, $2, $3)
           ON CONFLICT (table_name) DO UPDATE SET after = excluded.after, rows = excluded.rows`,
          [table.name, JSON.stringify(after), count],
        );
      });
    },
    async finish() {
      await db.write(async (tx) => {
        await tx.run(
          `INSERT INTO last_dwelling SELECT coalesce(max(id), 0) FROM dwelling
           WHERE NOT EXISTS (SELECT 1 FROM last_dwelling)`,
        );
        for (const noun of ['journal', 'notice']) {
          await tx.run(
            `INSERT INTO last_id (dwelling_id, noun, id) SELECT dwelling_id, '${noun}', max(id) FROM ${noun} GROUP BY dwelling_id
             ON CONFLICT (dwelling_id, noun) DO UPDATE SET id = greatest(last_id.id, excluded.id)`,
          );
        }
        for (const table of identities) {
          await tx.run(
            `SELECT setval(pg_get_serial_sequence('${table}', 'id'), greatest((SELECT max(id) FROM ${table}), 1),
               (SELECT max(id) FROM ${table}) IS NOT NULL)`,
          );
        }
        await tx.run(
          `SELECT setval('stale_mark', greatest((SELECT max(mark) FROM stale_hour), 1), (SELECT max(mark) FROM stale_hour) IS NOT NULL)`,
        );
        await tx.run(`DROP TABLE ${PROGRESS_TABLE}`);
      });
    },
  };
}

/** Bytes as PostgreSQL reads them out of JSON; the rest is as JSON has it, to the last digit. */
const asJson = (value: MovedValue): number | string | null =>
  value instanceof Uint8Array ? `\\x${Buffer.from(value).toString('hex')}` : value;
