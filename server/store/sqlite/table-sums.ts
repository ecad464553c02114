import { createHash } from 'node:crypto';
import type { TableSum } from '../port-backup.ts';
import type { Connection } from './database.ts';

/** Rows are handed to the digest in pieces of this many characters. */
const PIECE = 1 << 16;

const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`;

function tablesOf(db: Connection, leaveOut: readonly string[]): string[] {
  return db
    .prepare<[], string>(
      "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
    )
    .pluck()
    .all()
    .filter((name) => !leaveOut.includes(name))
    .sort();
}

/** A value as text that no other value has. */
function spelt(value: unknown): string {
  if (value === null) return 'n';
  if (value instanceof Uint8Array) return `b${createHash('sha256').update(value).digest('hex')}`;
  return typeof value === 'number' ? `r${value}` : JSON.stringify(String(value));
}

function sumUp(db: Connection, table: string): TableSum {
  const key = db
    .prepare<[string], string>('SELECT name FROM pragma_table_info(?) WHERE pk > 0 ORDER BY pk')
    .pluck()
    .all(table);
  const order = key.length === 0 ? 'rowid' : key.map(quoted).join(', ');
  const hash = createHash('sha256');
  let piece = '';
  let rows = 0;
  const all = db.prepare<[], unknown[]>(`SELECT * FROM ${quoted(table)} ORDER BY ${order}`).raw();
  for (const row of all.iterate()) {
    for (const value of row) piece += `${spelt(value)},`;
    piece += '\n';
    rows++;
    if (piece.length < PIECE) continue;
    hash.update(piece);
    piece = '';
  }
  return { rows, digest: hash.update(piece).digest('hex') };
}

/** Sums up every table but those left out. Reads the whole database: not for the process that takes readings in. */
export const tableSums = (db: Connection, leaveOut: readonly string[] = []): Record<string, TableSum> =>
  Object.fromEntries(tablesOf(db, leaveOut).map((table) => [table, sumUp(db, table)]));
