/** What a table held: its rows in order of their key, summed up. */
export interface TableSum {
  readonly rows: number;
  /** SHA-256 in hexadecimal */
  readonly digest: string;
}

/** What a backup says of itself. Times are UTC ms. */
export interface BackupNote {
  readonly madeAt: number;
  /** when it was read back and found equal to the store at one moment */
  readonly verifiedAt: number;
  /** version of the program that made it */
  readonly program: string;
  readonly schemaVersion: number;
  readonly readings: number;
  readonly tables: Readonly<Record<string, TableSum>>;
  /** last link of each dwelling's chain of sealed days */
  readonly seals: readonly { readonly dwelling: string; readonly day: number; readonly entry: string }[];
  /** other files of the data folder that it holds, such as the key that signs evidence packs */
  readonly files: readonly string[];
}

export interface Backup extends BackupNote {
  readonly path: string;
  readonly bytes: number;
}

/** Where a backup goes. */
export type BackupDestination =
  /** under a name that nothing has yet */
  | { readonly file: string }
  /** named for a moment (UTC ms), and numbered where another was made in the same second */
  | { readonly folder: string; readonly moment: number };

/** What a backup is made of. */
export interface BackupOrder {
  readonly database: string;
  /** files beside the database that belong in it, where they exist */
  readonly beside: readonly string[];
  readonly to: BackupDestination;
  readonly program: string;
}
