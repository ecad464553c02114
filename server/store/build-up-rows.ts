import { filled, wholeTime } from './arguments.ts';
import type { BuildUps } from './port.ts';
import type { Columns } from './row-columns.ts';

export const buildUpColumns: Columns<BuildUps> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  name: 'name',
  document: 'document',
  savedAt: 'saved_at',
};

export function checkBuildUps({ name, document, savedAt }: Omit<BuildUps, 'id'>): void {
  filled('name', name);
  wholeTime('savedAt', savedAt);
  try {
    JSON.parse(document);
  } catch (error) {
    throw new RangeError('document is not JSON; it must be the text of a lining file', { cause: error });
  }
}
