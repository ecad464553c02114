import Database from 'better-sqlite3';
import { StoreError } from '../port.ts';

export type Connection = Database.Database;

/** Longest wait for another process's write before giving up, ms. */
export const BUSY_TIMEOUT_MS = 10_000;

/**
 * Opens the file for durable writing: a commit that has returned is on disk (WAL with synchronous FULL syncs the log at
 * every commit).
 */
export function connect(path: string): Connection {
  const db = new Database(path, { timeout: BUSY_TIMEOUT_MS });
  try {
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = FULL');
    db.pragma('foreign_keys = ON');
    // without it REPLACE would delete a reading unseen by the trigger that forbids it
    db.pragma('recursive_triggers = ON');
    db.pragma('journal_size_limit = 67108864');
    db.pragma('cache_size = -6144');
    db.pragma('temp_store = MEMORY');
    return withKnownStatements(db);
  } catch (error) {
    db.close();
    throw error;
  }
}

/** Statements kept: more than the program has, so that only those put together for a request ever go. */
const MOST_STATEMENTS = 500;

/**
 * Compiles each statement once: methods may prepare theirs where they use them, which a home asks for thousands of times
 * a minute. A statement with one value or one array a row is another one than that with objects, as `pluck` and `raw`
 * change the statement they are called on.
 */
function withKnownStatements(db: Connection): Connection {
  const compile = db.prepare.bind(db);
  const known = new Map<string, Database.Statement>();
  const shapes = ['pluck', 'raw'] as const;
  function prepare(sql: string, shape: (typeof shapes)[number] | null = null): Database.Statement {
    const key = `${shape} ${sql}`;
    const there = known.get(key);
    if (there !== undefined) return there;
    const statement = compile(sql);
    if (shape !== null) statement[shape]();
    else for (const other of shapes) statement[other] = () => prepare(sql, other);
    known.set(key, statement);
    const oldest = known.keys().next();
    if (known.size > MOST_STATEMENTS && !oldest.done) known.delete(oldest.value);
    return statement;
  }
  db.prepare = ((sql: string) => prepare(sql)) as Connection['prepare'];
  return db;
}

/** Runs `work` in one write transaction: all of it is kept, or none. */
export function write<T>(db: Connection, work: () => T): T {
  return db.transaction(work).immediate();
}

/**
 * The same for what is worked out from readings and worked out again where it is missing: the commit waits for no disk,
 * which a worn card is spared, and is on it with the next that does. After a power cut the database is as it was before.
 *
 * @source sqlite.org/pragma.html, synchronous: in WAL mode NORMAL keeps transactions whole, and the last ones not for sure
 */
export function writeDerived<T>(db: Connection, work: () => T): T {
  const synchronous = db.pragma('synchronous', { simple: true });
  db.pragma('synchronous = NORMAL');
  try {
    return write(db, work);
  } finally {
    db.pragma(`synchronous = ${synchronous}`);
  }
}

const explanations: [prefix: string, fault: StoreError['fault'], message: string][] = [
  [
    'SQLITE_FULL',
    'full',
    'The disk is full: nothing was written. Free some space; nothing that was acknowledged is lost.',
  ],
  ['SQLITE_READONLY', 'read-only', 'The database cannot be written to: check the permissions of its file and folder.'],
  ['SQLITE_BUSY', 'busy', 'Another process has held the database for too long: stop it, or try again.'],
  ['SQLITE_LOCKED', 'busy', 'The database is locked by another task: try again.'],
  ['SQLITE_CORRUPT', 'failed', 'The database file is damaged: keep a copy of it and restore a backup.'],
  ['SQLITE_NOTADB', 'failed', 'The file is not a database of this program: check the path.'],
  [
    'SQLITE_CANTOPEN',
    'failed',
    'The database file cannot be opened: check that its folder exists and can be written to.',
  ],
  ['SQLITE_IOERR', 'failed', 'The disk could not be read or written: check the disk and its connection.'],
  ['SQLITE_CONSTRAINT_UNIQUE', 'already-there', 'There is one of that name already.'],
  ['SQLITE_CONSTRAINT_PRIMARYKEY', 'already-there', 'There is one with that key already.'],
  ['SQLITE_CONSTRAINT_FOREIGNKEY', 'not-found', 'Something that this refers to does not exist in the dwelling.'],
];

/** What the driver takes for a programmer's mistake. */
const misuses = new Map([
  ['The database connection is not open', 'The store has been closed.'],
  [
    'Cannot open database because the directory does not exist',
    'The folder of the database does not exist: make it, or check the path.',
  ],
]);

/** The one crossing from the engine's errors to the port's. Anything that is not the engine's own passes unchanged. */
export function toStoreError(error: unknown): unknown {
  if (error instanceof Database.SqliteError) {
    const known = explanations.find(([prefix]) => error.code.startsWith(prefix));
    return known === undefined
      ? new StoreError('failed', `The database could not do this: ${error.message}`, error)
      : new StoreError(known[1], `${known[2]} (${error.message})`, error);
  }
  const told = error instanceof TypeError ? misuses.get(error.message) : undefined;
  return told === undefined ? error : new StoreError('failed', told, error);
}
