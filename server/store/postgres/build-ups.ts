import { buildUpColumns, checkBuildUps } from '../build-up-rows.ts';
import type { BuildUpStore } from '../port.ts';
import { merge } from '../row-columns.ts';
import type { Database } from './database.ts';
import { nextId } from './ids.ts';
import { findRow, insertRow, listRows, removeRow, updateRow } from './rows.ts';

export function buildUpStore(db: Database): BuildUpStore {
  return {
    async buildUps(dwellingId) {
      return listRows(db, 'build_up', buildUpColumns, dwellingId, 'id');
    },

    async addBuildUps(buildUps) {
      checkBuildUps(buildUps);
      return db.inTurn(buildUps.dwellingId, async (tx) => {
        const whole = { ...buildUps, id: await nextId(tx, buildUps.dwellingId, 'build_up') };
        await insertRow(tx, 'build_up', buildUpColumns, whole);
        return whole;
      });
    },

    async changeBuildUps(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(await findRow(tx, 'build_up', buildUpColumns, dwellingId, id), change);
        checkBuildUps(after);
        await updateRow(tx, 'build_up', buildUpColumns, after);
        return after;
      });
    },

    async removeBuildUps(dwellingId, id) {
      await db.inTurn(dwellingId, (tx) => removeRow(tx, 'build_up', dwellingId, id));
    },
  };
}
