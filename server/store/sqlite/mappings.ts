import { type Quantity, quantities, quantityNames } from '../../physics/quantities.ts';
import { unitsOf } from '../../physics/units.ts';
import { type MappedValue, type Mapping, type MappingStore, timeForms } from '../port.ts';
import { filled, finite, oneOf } from './arguments.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { type Columns, findRow, insertRow, merge, removeRow, requireDwelling, selectList, updateRow } from './rows.ts';

interface Row {
  readonly id: number;
  readonly dwellingId: number;
  readonly topicPattern: string;
  readonly sensorKey: string;
  readonly valueList: string;
  readonly timePointer: string | null;
  readonly timeForm: string | null;
}

const columns: Columns<Row> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  topicPattern: 'topic_pattern',
  sensorKey: 'sensor_key',
  valueList: 'value_list',
  timePointer: 'time_pointer',
  timeForm: 'time_form',
};

export function mappingStore(db: Connection): MappingStore {
  const nextId = idGiver(db);
  return {
    async mappings() {
      return db
        .prepare<[], Row>(`SELECT ${selectList({ ...columns })} FROM mapping ORDER BY dwelling_id, id`)
        .all()
        .map(toMapping);
    },

    async addMapping(mapping) {
      check(mapping);
      return write(db, () => {
        requireDwelling(db, mapping.dwellingId);
        const whole = { ...mapping, id: nextId(mapping.dwellingId, 'mapping') };
        insertRow(db, 'mapping', columns, toRow(whole));
        return whole;
      });
    },

    async changeMapping(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(toMapping(findRow(db, 'mapping', columns, dwellingId, id)), change);
        check(after);
        updateRow(db, 'mapping', columns, toRow(after));
        return after;
      });
    },

    async removeMapping(dwellingId, id) {
      removeRow(db, 'mapping', dwellingId, id);
    },
  };
}

function check({ topicPattern, sensorKey, values, time }: Omit<Mapping, 'id'>): void {
  filled('topicPattern', topicPattern);
  filled('sensorKey', sensorKey);
  for (const value of values) {
    oneOf('quantity', value.quantity, quantityNames);
    oneOf('unit', value.unit, unitsOf(value.quantity));
    finite('scale', value.scale);
    finite('offset', value.offset);
  }
  if (time !== null) oneOf('form', time.form, timeForms);
}

type StoredValue = Omit<MappedValue, 'quantity'> & { readonly quantity: string };

const ofWire = (wire: string): Quantity => quantityNames.find((name) => quantities[name].wire === wire)!;

function toMapping({ valueList, timePointer, timeForm, ...rest }: Row): Mapping {
  const values = (JSON.parse(valueList) as StoredValue[]).map((value) => ({
    ...value,
    quantity: ofWire(value.quantity),
  }));
  const form = timeForms.find((candidate) => candidate === timeForm);
  return { ...rest, values, time: timePointer === null || form === undefined ? null : { pointer: timePointer, form } };
}

function toRow({ values, time, ...rest }: Mapping): Row {
  const stored: StoredValue[] = values.map(({ pointer, quantity, unit, scale, offset, sensorKey }) => ({
    pointer,
    quantity: quantities[quantity].wire,
    unit,
    scale,
    offset,
    sensorKey,
  }));
  return {
    ...rest,
    valueList: JSON.stringify(stored),
    timePointer: time?.pointer ?? null,
    timeForm: time?.form ?? null,
  };
}
