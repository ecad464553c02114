import type { MovedTable } from './tables.ts';

/** A value of a row: instants and counts are numbers, JSON is its text. */
export type MovedValue = number | string | Uint8Array | null;
export type MovedRow = readonly MovedValue[];

/** One dwelling, where not everything is moved. */
export interface OneDwelling {
  readonly id: number;
  readonly slug: string;
}

/** How far the move of a table has come. */
export interface TableProgress {
  /** key of the last row that is there; null: none is */
  readonly after: MovedRow | null;
  readonly rows: number;
}

/** Where rows are moved from, all as they were at one moment. */
export interface MoveSource {
  /** Columns of a table, by name. */
  columns(table: string): Promise<string[]>;
  /** Rows in the order of their key, texts by their bytes, behind one; at most `limit`. */
  page(
    table: MovedTable,
    columns: readonly string[],
    after: MovedRow | null,
    limit: number,
    only: OneDwelling | null,
  ): Promise<MovedRow[]>;
  dwellings(): Promise<OneDwelling[]>;
  close(): Promise<void>;
}

/** Where they are moved to. */
export interface MoveTarget extends MoveSource {
  /**
   * Begins a move into an empty database, or goes on with the same one.
   *
   * @param what says which source and which dwelling
   * @throws StoreError when another program, another home or another move is in it
   */
  begin(what: string): Promise<ReadonlyMap<string, TableProgress>>;
  /** Writes rows and how far that is, both or neither. */
  put(table: MovedTable, columns: readonly string[], rows: readonly MovedRow[], progress: TableProgress): Promise<void>;
  /** Takes up the counters where those of the source were, and lets the program open the database. */
  finish(): Promise<void>;
}
