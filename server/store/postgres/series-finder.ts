import { type Quantity, quantities } from '../../physics/quantities.ts';
import { quantityOfWire } from '../wire.ts';
import { int4s } from './arrays.ts';
import type { Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { noteChange } from './journal.ts';

/** Ids of the series of a dwelling by the key of their sensor. */
export type SeriesOfDwelling = Map<string, Map<Quantity, number>>;

/** The series of dwellings as they are. */
export async function readSeries(
  tx: Transaction,
  dwellingIds: readonly number[],
): Promise<Map<number, SeriesOfDwelling>> {
  const found = new Map<number, SeriesOfDwelling>(dwellingIds.map((id) => [id, new Map()]));
  if (dwellingIds.length === 0) return found;
  const rows = await tx.all<{ dwellingId: number; key: string; wire: string; id: number }>(
    `SELECT series.dwelling_id AS "dwellingId", sensor.key, series.quantity AS wire, series.id
     FROM series JOIN sensor ON sensor.dwelling_id = series.dwelling_id AND sensor.id = series.sensor_id
     WHERE series.dwelling_id = ANY ($1::int[])`,
    [int4s(dwellingIds)],
  );
  for (const { dwellingId, key, wire, id } of rows) put(found.get(dwellingId)!, key, quantityOfWire.get(wire)!, id);
  return found;
}

export const put = (series: SeriesOfDwelling, key: string, quantity: Quantity, id: number): void => {
  const ofSensor = series.get(key);
  if (ofSensor === undefined) series.set(key, new Map([[quantity, id]]));
  else ofSensor.set(quantity, id);
};

/** Makes the series of a reading, and its sensor where there is none. To be called in the dwelling's turn. */
export async function makeSeries(
  tx: Transaction,
  dwellingId: number,
  sensorKey: string,
  quantity: Quantity,
): Promise<number> {
  const found = await tx.first<{ id: number }>('SELECT id FROM sensor WHERE dwelling_id = $1 AND key = $2', [
    dwellingId,
    sensorKey,
  ]);
  const sensorId = found?.id ?? (await nextId(tx, dwellingId, 'sensor'));
  if (found === undefined) {
    await tx.run('INSERT INTO sensor (dwelling_id, id, key, name) VALUES ($1, $2, $3, $3)', [
      dwellingId,
      sensorId,
      sensorKey,
    ]);
    await noteChange(tx, 'sensor', dwellingId, sensorId);
  }
  const id = await nextId(tx, dwellingId, 'series');
  await tx.run('INSERT INTO series (dwelling_id, id, sensor_id, quantity) VALUES ($1, $2, $3, $4)', [
    dwellingId,
    id,
    sensorId,
    quantities[quantity].wire,
  ]);
  await noteChange(tx, 'series', dwellingId, id);
  return id;
}
