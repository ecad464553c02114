import Database from 'better-sqlite3';
import type { StoreInspection } from '../port.ts';
import { toStoreError } from './database.ts';
import { migrations } from './migrations.ts';

/** How closely the file is read: every page, or every page and every index against its table. */
export type InspectionDepth = 'quick' | 'thorough';

const MOST_FAULTS = 20;

/**
 * Looks at a database file without changing it, whatever version its schema has.
 *
 * @throws StoreError `failed` when the file is no database, or cannot be opened
 */
export function inspectSqliteFile(path: string, depth: InspectionDepth): StoreInspection {
  try {
    const db = new Database(path, { readonly: true, fileMustExist: true });
    try {
      const check = depth === 'quick' ? 'quick_check' : 'integrity_check';
      const told = db.pragma(`${check}(${MOST_FAULTS})`) as Record<string, string>[];
      const lines = told.flatMap((row) => Object.values(row));
      return {
        schemaVersion: db.pragma('user_version', { simple: true }) as number,
        knownVersion: migrations.length,
        damage: lines.filter((line) => line !== 'ok'),
      };
    } finally {
      db.close();
    }
  } catch (error) {
    throw toStoreError(error);
  }
}
