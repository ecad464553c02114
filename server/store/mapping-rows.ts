import { quantities, quantityNames } from '../physics/quantities.ts';
import { unitsOf } from '../physics/units.ts';
import { filled, finite, oneOf } from './arguments.ts';
import { type MappedValue, type Mapping, timeForms } from './port.ts';
import type { Columns } from './row-columns.ts';
import { quantityOfWire } from './wire.ts';

export interface MappingRow {
  readonly id: number;
  readonly dwellingId: number;
  readonly topicPattern: string;
  readonly sensorKey: string;
  readonly valueList: string;
  readonly timePointer: string | null;
  readonly timeForm: string | null;
}

export const mappingColumns: Columns<MappingRow> = {
  id: 'id',
  dwellingId: 'dwelling_id',
  topicPattern: 'topic_pattern',
  sensorKey: 'sensor_key',
  valueList: 'value_list',
  timePointer: 'time_pointer',
  timeForm: 'time_form',
};

export function checkMapping({ topicPattern, sensorKey, values, time }: Omit<Mapping, 'id'>): void {
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

export function toMapping({ valueList, timePointer, timeForm, ...rest }: MappingRow): Mapping {
  const values = (JSON.parse(valueList) as StoredValue[]).map((value) => ({
    ...value,
    quantity: quantityOfWire.get(value.quantity)!,
  }));
  const form = timeForms.find((candidate) => candidate === timeForm);
  return { ...rest, values, time: timePointer === null || form === undefined ? null : { pointer: timePointer, form } };
}

export function toMappingRow({ values, time, ...rest }: Mapping): MappingRow {
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
