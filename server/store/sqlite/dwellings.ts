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
import { type Connection, write } from './database.ts';
import { dialect } from './dialect.ts';
import { idGiver } from './ids.ts';
import { noteChange } from './journal.ts';
import { findRow, insertRow, listRows, removeRow, requireDwelling, updateRow } from './rows.ts';
import type { SeriesFinder } from './series-finder.ts';
import { staleMarks } from './stale.ts';

/** Adds a dwelling of a kind, under an id that none had before. */
export const addDwelling =
  (db: Connection) =>
  async (dwelling: New<Dwelling>, kind: 'home' | 'example'): Promise<KnownDwelling> => {
    checkDwelling(dwelling);
    return write(db, () => {
      const id = db.prepare<[], number>('UPDATE last_dwelling SET id = id + 1 RETURNING id').pluck().get()!;
      insertRow<DwellingRow & { kind: string }>(
        db,
        'dwelling',
        { ...dwellingColumns, kind: 'kind' },
        { ...toDwellingRow({ ...dwelling, id }), kind },
      );
      return { ...dwelling, id, isExample: kind === 'example', sectionConfirmed: false };
    });
  };

export function dwellingStore(db: Connection, finder: SeriesFinder): DwellingStore {
  const nextId = idGiver(db);
  const stale = staleMarks(db);
  const addHome = addDwelling(db);
  const bySlug = db.prepare<[string], KnownRow>(
    `SELECT ${selectList(knownColumns)} FROM dwelling WHERE slug = ? AND leaving = 0`,
  );
  const seriesIds = (dwellingId: number): number[] =>
    db.prepare<[number], number>('SELECT id FROM series WHERE dwelling_id = ?').pluck().all(dwellingId);

  /** Gives the row its id and keeps it. */
  function add<T extends { id: number; dwellingId: number }>(
    table: 'place' | 'phase' | 'diary_entry' | 'sensor' | 'placement',
    columns: Columns<T>,
    row: New<T>,
  ): T {
    return write(db, () => {
      const { dwellingId } = row as unknown as T;
      requireDwelling(db, dwellingId);
      const whole = { ...row, id: nextId(dwellingId, table) } as unknown as T;
      insertRow(db, table, columns, whole);
      return whole;
    });
  }

  return {
    async dwellings() {
      return db
        .prepare<[], KnownRow>(`SELECT ${selectList(knownColumns)} FROM dwelling WHERE leaving = 0 ORDER BY id`)
        .all()
        .map(toKnown);
    },

    async findDwelling(slug) {
      const row = bySlug.get(slug);
      return row === undefined ? null : toKnown(row);
    },

    async someDwellings(view, most, slug) {
      wholeLimit(most);
      const ask = (where: (words: Dialect) => string): KnownDwelling[] => {
        const words = dialect();
        const sql = `SELECT ${selectList(knownColumns)} FROM dwelling WHERE leaving = 0 AND ${where(words)}`;
        return db.prepare<[object], KnownRow>(sql).all(words.values).map(toKnown);
      };
      const first = ask((words) => `${seenBy(view, words)} ORDER BY id LIMIT ${words.place(most)}`);
      if (slug === null || first.some((one) => one.slug === slug)) return first;
      return [...first, ...ask((words) => `${seenBy(view, words)} AND slug = ${words.place(slug)}`)];
    },

    addDwelling: (dwelling) => addHome(dwelling, 'home'),

    async changeDwelling(id, change) {
      return write(db, () => {
        requireDwelling(db, id);
        const row = db
          .prepare<[number], KnownRow>(`SELECT ${selectList(knownColumns)} FROM dwelling WHERE id = ?`)
          .get(id)!;
        const before = toKnown(row);
        const changed = {
          ...merge<Dwelling>(before, change),
          isExample: before.isExample,
          sectionConfirmed: before.sectionConfirmed || change.section !== undefined,
        };
        checkDwelling(changed);
        const columns = Object.entries(dwellingColumns) as [keyof DwellingRow, string][];
        const after = toDwellingRow(changed);
        db.prepare(`UPDATE dwelling SET ${columns.map(([, column]) => `${column} = ?`).join(', ')} WHERE id = ?`).run(
          ...columns.map(([field]) => after[field]),
          id,
        );
        db.prepare('UPDATE dwelling SET section_confirmed = ? WHERE id = ?').run(Number(changed.sectionConfirmed), id);
        noteChange(db, 'dwelling', id, id);
        return changed;
      });
    },

    async places(dwellingId) {
      return listRows(db, 'place', placeColumns, dwellingId, 'id').map(toPlace);
    },

    async addPlace(given) {
      const place = { ...given, position: given.position ?? null };
      checkPlace(place);
      return write(db, () => {
        // looked for before the new place is there: a place cannot face itself
        if (place.facesPlaceId !== null) {
          requireDwelling(db, place.dwellingId);
          findRow(db, 'place', placeColumns, place.dwellingId, place.facesPlaceId);
        }
        return toPlace(add('place', placeColumns, toPlaceRow(place)));
      });
    },

    async changePlace(dwellingId, id, change) {
      return write(db, () => {
        const before = toPlace(findRow(db, 'place', placeColumns, dwellingId, id));
        const after = merge(before, change);
        checkPlace(after);
        if (after.facesPlaceId === id) throw new RangeError(`facesPlaceId is ${id}; a place cannot face itself`);
        updateRow(db, 'place', placeColumns, { ...toPlaceRow(after), id });
        if (after.kind !== before.kind || after.facesPlaceId !== before.facesPlaceId) {
          // the kind of one place decides how others are judged: every hour of the dwelling may change
          stale.markReadings(dwellingId, seriesIds(dwellingId), 0, Number.MAX_SAFE_INTEGER);
        }
        return after;
      });
    },

    async sensors(dwellingId) {
      return listRows(db, 'sensor', sensorColumns, dwellingId, 'id');
    },

    async ensureSensor(dwellingId, key) {
      filled('key', key);
      const found = db
        .prepare<[number, string], Sensor>(
          `SELECT ${selectList(sensorColumns)} FROM sensor WHERE dwelling_id = ? AND key = ?`,
        )
        .get(dwellingId, key);
      return found ?? add('sensor', sensorColumns, { dwellingId, key, name: key, model: null });
    },

    async changeSensor(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(findRow(db, 'sensor', sensorColumns, dwellingId, id), change);
        filled('key', after.key);
        filled('name', after.name);
        updateRow(db, 'sensor', sensorColumns, after);
        finder.forget();
        return after;
      });
    },

    async placements(dwellingId) {
      return listRows(db, 'placement', placementColumns, dwellingId, 'sensor_id, from_time');
    },

    async placeSensor(dwellingId, sensorId, placeId, from) {
      wholeTime('from', from);
      write(db, () => {
        findRow(db, 'sensor', sensorColumns, dwellingId, sensorId);
        if (placeId !== null) findRow(db, 'place', placeColumns, dwellingId, placeId);
        const of = listRows(db, 'placement', placementColumns, dwellingId, 'from_time').filter(
          (placement) => placement.sensorId === sensorId,
        );
        const running = of.find(
          (placement) => placement.from <= from && (placement.to === null || placement.to > from),
        );
        const next = of.find((placement) => placement.from > from);
        if ((running?.placeId ?? null) === placeId) return;
        if (running !== undefined && running.from < from) {
          updateRow(db, 'placement', placementColumns, { ...running, to: from });
        } else if (running !== undefined) {
          removeRow(db, 'placement', dwellingId, running.id);
        }
        if (placeId !== null) {
          const to = next?.from ?? null;
          add('placement', placementColumns, { dwellingId, sensorId, placeId, from, to });
        }
        const moved = db
          .prepare<[number, number], number>('SELECT id FROM series WHERE dwelling_id = ? AND sensor_id = ?')
          .pluck()
          .all(dwellingId, sensorId);
        stale.markReadings(dwellingId, moved, from, next?.from ?? Number.MAX_SAFE_INTEGER);
      });
    },

    async series(dwellingId) {
      return listRows(db, 'series', seriesColumns, dwellingId, 'id');
    },

    async setInterval(dwellingId, seriesId, intervalSeconds) {
      if (intervalSeconds !== null && !(Number.isInteger(intervalSeconds) && intervalSeconds >= 1)) {
        throw new RangeError(`intervalSeconds is ${intervalSeconds} s; it must be a whole number from 1 s on, or null`);
      }
      write(db, () => {
        const series = findRow(db, 'series', seriesColumns, dwellingId, seriesId);
        if (series.intervalSeconds === intervalSeconds) return;
        db.prepare('UPDATE series SET interval_seconds = ? WHERE dwelling_id = ? AND id = ?').run(
          intervalSeconds,
          dwellingId,
          seriesId,
        );
        noteChange(db, 'series', dwellingId, seriesId);
        stale.markReadings(dwellingId, [seriesId], 0, Number.MAX_SAFE_INTEGER);
      });
    },

    async phases(dwellingId) {
      return listRows(db, 'phase', phaseColumns, dwellingId, 'from_time, id');
    },

    async addPhase(phase) {
      checkPhase(phase);
      return add('phase', phaseColumns, phase);
    },

    async changePhase(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(findRow(db, 'phase', phaseColumns, dwellingId, id), change);
        checkPhase(after);
        updateRow(db, 'phase', phaseColumns, after);
        return after;
      });
    },

    async removePhase(dwellingId, id) {
      removeRow(db, 'phase', dwellingId, id);
    },

    async diary(dwellingId) {
      return listRows(db, 'diary_entry', diaryColumns, dwellingId, 'time, id');
    },

    async addDiaryEntry(entry) {
      checkDiaryEntry(entry);
      return add('diary_entry', diaryColumns, entry);
    },

    async changeDiaryEntry(dwellingId, id, change) {
      return write(db, () => {
        const after = merge(findRow(db, 'diary_entry', diaryColumns, dwellingId, id), change);
        checkDiaryEntry(after);
        updateRow(db, 'diary_entry', diaryColumns, after);
        return after;
      });
    },

    async removeDiaryEntry(dwellingId, id) {
      write(db, () => {
        const photos = db
          .prepare<[number, number], number>('SELECT id FROM photo WHERE dwelling_id = ? AND entry_id = ?')
          .pluck()
          .all(dwellingId, id);
        removeRow(db, 'diary_entry', dwellingId, id);
        // they went with their entry
        for (const photo of photos) noteChange(db, 'photo', dwellingId, photo);
      });
    },
  };
}
