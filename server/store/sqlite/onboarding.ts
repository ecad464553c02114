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
import { type OnboardStore, type Place, StoreError } from '../port.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { insertRow, listRows } from './rows.ts';
import { staleMarks } from './stale.ts';

export function onboardStore(db: Connection): OnboardStore {
  const nextId = idGiver(db);
  const stale = staleMarks(db);
  const found = (dwellingId: number): HomeFound => ({
    places: listRows(db, 'place', placeColumns, dwellingId, 'id').map(toPlace),
    sensors: listRows(db, 'sensor', sensorColumns, dwellingId, 'id'),
    placements: listRows(db, 'placement', placementColumns, dwellingId, 'id'),
    mappings: listRows(db, 'mapping', mappingColumns, dwellingId, 'id').map(toMapping),
    accounts: listRows(db, 'device_account', accountColumns, dwellingId, 'id'),
  });
  function ensureDwelling({ dwelling }: Parameters<OnboardStore['onboard']>[0]): { id: number; isNew: boolean } {
    const known = db
      .prepare<[string], number>('SELECT id FROM dwelling WHERE slug = ? AND leaving = 0')
      .pluck()
      .get(dwelling.slug);
    if (known !== undefined) return { id: known, isNew: false };
    const id = db.prepare<[], number>('UPDATE last_dwelling SET id = id + 1 RETURNING id').pluck().get()!;
    insertRow<DwellingRow & { kind: string }>(
      db,
      'dwelling',
      { ...dwellingColumns, kind: 'kind' },
      { ...toDwellingRow({ ...dwelling, id }), kind: 'home' },
    );
    return { id, isNew: true };
  }
  function sort(dwellingId: number, area: string | null, buildType: string | null, group: string | null): void {
    db.prepare(
      `INSERT INTO home_attribute (dwelling_id, area, build_type) VALUES (?, ?, ?)
       ON CONFLICT DO UPDATE SET area = coalesce(excluded.area, area), build_type = coalesce(excluded.build_type, build_type)`,
    ).run(dwellingId, area, buildType);
    if (group === null) return;
    db.prepare('INSERT INTO home_group (name) VALUES (?) ON CONFLICT DO NOTHING').run(group);
    db.prepare(
      'INSERT INTO home_in_group (dwelling_id, group_id) SELECT ?, id FROM home_group WHERE name = ? ON CONFLICT DO NOTHING',
    ).run(dwellingId, group);
  }

  return {
    async onboard(home, at) {
      checkDwelling(home.dwelling);
      wholeTime('at', at);
      return write(db, () => {
        const { id: dwellingId, isNew } = ensureDwelling(home);
        sort(dwellingId, home.area, home.buildType, home.group);
        const there = found(dwellingId);
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
            id: nextId(dwellingId, 'place'),
            dwellingId,
            name,
            kind,
            facesPlaceId: faces === null ? null : placeId(faces),
            position: null,
          };
          checkPlace(place);
          insertRow(db, 'place', placeColumns, { ...toPlaceRow(place), id: place.id });
          placeIds.set(name, place.id);
        }
        const sensorIds = new Map(there.sensors.map(({ key, id }) => [key, id]));
        for (const { key, name, model } of lacks.sensors) {
          const id = nextId(dwellingId, 'sensor');
          insertRow(db, 'sensor', sensorColumns, { id, dwellingId, key, name, model });
          sensorIds.set(key, id);
        }
        for (const { key, place } of lacks.stands) {
          const sensorId = sensorIds.get(key)!;
          const id = nextId(dwellingId, 'placement');
          const row = { id, dwellingId, sensorId, placeId: placeId(place), from: at, to: null };
          insertRow(db, 'placement', placementColumns, row);
          const series = db
            .prepare<[number, number], number>('SELECT id FROM series WHERE dwelling_id = ? AND sensor_id = ?')
            .pluck()
            .all(dwellingId, sensorId);
          stale.markReadings(dwellingId, series, at, Number.MAX_SAFE_INTEGER);
        }
        for (const mapping of lacks.mappings) {
          checkMapping({ ...mapping, dwellingId });
          const whole = { ...mapping, dwellingId, id: nextId(dwellingId, 'mapping') };
          insertRow(db, 'mapping', mappingColumns, toMappingRow(whole));
        }
        for (const account of lacks.accounts) {
          if (db.prepare('SELECT 1 FROM device_account WHERE username = ?').get(account.username) !== undefined) {
            throw accountTaken(account.username);
          }
          const id = nextId(dwellingId, 'device_account');
          insertRow(db, 'device_account', accountColumns, {
            ...account,
            id,
            dwellingId,
            createdAt: at,
            revokedAt: null,
          });
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
