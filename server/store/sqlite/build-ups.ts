import { filled, wholeTime } from '../arguments.ts';
import type { BuildUpStore, BuildUps } from '../port.ts';
import { type Columns, merge } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, listRows, removeRow, requireDwelling, updateRow } from './rows.ts';

const columns: Columns<BuildUps> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  name: 'name',
  document: 'document',
  savedAt: 'saved_at',
};

export function buildUpStore(db: Connection): BuildUpStore {
  const nextId = idGiver(db);
  return {
    async buildUps(dwellingId) {
      return listRows(db, 'build_up', columns, dwellingId, 'id');
    },

    async addBuildUps(buildUps) {
      check(buildUps);
      return write(db, () => {
        requireDwelling(db, buildUps.dwellingId);
        const whole = { ...buildUps, id: nextId(buildUps.dwellingId, 'build_up') };
        insertRow(db, 'build_up', columns, whole);
        return whole;
      });
    },

    async changeBuildUps(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(findRow(db, 'build_up', columns, dwellingId, id), change);
        check(after);
        updateRow(db, 'build_up', columns, after);
        return after;
      });
    },

    async removeBuildUps(dwellingId, id) {
      removeRow(db, 'build_up', dwellingId, id);
    },
  };
}

function check({ name, document, savedAt }: Omit<BuildUps, 'id'>): void {
  filled('name', name);
  wholeTime('savedAt', savedAt);
  try {
    JSON.parse(document);
  } catch (error) {
    throw new RangeError('document is not JSON; it must be the text of a lining file', { cause: error });
  }
}
