import { checkMapping, type MappingRow, mappingColumns, toMapping, toMappingRow } from '../mapping-rows.ts';
import type { MappingStore } from '../port.ts';
import { merge, selectList } from '../row-columns.ts';
import type { Database } from './database.ts';
import { nextId } from './ids.ts';
import { findRow, insertRow, removeRow, updateRow } from './rows.ts';

export function mappingStore(db: Database): MappingStore {
  return {
    async mappings() {
      const rows = await db.all<MappingRow>(
        `SELECT ${selectList({ ...mappingColumns })} FROM mapping ORDER BY dwelling_id, id`,
      );
      return rows.map(toMapping);
    },

    async addMapping(mapping) {
      checkMapping(mapping);
      return db.inTurn(mapping.dwellingId, async (tx) => {
        const whole = { ...mapping, id: await nextId(tx, mapping.dwellingId, 'mapping') };
        await insertRow(tx, 'mapping', mappingColumns, toMappingRow(whole));
        return whole;
      });
    },

    async changeMapping(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(toMapping(await findRow(tx, 'mapping', mappingColumns, dwellingId, id)), change);
        checkMapping(after);
        await updateRow(tx, 'mapping', mappingColumns, toMappingRow(after));
        return after;
      });
    },

    async removeMapping(dwellingId, id) {
      await db.inTurn(dwellingId, (tx) => removeRow(tx, 'mapping', dwellingId, id));
    },
  };
}
