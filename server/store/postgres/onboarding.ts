import { accountColumns, accountTaken } from '../access-rows.ts';
import { wholeTime } from '../arguments.ts';
import {
  checkDwelling,
  checkPlace,
  type DwellingRow,
  dwellingColumns,
  placeColumns,
  placementColumns,
  sensorColumns,
  toDwellingRow,
  toPlace,
  toPlaceRow,
} from '../dwelling-rows.ts';
import { checkMapping, mappingColumns, toMapping, toMappingRow } from '../mapping-rows.ts';
import { type HomeFound, lacksOf } from '../onboarding-rows.ts';
import { type HomeWanted, type OnboardStore, type Place, StoreError } from '../port.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { insertRow, listRows } from './rows.ts';
import { markReadings } from './stale.ts';

const foundOf = async (db: Connection, dwellingId: number): Promise<HomeFound> => ({
  places: (await listRows(db, 'place', placeColumns, dwellingId, 'id')).map(toPlace),
  sensors: await listRows(db, 'sensor', sensorColumns, dwellingId, 'id'),
  placements: await listRows(db, 'placement', placementColumns, dwellingId, 'id'),
  mappings: (await listRows(db, 'mapping', mappingColumns, dwellingId, 'id')).map(toMapping),
  accounts: await listRows(db, 'device_account', accountColumns, dwellingId, 'id'),
});

/** The id of the home, made where there is none; its turn is held to the end of the transaction. */
async function ensureDwelling(tx: Transaction, { dwelling }: HomeWanted): Promise<{ id: number; isNew: boolean }> {
  const known = await tx.first<{ id: number }>('SELECT id FROM dwelling WHERE slug = $1 AND leaving = 0', [
    dwelling.slug,
  ]);
  if (known !== undefined) {
    await tx.first('SELECT 1 FROM dwelling_turn WHERE dwelling_id = $1 FOR UPDATE', [known.id]);
    return { id: known.id, isNew: false };
  }
  const { id } = (await tx.first<{ id: number }>('UPDATE last_dwelling SET id = id + 1 RETURNING id'))!;
  await insertRow<DwellingRow & { kind: string }>(
    tx,
    'dwelling',
    { ...dwellingColumns, kind: 'kind' },
    { ...toDwellingRow({ ...dwelling, id }), kind: 'home' },
  );
  return { id, isNew: true };
}

async function sort(tx: Transaction, dwellingId: number, { area, buildType, group }: HomeWanted): Promise<void> {
  await tx.run(
    `INSERT INTO home_attribute (dwelling_id, area, build_type) VALUES ($1, $2, $3)
     ON CONFLICT (dwelling_id) DO UPDATE SET area = coalesce(excluded.area, home_attribute.area),
       build_type = coalesce(excluded.build_type, home_attribute.build_type)`,
    [dwellingId, area, buildType],
  );
  if (group === null) return;
  await tx.run('INSERT INTO home_group (name) VALUES ($1) ON CONFLICT DO NOTHING', [group]);
  await tx.run(
    'INSERT INTO home_in_group (dwelling_id, group_id) SELECT $1, id FROM home_group WHERE name = $2 ON CONFLICT DO NOTHING',
    [dwellingId, group],
  );
}

export function onboardStore(db: Database): OnboardStore {
  return {
    async onboard(home, at) {
      checkDwelling(home.dwelling);
      wholeTime('at', at);
      return db.write(async (tx) => {
        const { id: dwellingId, isNew } = await ensureDwelling(tx, home);
        await sort(tx, dwellingId, home);
        const there = await foundOf(tx, dwellingId);
        const lacks = lacksOf(there, home);
        const placeIds = new Map(there.places.map(({ name, id }) => [name, id]));
        const placeId = (name: string): number => {
          const id = placeIds.get(name);
          if (id === undefined)
            throw new StoreError('not-found', `There is no place ${name} in ${home.dwelling.slug}.`);
          return id;
        };
        for (const { name, kind, faces } of lacks.places) {
          const place: Place = {
            id: await nextId(tx, dwellingId, 'place'),
            dwellingId,
            name,
            kind,
            facesPlaceId: faces === null ? null : placeId(faces),
            position: null,
          };
          checkPlace(place);
          await insertRow(tx, 'place', placeColumns, { ...toPlaceRow(place), id: place.id });
          placeIds.set(name, place.id);
        }
        const sensorIds = new Map(there.sensors.map(({ key, id }) => [key, id]));
        for (const { key, name, model } of lacks.sensors) {
          const id = await nextId(tx, dwellingId, 'sensor');
          await insertRow(tx, 'sensor', sensorColumns, { id, dwellingId, key, name, model });
          sensorIds.set(key, id);
        }
        for (const { key, place } of lacks.stands) {
          const sensorId = sensorIds.get(key)!;
          const id = await nextId(tx, dwellingId, 'placement');
          const row = { id, dwellingId, sensorId, placeId: placeId(place), from: at, to: null };
          await insertRow(tx, 'placement', placementColumns, row);
          const series = await tx.all<{ id: number }>(
            'SELECT id FROM series WHERE dwelling_id = $1 AND sensor_id = $2',
            [dwellingId, sensorId],
          );
          const ids = series.map((one) => one.id);
          await markReadings(tx, dwellingId, ids, at, Number.MAX_SAFE_INTEGER);
        }
        for (const mapping of lacks.mappings) {
          checkMapping({ ...mapping, dwellingId });
          const whole = { ...mapping, dwellingId, id: await nextId(tx, dwellingId, 'mapping') };
          await insertRow(tx, 'mapping', mappingColumns, toMappingRow(whole));
        }
        for (const account of lacks.accounts) {
          const free = await tx.run(
            'INSERT INTO device_name (username, dwelling_id) VALUES ($1, $2) ON CONFLICT DO NOTHING',
            [account.username, dwellingId],
          );
          if (free === 0) throw accountTaken(account.username);
          const id = await nextId(tx, dwellingId, 'device_account');
          const row = { ...account, id, dwellingId, createdAt: at, revokedAt: null };
          await insertRow(tx, 'device_account', accountColumns, row);
        }
        return {
          dwellingId,
          dwellings: isNew ? 1 : 0,
          places: lacks.places.length,
          sensors: lacks.sensors.length,
          mappings: lacks.mappings.length,
          accounts: lacks.accounts.map(({ username }) => username),
        };
      });
    },
  };
}
