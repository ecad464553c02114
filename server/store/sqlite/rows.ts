import { isSubject } from '../journal-content.ts';
import { StoreError } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { noteChange } from './journal.ts';

/** A row of one dwelling. */
export function findRow<T>(db: Connection, table: string, columns: Columns<T>, dwellingId: number, id: number): T {
  const row = db
    .prepare<[number, number], T>(`SELECT ${selectList(columns)} FROM ${table} WHERE dwelling_id = ? AND id = ?`)
    .get(dwellingId, id);
  if (row !== undefined) return row;
  throw new StoreError('not-found', `Dwelling ${dwellingId} has no ${table.replace('_', ' ')} ${id}.`);
}

export function listRows<T>(
  db: Connection,
  table: string,
  columns: Columns<T>,
  dwellingId: number,
  order: string,
): T[] {
  requireDwelling(db, dwellingId);
  return db
    .prepare<[number], T>(`SELECT ${selectList(columns)} FROM ${table} WHERE dwelling_id = ? ORDER BY ${order}`)
    .all(dwellingId);
}

export function insertRow<T extends object>(db: Connection, table: string, columns: Columns<T>, row: T): void {
  const fields = Object.keys(columns) as (keyof T & string)[];
  write(db, () => {
    db.prepare(
      `INSERT INTO ${table} (${fields.map((field) => columns[field]).join(', ')})
       VALUES (${fields.map(() => '?').join(', ')})`,
    ).run(fields.map((field) => row[field]));
    noteRow(db, table, row as { readonly id?: number; readonly dwellingId?: number });
  });
}

/** Writes a change down where its table is part of the evidence. */
function noteRow(db: Connection, table: string, row: { readonly id?: number; readonly dwellingId?: number }): void {
  if (isSubject(table)) noteChange(db, table, row.dwellingId ?? row.id!, row.id!);
}

export function updateRow<T extends { id: number; dwellingId: number }>(
  db: Connection,
  table: string,
  columns: Columns<T>,
  row: T,
): void {
  const fields = Object.keys(columns).filter((field) => field !== 'id' && field !== 'dwellingId') as (keyof T &
    string)[];
  write(db, () => {
    db.prepare(
      `UPDATE ${table} SET ${fields.map((field) => `${columns[field]} = ?`).join(', ')} WHERE dwelling_id = ? AND id = ?`,
    ).run(...fields.map((field) => row[field]), row.dwellingId, row.id);
    noteRow(db, table, row);
  });
}

export function removeRow(db: Connection, table: string, dwellingId: number, id: number): void {
  write(db, () => {
    const { changes } = db.prepare(`DELETE FROM ${table} WHERE dwelling_id = ? AND id = ?`).run(dwellingId, id);
    if (changes === 0) {
      throw new StoreError('not-found', `Dwelling ${dwellingId} has no ${table.replace('_', ' ')} ${id}.`);
    }
    noteRow(db, table, { dwellingId, id });
  });
}

export function requireDwelling(db: Connection, dwellingId: number): void {
  if (db.prepare('SELECT 1 FROM dwelling WHERE id = ?').get(dwellingId) === undefined) {
    throw new StoreError('not-found', `There is no dwelling ${dwellingId}.`);
  }
}
