import { buildUpColumns, checkBuildUps } from '../build-up-rows.ts';
import type { BuildUpStore } from '../port.ts';
import { merge } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, listRows, removeRow, requireDwelling, updateRow } from './rows.ts';

export function buildUpStore(db: Connection): BuildUpStore {
  const nextId = idGiver(db);
  return {
    async buildUps(dwellingId) {
      return listRows(db, 'build_up', buildUpColumns, dwellingId, 'id');
    },

    async addBuildUps(buildUps) {
      checkBuildUps(buildUps);
      return write(db, () => {
        requireDwelling(db, buildUps.dwellingId);
        const whole = { ...buildUps, id: nextId(buildUps.dwellingId, 'build_up') };
        insertRow(db, 'build_up', buildUpColumns, whole);
        return whole;
      });
    },

    async changeBuildUps(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(findRow(db, 'build_up', buildUpColumns, dwellingId, id), change);
        checkBuildUps(after);
        updateRow(db, 'build_up', buildUpColumns, after);
        return after;
      });
    },

    async removeBuildUps(dwellingId, id) {
      removeRow(db, 'build_up', dwellingId, id);
    },
  };
}
