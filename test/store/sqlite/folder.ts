import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { onTestFinished } from 'vitest';

/** Path of a database that does not exist yet, in a folder that goes away after the test. */
export function newDatabasePath(): string {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-sqlite-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return join(folder, 'coomb.sqlite');
}

/** Looks at or does something to a database file behind the back of the store. */
export function withDatabase<T>(path: string, work: (db: Database.Database) => T): T {
  const db = new Database(path);
  try {
    return work(db);
  } finally {
    db.close();
  }
}
