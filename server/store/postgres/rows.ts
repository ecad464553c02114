import { isSubject } from '../journal-content.ts';
import { StoreError } from '../port.ts';
import { type Columns, selectList } from '../row-columns.ts';
import type { Connection, Transaction } from './database.ts';
import { noteChanges } from './journal.ts';

const notFound = (table: string, dwellingId: number, id: number): StoreError =>
  new StoreError('not-found', `Dwelling ${dwellingId} has no ${table.replace('_', ' ')} ${id}.`);

/** Whether a number can be an id; what cannot is nobody's, and no error of the engine's. */
export const isId = (id: number): boolean => Number.isInteger(id) && id >= 1 && id <= 0x7fff_ffff;

/** A row of one dwelling. */
export async function findRow<T>(
  db: Connection,
  table: string,
  columns: Columns<T>,
  dwellingId: number,
  id: number,
): Promise<T> {
  const row =
    isId(dwellingId) && isId(id)
      ? await db.first<T>(`SELECT ${selectList(columns)} FROM ${table} WHERE dwelling_id = $1 AND id = $2`, [
          dwellingId,
          id,
        ])
      : undefined;
  if (row !== undefined) return row;
  throw notFound(table, dwellingId, id);
}

export async function listRows<T>(
  db: Connection,
  table: string,
  columns: Columns<T>,
  dwellingId: number,
  order: string,
): Promise<T[]> {
  await requireDwelling(db, dwellingId);
  return db.all<T>(`SELECT ${selectList(columns)} FROM ${table} WHERE dwelling_id = $1 ORDER BY ${order}`, [
    dwellingId,
  ]);
}

export const insertRow = <T extends object>(
  tx: Transaction,
  table: string,
  columns: Columns<T>,
  row: T,
): Promise<void> => insertRows(tx, table, columns, [row]);

/** Rows of one dwelling, in one statement: each costs a way to the server and back. */
export async function insertRows<T extends object>(
  tx: Transaction,
  table: string,
  columns: Columns<T>,
  rows: readonly T[],
): Promise<void> {
  if (rows.length === 0) return;
  const fields = Object.keys(columns) as (keyof T & string)[];
  const places = rows.map((_, row) => `(${fields.map((_, k) => `$${row * fields.length + k + 1}`).join(', ')})`);
  await tx.run(
    `INSERT INTO ${table} (${fields.map((field) => columns[field]).join(', ')}) VALUES ${places.join(', ')}`,
    rows.flatMap((row) => fields.map((field) => row[field])),
  );
  await noteRows(tx, table, rows as readonly NotedRow[]);
}

interface NotedRow {
  readonly id?: number;
  readonly dwellingId?: number;
}

/** Writes changes down where their table is part of the evidence. */
async function noteRows(tx: Transaction, table: string, rows: readonly NotedRow[]): Promise<void> {
  const [first] = rows;
  if (first === undefined || !isSubject(table)) return;
  await noteChanges(
    tx,
    table,
    first.dwellingId ?? first.id!,
    rows.map(({ id }) => id!),
  );
}

export async function updateRow<T extends { id: number; dwellingId: number }>(
  tx: Transaction,
  table: string,
  columns: Columns<T>,
  row: T,
): Promise<void> {
  const fields = Object.keys(columns).filter((field) => field !== 'id' && field !== 'dwellingId') as (keyof T &
    string)[];
  await tx.run(
    `UPDATE ${table} SET ${fields.map((field, k) => `${columns[field]} = $${k + 3}`).join(', ')}
     WHERE dwelling_id = $1 AND id = $2`,
    [row.dwellingId, row.id, ...fields.map((field) => row[field])],
  );
  await noteRows(tx, table, [row]);
}

export async function removeRow(tx: Transaction, table: string, dwellingId: number, id: number): Promise<void> {
  const removed = isId(id)
    ? await tx.run(`DELETE FROM ${table} WHERE dwelling_id = $1 AND id = $2`, [dwellingId, id])
    : 0;
  if (removed === 0) throw notFound(table, dwellingId, id);
  await noteRows(tx, table, [{ dwellingId, id }]);
}

/** @throws StoreError `not-found` */
export async function requireDwelling(db: Connection, dwellingId: number): Promise<void> {
  if (isId(dwellingId) && (await db.first('SELECT 1 FROM dwelling WHERE id = $1', [dwellingId])) !== undefined) return;
  throw new StoreError('not-found', `There is no dwelling ${dwellingId}.`);
}
