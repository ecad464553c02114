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
import type { Noun } from '../nouns.ts';
import { type HomeFound, lacksOf, nothingFound } from '../onboarding-rows.ts';
import { type HomeWanted, type OnboardStore, type Place, StoreError } from '../port.ts';
import { int4s } from './arrays.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { nextId } from './ids.ts';
import { insertRow, insertRows, listRows } from './rows.ts';
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
  const find = () =>
    tx.first<{ id: number }>('SELECT id FROM dwelling WHERE slug = $1 AND leaving = 0', [dwelling.slug]);
  let known = await find();
  if (known === undefined) {
    // homes are added one at a time: whoever was before may have added this one
    await tx.run('SELECT 1 FROM last_dwelling FOR UPDATE');
    known = await find();
  }
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
        const there = isNew ? nothingFound : await foundOf(tx, dwellingId);
        const lacks = lacksOf(there, home);
        const placeIds = new Map(there.places.map(({ name, id }) => [name, id]));
        const placeId = (name: string): number => {
          const id = placeIds.get(name);
          if (id === undefined)
            throw new StoreError('not-found', `There is no place ${name} in ${home.dwelling.slug}.`);
          return id;
        };
        /** The first of as many ids. */
        const ids = (noun: Noun, rows: readonly unknown[]): Promise<number> | number =>
          rows.length === 0 ? 0 : nextId(tx, dwellingId, noun, rows.length);

        const firstPlace = await ids('place', lacks.places);
        const places = lacks.places.map(({ name, kind, faces }, k): Place => {
          const facesPlaceId = faces === null ? null : placeId(faces);
          const place = { id: firstPlace + k, dwellingId, name, kind, facesPlaceId, position: null };
          checkPlace(place);
          placeIds.set(name, place.id);
          return place;
        });
        await insertRows(
          tx,
          'place',
          placeColumns,
          places.map((place) => ({ ...toPlaceRow(place), id: place.id })),
        );

        const firstSensor = await ids('sensor', lacks.sensors);
        const sensors = lacks.sensors.map(({ key, name, model }, k) => ({
          id: firstSensor + k,
          dwellingId,
          key,
          name,
          model,
        }));
        await insertRows(tx, 'sensor', sensorColumns, sensors);
        const sensorIds = new Map([...there.sensors, ...sensors].map(({ key, id }) => [key, id]));

        const firstPlacement = await ids('placement', lacks.stands);
        const placements = lacks.stands.map(({ key, place }, k) => ({
          id: firstPlacement + k,
          dwellingId,
          sensorId: sensorIds.get(key)!,
          placeId: placeId(place),
          from: at,
          to: null,
        }));
        await insertRows(tx, 'placement', placementColumns, placements);
        if (placements.length > 0) {
          const series = await tx.all<{ id: number }>(
            'SELECT id FROM series WHERE dwelling_id = $1 AND sensor_id = ANY ($2::int[])',
            [dwellingId, int4s(placements.map(({ sensorId }) => sensorId))],
          );
          const moved = series.map(({ id }) => id);
          await markReadings(tx, dwellingId, moved, at, Number.MAX_SAFE_INTEGER);
        }

        const firstMapping = await ids('mapping', lacks.mappings);
        const mappings = lacks.mappings.map((mapping, k) => {
          checkMapping({ ...mapping, dwellingId });
          return toMappingRow({ ...mapping, dwellingId, id: firstMapping + k });
        });
        await insertRows(tx, 'mapping', mappingColumns, mappings);

        for (const { username } of lacks.accounts) {
          const free = await tx.run(
            'INSERT INTO device_name (username, dwelling_id) VALUES ($1, $2) ON CONFLICT DO NOTHING',
            [username, dwellingId],
          );
          if (free === 0) throw accountTaken(username);
        }
        const firstAccount = await ids('device_account', lacks.accounts);
        await insertRows(
          tx,
          'device_account',
          accountColumns,
          lacks.accounts.map((account, k) => ({
            ...account,
            id: firstAccount + k,
            dwellingId,
            createdAt: at,
            revokedAt: null,
          })),
        );
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
