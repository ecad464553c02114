import { checkMapping, type MappingRow, mappingColumns, toMapping, toMappingRow } from '../mapping-rows.ts';
import type { MappingStore } from '../port.ts';
import { merge, selectList } from '../row-columns.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { findRow, insertRow, removeRow, requireDwelling, updateRow } from './rows.ts';

export function mappingStore(db: Connection): MappingStore {
  const nextId = idGiver(db);
  return {
    async mappings() {
      return db
        .prepare<[], MappingRow>(`SELECT ${selectList({ ...mappingColumns })} FROM mapping ORDER BY dwelling_id, id`)
        .all()
        .map(toMapping);
    },

    async addMapping(mapping) {
      checkMapping(mapping);
      return write(db, () => {
        requireDwelling(db, mapping.dwellingId);
        const whole = { ...mapping, id: nextId(mapping.dwellingId, 'mapping') };
        insertRow(db, 'mapping', mappingColumns, toMappingRow(whole));
        return whole;
      });
    },

    async changeMapping(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(toMapping(findRow(db, 'mapping', mappingColumns, dwellingId, id)), change);
        checkMapping(after);
        updateRow(db, 'mapping', mappingColumns, toMappingRow(after));
        return after;
      });
    },

    async removeMapping(dwellingId, id) {
      removeRow(db, 'mapping', dwellingId, id);
    },
  };
}
