import { filled, wholeLimit, wholeTime } from '../arguments.ts';
import {
  checkDiaryEntry,
  checkDwelling,
  checkPhase,
  checkPlace,
  type DwellingRow,
  diaryColumns,
  dwellingColumns,
  type KnownRow,
  knownColumns,
  phaseColumns,
  placeColumns,
  placementColumns,
  sensorColumns,
  seriesColumns,
  toDwellingRow,
  toKnown,
  toPlace,
  toPlaceRow,
} from '../dwelling-rows.ts';
import type { Dwelling, DwellingStore, KnownDwelling, New, Sensor } from '../port.ts';
import { type Dialect, seenBy } from '../portfolio-sql.ts';
import { type Columns, merge, selectList } from '../row-columns.ts';
import type { Connection, Database, Transaction } from './database.ts';
import { dialect } from './dialect.ts';
import { nextId } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, listRows, removeRow, updateRow } from './rows.ts';
import { markReadings } from './stale.ts';
import { changeVersions } from './turns.ts';

/** Adds a dwelling of a kind, under an id that none had before. */
export async function addDwelling(
  db: Database,
  dwelling: New<Dwelling>,
  kind: 'home' | 'example',
): Promise<KnownDwelling> {
  checkDwelling(dwelling);
  return db.write(async (tx) => {
    const { id } = (await tx.first<{ id: number }>('UPDATE last_dwelling SET id = id + 1 RETURNING id'))!;
    await insertRow<DwellingRow & { kind: string }>(
      tx,
      'dwelling',
      { ...dwellingColumns, kind: 'kind' },
      { ...toDwellingRow({ ...dwelling, id }), kind },
    );
    return { ...dwelling, id, isExample: kind === 'example', sectionConfirmed: false };
  });
}

/** Gives a row its id and keeps it. */
async function add<T extends { id: number; dwellingId: number }>(
  tx: Transaction,
  table: 'place' | 'phase' | 'diary_entry' | 'sensor' | 'placement',
  columns: Columns<T>,
  row: New<T>,
): Promise<T> {
  const { dwellingId } = row as unknown as T;
  const whole = { ...row, id: await nextId(tx, dwellingId, table) } as unknown as T;
  await insertRow(tx, table, columns, whole);
  return whole;
}

const seriesIds = async (tx: Connection, dwellingId: number, sensorId: number | null = null): Promise<number[]> =>
  (
    await tx.all<{ id: number }>(
      'SELECT id FROM series WHERE dwelling_id = $1 AND sensor_id = coalesce($2, sensor_id)',
      [dwellingId, sensorId],
    )
  ).map(({ id }) => id);

export function dwellingStore(db: Database): DwellingStore {
  return {
    async dwellings() {
      const rows = await db.all<KnownRow>(
        `SELECT ${selectList(knownColumns)} FROM dwelling WHERE leaving = 0 ORDER BY id`,
      );
      return rows.map(toKnown);
    },

    async findDwelling(slug) {
      const row = await db.first<KnownRow>(
        `SELECT ${selectList(knownColumns)} FROM dwelling WHERE leaving = 0 AND slug = $1`,
        [slug],
      );
      return row === undefined ? null : toKnown(row);
    },

    async someDwellings(view, most, slug) {
      wholeLimit(most);
      const ask = async (where: (words: Dialect) => string): Promise<KnownDwelling[]> => {
        const words = dialect();
        const sql = `SELECT ${selectList(knownColumns)} FROM dwelling WHERE leaving = 0 AND ${where(words)}`;
        return (await db.all<KnownRow>(sql, words.values)).map(toKnown);
      };
      const first = await ask((words) => `${seenBy(view, words)} ORDER BY id LIMIT ${words.place(most)}`);
      if (slug === null || first.some((one) => one.slug === slug)) return first;
      return [...first, ...(await ask((words) => `${seenBy(view, words)} AND slug = ${words.place(slug)}`))];
    },

    addDwelling: (dwelling) => addDwelling(db, dwelling, 'home'),

    async changeDwelling(id, change) {
      return db.inTurn(id, async (tx) => {
        const row = await tx.first<KnownRow>(`SELECT ${selectList(knownColumns)} FROM dwelling WHERE id = $1`, [id]);
        const before = toKnown(row!);
        const changed = {
          ...merge<Dwelling>(before, change),
          isExample: before.isExample,
          sectionConfirmed: before.sectionConfirmed || change.section !== undefined,
        };
        checkDwelling(changed);
        const columns = Object.entries(dwellingColumns) as [keyof DwellingRow, string][];
        const after = toDwellingRow(changed);
        await tx.run(
          `UPDATE dwelling SET ${columns.map(([, column], k) => `${column} = $${k + 3}`).join(', ')},
             section_confirmed = $2 WHERE id = $1`,
          [id, Number(changed.sectionConfirmed), ...columns.map(([field]) => after[field])],
        );
        await noteChange(tx, 'dwelling', id, id);
        return changed;
      });
    },

    async places(dwellingId) {
      return (await listRows(db, 'place', placeColumns, dwellingId, 'id')).map(toPlace);
    },

    async addPlace(given) {
      const place = { ...given, position: given.position ?? null };
      checkPlace(place);
      return db.inTurn(place.dwellingId, async (tx) => {
        // looked for before the new place is there: a place cannot face itself
        if (place.facesPlaceId !== null) {
          await findRow(tx, 'place', placeColumns, place.dwellingId, place.facesPlaceId);
        }
        return toPlace(await add(tx, 'place', placeColumns, toPlaceRow(place)));
      });
    },

    async changePlace(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const before = toPlace(await findRow(tx, 'place', placeColumns, dwellingId, id));
        const after = merge(before, change);
        checkPlace(after);
        if (after.facesPlaceId === id) throw new RangeError(`facesPlaceId is ${id}; a place cannot face itself`);
        await updateRow(tx, 'place', placeColumns, { ...toPlaceRow(after), id });
        if (after.kind !== before.kind || after.facesPlaceId !== before.facesPlaceId) {
          // the kind of one place decides how others are judged: every hour of the dwelling may change
          await markReadings(tx, dwellingId, await seriesIds(tx, dwellingId), 0, Number.MAX_SAFE_INTEGER);
        }
        return after;
      });
    },

    async sensors(dwellingId) {
      return listRows(db, 'sensor', sensorColumns, dwellingId, 'id');
    },

    async ensureSensor(dwellingId, key) {
      filled('key', key);
      return db.inTurn(dwellingId, async (tx) => {
        const found = await tx.first<Sensor>(
          `SELECT ${selectList(sensorColumns)} FROM sensor WHERE dwelling_id = $1 AND key = $2`,
          [dwellingId, key],
        );
        return found ?? (await add(tx, 'sensor', sensorColumns, { dwellingId, key, name: key, model: null }));
      });
    },

    async changeSensor(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(await findRow(tx, 'sensor', sensorColumns, dwellingId, id), change);
        filled('key', after.key);
        filled('name', after.name);
        await updateRow(tx, 'sensor', sensorColumns, after);
        // every process remembers which series is of which key
        await changeVersions(tx, [dwellingId]);
        return after;
      });
    },

    async placements(dwellingId) {
      return listRows(db, 'placement', placementColumns, dwellingId, 'sensor_id, from_time');
    },

    async placeSensor(dwellingId, sensorId, placeId, from) {
      wholeTime('from', from);
      await db.inTurn(dwellingId, async (tx) => {
        await findRow(tx, 'sensor', sensorColumns, dwellingId, sensorId);
        if (placeId !== null) await findRow(tx, 'place', placeColumns, dwellingId, placeId);
        const of = (await listRows(tx, 'placement', placementColumns, dwellingId, 'from_time')).filter(
          (placement) => placement.sensorId === sensorId,
        );
        const running = of.find(
          (placement) => placement.from <= from && (placement.to === null || placement.to > from),
        );
        const next = of.find((placement) => placement.from > from);
        if ((running?.placeId ?? null) === placeId) return;
        if (running !== undefined && running.from < from) {
          await updateRow(tx, 'placement', placementColumns, { ...running, to: from });
        } else if (running !== undefined) {
          await removeRow(tx, 'placement', dwellingId, running.id);
        }
        if (placeId !== null) {
          const to = next?.from ?? null;
          await add(tx, 'placement', placementColumns, { dwellingId, sensorId, placeId, from, to });
        }
        const moved = await seriesIds(tx, dwellingId, sensorId);
        await markReadings(tx, dwellingId, moved, from, next?.from ?? Number.MAX_SAFE_INTEGER);
      });
    },

    async series(dwellingId) {
      return listRows(db, 'series', seriesColumns, dwellingId, 'id');
    },

    async setInterval(dwellingId, seriesId, intervalSeconds) {
      if (intervalSeconds !== null && !(Number.isInteger(intervalSeconds) && intervalSeconds >= 1)) {
        throw new RangeError(`intervalSeconds is ${intervalSeconds} s; it must be a whole number from 1 s on, or null`);
      }
      await db.inTurn(dwellingId, async (tx) => {
        const series = await findRow(tx, 'series', seriesColumns, dwellingId, seriesId);
        if (series.intervalSeconds === intervalSeconds) return;
        await tx.run('UPDATE series SET interval_seconds = $3 WHERE dwelling_id = $1 AND id = $2', [
          dwellingId,
          seriesId,
          intervalSeconds,
        ]);
        await noteChange(tx, 'series', dwellingId, seriesId);
        await markReadings(tx, dwellingId, [seriesId], 0, Number.MAX_SAFE_INTEGER);
      });
    },

    async phases(dwellingId) {
      return listRows(db, 'phase', phaseColumns, dwellingId, 'from_time, id');
    },

    async addPhase(phase) {
      checkPhase(phase);
      return db.inTurn(phase.dwellingId, (tx) => add(tx, 'phase', phaseColumns, phase));
    },

    async changePhase(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(await findRow(tx, 'phase', phaseColumns, dwellingId, id), change);
        checkPhase(after);
        await updateRow(tx, 'phase', phaseColumns, after);
        return after;
      });
    },

    async removePhase(dwellingId, id) {
      await db.inTurn(dwellingId, (tx) => removeRow(tx, 'phase', dwellingId, id));
    },

    async diary(dwellingId) {
      return listRows(db, 'diary_entry', diaryColumns, dwellingId, 'time, id');
    },

    async addDiaryEntry(entry) {
      checkDiaryEntry(entry);
      return db.inTurn(entry.dwellingId, (tx) => add(tx, 'diary_entry', diaryColumns, entry));
    },

    async changeDiaryEntry(dwellingId, id, change) {
      return db.inTurn(dwellingId, async (tx) => {
        const after = merge(await findRow(tx, 'diary_entry', diaryColumns, dwellingId, id), change);
        checkDiaryEntry(after);
        await updateRow(tx, 'diary_entry', diaryColumns, after);
        return after;
      });
    },

    async removeDiaryEntry(dwellingId, id) {
      await db.inTurn(dwellingId, async (tx) => {
        const photos = await tx.all<{ id: number }>(
          'SELECT id FROM photo WHERE dwelling_id = $1 AND entry_id = $2 ORDER BY id',
          [dwellingId, id],
        );
        await removeRow(tx, 'diary_entry', dwellingId, id);
        // they went with their entry
        for (const photo of photos) await noteChange(tx, 'photo', dwellingId, photo.id);
      });
    },
  };
}
