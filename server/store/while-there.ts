import type { DwellingStore } from './port.ts';

/**
 * Does work on a dwelling, which may be removed in the middle of it: then what still wants to be written has nothing to
 * belong to, and that is no failure.
 *
 * @returns null: it was removed meanwhile
 */
export async function whileThere<T>(
  store: Pick<DwellingStore, 'dwellings'>,
  dwellingId: number,
  work: () => Promise<T>,
): Promise<T | null> {
  try {
    return await work();
  } catch (error) {
    const isThere = await store.dwellings().then(
      (all) => all.some(({ id }) => id === dwellingId),
      () => true,
    );
    if (isThere) throw error;
    return null;
  }
}
