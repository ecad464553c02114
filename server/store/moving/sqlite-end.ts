import { existsSync } from 'node:fs';
import { StoreError } from '../port.ts';
import { type Connection, connect, write } from '../sqlite/database.ts';
import { migrate } from '../sqlite/migrations.ts';
import { isThousandths, unitValue } from '../sqlite/value.ts';
import type { MovedRow, MovedValue, MoveSource, MoveTarget } from './end.ts';
import { type MovedTable, PROGRESS_TABLE } from './tables.ts';
import { type ProgressRow, progressOf, unfinishedIn } from './unfinished.ts';

/** Values of these are kept as thousandths where that gives them back exactly. */
const measured = (table: string, column: string): boolean =>
  column === 'value' && (table === 'reading' || table === 'conflict');

/** A value as it is given out, as SQL. */
const asGiven = (table: string, column: string): string =>
  measured(table, column) ? unitValue(`"${column}"`) : `"${column}"`;

function sourceOn(db: Connection): MoveSource {
  return {
    async columns(table) {
      return db.prepare<[string], string>('SELECT name FROM pragma_table_info(?) ORDER BY name').pluck().all(table);
    },
    async page({ name, key, ofDwelling, leftOut }, columns, after, limit, only) {
      const keys = key.map((column) => asGiven(name, column)).join(', ');
      const conditions = [
        ...(after === null ? [] : [`(${keys}) > (${after.map(() => '?').join(', ')})`]),
        ...(leftOut === undefined ? [] : [`NOT (${leftOut})`]),
        ...(only === null || ofDwelling === null
          ? []
          : [ofDwelling === 'topic' ? 'substr(topic, 1, length(?)) = ?' : `"${ofDwelling}" = ?`]),
      ];
      const own = only === null ? [] : ofDwelling === 'topic' ? Array(2).fill(`coomb/${only.slug}/`) : [only.id];
      return db
        .prepare<unknown[], MovedValue[]>(
          `SELECT ${columns.map((column) => asGiven(name, column)).join(', ')} FROM "${name}"
           ${conditions.length === 0 ? '' : `WHERE ${conditions.join(' AND ')}`} ORDER BY ${keys} LIMIT ?`,
        )
        .raw()
        .all(...(after ?? []), ...(ofDwelling === null ? [] : own), limit);
    },
    async dwellings() {
      return db.prepare<[], { id: number; slug: string }>('SELECT id, slug FROM dwelling ORDER BY id').all();
    },
    async close() {
      db.close();
    },
  };
}

/** The store in a file, as it is at this moment. @throws StoreError when there is none, or it is of another version */
export function sqliteSource(file: string): MoveSource {
  if (!existsSync(file)) throw new StoreError('not-found', `There is no file ${file}.`);
  const db = connect(file);
  try {
    migrate(db);
    // everything is read as of here, whatever is written meanwhile
    db.exec('BEGIN');
    return sourceOn(db);
  } catch (error) {
    db.close();
    throw error;
  }
}

/** A new file, or one into which a move is going on. */
export function sqliteTarget(file: string): MoveTarget {
  const db = connect(file);
  migrate(db);

  function put(table: MovedTable, columns: readonly string[], rows: readonly MovedRow[]): void {
    const value = columns.findIndex((column) => measured(table.name, column));
    const insert = (asThousandths: boolean) =>
      db.prepare(
        `INSERT INTO "${table.name}" (${columns.map((column) => `"${column}"`).join(', ')})
         VALUES (${columns.map((_, k) => (k === value && asThousandths ? 'CAST(? AS INTEGER)' : '?')).join(', ')})`,
      );
    for (const row of rows) {
      const number = value < 0 ? null : (row[value] as number);
      const thousandths = number !== null && isThousandths(number);
      const given = thousandths ? row.map((one, k) => (k === value ? Math.round(number * 1000) : one)) : row;
      insert(thousandths).run(...given);
    }
  }

  return {
    ...sourceOn(db),
    async begin(what) {
      return write(db, () => {
        if (db.prepare(unfinishedIn('sqlite_schema')).get() === undefined) {
          const homes = db.prepare<[], number>('SELECT count(*) FROM dwelling').pluck().get()!;
          if (homes > 0)
            throw new StoreError('already-there', `${file} holds homes already: name a file that is not there yet.`);
          db.exec(
            `CREATE TABLE ${PROGRESS_TABLE} (table_name TEXT PRIMARY KEY, after TEXT, rows INTEGER NOT NULL) STRICT`,
          );
          db.prepare(`INSERT INTO ${PROGRESS_TABLE} VALUES ('', ?, 0)`).run(what);
          // filled by the program when it makes the file
          for (const table of ['last_dwelling', 'installation']) db.exec(`DELETE FROM ${table}`);
        }
        const kept = db.prepare<[], ProgressRow>(`SELECT table_name AS name, after, rows FROM ${PROGRESS_TABLE}`).all();
        return progressOf(kept, what);
      });
    },
    async put(table, columns, rows, { after, rows: count }) {
      write(db, () => {
        db.pragma('defer_foreign_keys = ON');
        put(table, columns, rows);
        db.prepare(`INSERT OR REPLACE INTO ${PROGRESS_TABLE} VALUES (?, ?, ?)`).run(
          table.name,
          JSON.stringify(after),
          count,
        );
      });
    },
    async finish() {
      write(db, () => {
        if (db.prepare('SELECT 1 FROM last_dwelling').get() === undefined) {
          db.exec('INSERT INTO last_dwelling SELECT coalesce(max(id), 0) FROM dwelling');
        }
        db.exec('UPDATE last_mark SET mark = max(mark, (SELECT coalesce(max(mark), 0) FROM stale_hour))');
        db.exec(`DROP TABLE ${PROGRESS_TABLE}`);
      });
    },
  };
}
