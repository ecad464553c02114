import { StoreError } from './port.ts';

/** A table whose rows belong to a dwelling and go with an example. */
export interface OwnedTable {
  readonly table: string;
  /** its rows refer to each other, and can only go together; such tables (places) are small */
  readonly refersToItself: boolean;
}

/** Names the dwelling, but belongs to the installation: what people did stays on record. */
const ofInstallation: readonly string[] = ['trail'];

/**
 * Puts tables that refer to others before those.
 *
 * @param parents tables with a dwelling beside those that they refer to
 */
export function inOrderOfRemoval(parents: ReadonlyMap<string, readonly string[]>): OwnedTable[] {
  const order: string[] = [];
  const visit = (table: string): void => {
    if (order.includes(table)) return;
    for (const [child, referred] of parents) if (child !== table && referred.includes(table)) visit(child);
    order.push(table);
  };
  for (const table of parents.keys()) if (!ofInstallation.includes(table)) visit(table);
  return order.map((table) => ({ table, refersToItself: parents.get(table)!.includes(table) }));
}

export const noExample = (dwellingId: number): StoreError =>
  new StoreError('not-found', `Dwelling ${dwellingId} is no example. A home is never removed.`);

export const notLeaving = (dwellingId: number): StoreError =>
  new StoreError('not-found', `Dwelling ${dwellingId} is no example that is being removed.`);
