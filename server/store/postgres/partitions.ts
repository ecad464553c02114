import { HOUR_MS } from '../../analysis/vocabulary.ts';
import type { Connection, Database } from './database.ts';
import { sqlState } from './errors.ts';

/**
 * Readings and hour records lie in partitions by time, whole calendar months of UTC. One for each end of time is made with
 * the schema, for clocks that are far off; those between are made by the store before it writes into them. Nothing takes a
 * partition away but {@link detachPartition}, which nothing in the program calls by itself.
 */
interface Partitioned {
  /** months in a partition */
  readonly months: number;
  /** what the partition key counts, ms */
  readonly unitMs: number;
}

export type PartitionedTable = 'reading' | 'hour_record';

const partitioned: Record<PartitionedTable, Partitioned> = {
  reading: { months: 1, unitMs: 1 },
  // a thirtieth of the rows
  hour_record: { months: 3, unitMs: HOUR_MS },
};

const FIRST_YEAR = 2000;
const END_YEAR = 2100;

interface Partition {
  readonly name: string;
  /** in units of the partition key; the end is exclusive */
  readonly from: number;
  readonly to: number;
}

/** The partition of a time; null: one of the two that are made with the schema. */
function partitionOf(table: PartitionedTable, timeMs: number): Partition | null {
  const { months, unitMs } = partitioned[table];
  const date = new Date(timeMs);
  const year = date.getUTCFullYear();
  if (year < FIRST_YEAR || year >= END_YEAR) return null;
  const month = Math.floor(date.getUTCMonth() / months) * months;
  return {
    name: `${table}_${year}_${String(month + 1).padStart(2, '0')}`,
    from: Date.UTC(year, month) / unitMs,
    to: Date.UTC(year, month + months) / unitMs,
  };
}

/** SQL that makes the partitions of both ends of time. */
export const edgePartitions: string = Object.entries(partitioned)
  .map(([table, { unitMs }]) => {
    const first = Date.UTC(FIRST_YEAR, 0) / unitMs;
    const end = Date.UTC(END_YEAR, 0) / unitMs;
    return `CREATE TABLE ${table}_before_${FIRST_YEAR} PARTITION OF ${table} FOR VALUES FROM (MINVALUE) TO (${first});
            CREATE TABLE ${table}_from_${END_YEAR} PARTITION OF ${table} FOR VALUES FROM (${end}) TO (MAXVALUE);`;
  })
  .join('\n');

/** Keys of advisory locks: any two numbers, the same in every process. */
export const LOCKS = { family: 0x636f6f6d, migrations: 1, partitions: 2 } as const;

/** Names of the partitions that are attached. */
export async function partitionsOf(connection: Connection, table: PartitionedTable): Promise<string[]> {
  const rows = await connection.all<{ name: string }>(
    `SELECT child.relname AS name FROM pg_inherits JOIN pg_class AS child ON child.oid = inhrelid
     WHERE inhparent = to_regclass($1) ORDER BY name`,
    [table],
  );
  return rows.map(({ name }) => name);
}

export interface PartitionKeeper {
  /** Makes what partitions these times need. To be called before the transaction that writes them. */
  ensure(table: PartitionedTable, timesMs: Iterable<number>): Promise<void>;
  /** Does `write` once more where the partition it needs was detached since it was last looked for. */
  withPartitions<T>(table: PartitionedTable, timesMs: Iterable<number>, write: () => Promise<T>): Promise<T>;
}

export function partitionKeeper(db: Database): PartitionKeeper {
  const known = new Set<string>();

  /**
   * A table of the same form is made first and then attached: others can go on reading and writing the partitions there are
   * meanwhile.
   */
  async function make(table: PartitionedTable, { name, from, to }: Partition): Promise<void> {
    await db.write(async (tx) => {
      await tx.run('SELECT pg_advisory_xact_lock($1, $2)', [LOCKS.family, LOCKS.partitions]);
      if ((await partitionsOf(tx, table)).includes(name)) return;
      await tx.run(`CREATE TABLE ${name} (LIKE ${table} INCLUDING ALL)`);
      // spares the server a look at all its rows, of which there are none
      const key = table === 'reading' ? 'time' : 'hour';
      await tx.run(`ALTER TABLE ${name} ADD CONSTRAINT ${name}_bounds CHECK (${key} >= ${from} AND ${key} < ${to})`);
      await tx.run(`ALTER TABLE ${table} ATTACH PARTITION ${name} FOR VALUES FROM (${from}) TO (${to})`);
      await tx.run(`ALTER TABLE ${name} DROP CONSTRAINT ${name}_bounds`);
    });
  }

  async function ensure(table: PartitionedTable, timesMs: Iterable<number>): Promise<void> {
    const wanted = new Map<string, Partition>();
    for (const time of timesMs) {
      const partition = partitionOf(table, time);
      if (partition !== null && !known.has(partition.name)) wanted.set(partition.name, partition);
    }
    if (wanted.size === 0) return;
    for (const name of await partitionsOf(db, table)) known.add(name);
    for (const [name, partition] of wanted) {
      if (!known.has(name)) await make(table, partition);
      known.add(name);
    }
  }

  return {
    ensure,
    async withPartitions(table, timesMs, write) {
      const times = [...timesMs];
      await ensure(table, times);
      try {
        return await write();
      } catch (error) {
        // check_violation: no partition of the table takes the row
        if (sqlState(error) !== '23514' || !/no partition of relation/.test((error as Error).message)) throw error;
        known.clear();
        await ensure(table, times);
        return await write();
      }
    },
  };
}

/**
 * Takes one month of readings, or one quarter of hour records, out of its table and keeps it as a table of its own, named
 * `detached_` and the name it had: nothing is deleted. For a landlord who has agreed to keep readings for so long and no
 * longer. Days that were sealed can no longer be checked where their readings are gone.
 *
 * @param name the partition, such as reading_2024_11, spelled out by whoever asks for it
 * @throws RangeError when no partition of that name is attached
 */
export async function detachPartition(db: Database, table: PartitionedTable, name: string): Promise<void> {
  await db.write(async (tx) => {
    await tx.run('SELECT pg_advisory_xact_lock($1, $2)', [LOCKS.family, LOCKS.partitions]);
    const attached = await partitionsOf(tx, table);
    if (!attached.includes(name)) {
      throw new RangeError(`name is '${name}'; it must be a partition of ${table}: ${attached.join(', ')}`);
    }
    await tx.run(`ALTER TABLE ${table} DETACH PARTITION "${name}"`);
    await tx.run(`ALTER TABLE "${name}" RENAME TO "detached_${name}"`);
  });
}
