import { describe, expect, test } from 'vitest';
import { placeKinds } from '../../../server/analysis/vocabulary.ts';
import type { Phase } from '../../../server/store/port.ts';
import {
  appendReadings,
  DAY,
  dwellingCalled,
  forgetStaleHours,
  givenDwelling,
  givenPlace,
  givenWatchedPlace,
  HOUR,
  NEW_YEAR,
  readingOf,
  section,
  staleHoursOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

export function dwellingContract(given: UnderTest): void {
  describe('dwellings', () => {
    test('are kept as they were described, across a restart', async () => {
      const first = await givenDwelling(given.store, 'mill-cottage');
      const second = await given.store.addDwelling({ ...dwellingCalled('flat-3'), zone: 'Asia/Kathmandu' });
      await given.reopen();
      expect(await given.store.dwellings()).toEqual([first, second]);
      expect(second).toEqual({
        id: 2,
        slug: 'flat-3',
        name: 'flat-3',
        zone: 'Asia/Kathmandu',
        section,
        isExample: false,
        sectionConfirmed: false,
      });
    });

    test('have a section that is confirmed once it is kept, changed or not, and stays so', async () => {
      const { id } = await givenDwelling(given.store);
      expect(await given.store.changeDwelling(id, { name: 'Mill' })).toMatchObject({ sectionConfirmed: false });
      expect(await given.store.changeDwelling(id, { section })).toMatchObject({ section, sectionConfirmed: true });
      expect(await given.store.changeDwelling(id, { name: 'Mill House' })).toMatchObject({ sectionConfirmed: true });
      await given.reopen();
      expect(await given.store.dwellings()).toMatchObject([{ name: 'Mill House', sectionConfirmed: true }]);
    });

    test('can be changed field by field', async () => {
      const { id } = await givenDwelling(given.store);
      await given.store.changeDwelling(id, { name: 'Mill Cottage, upstairs' });
      const steeper = await given.store.changeDwelling(id, { section: { ...section, pitchDeg: 52.5 } });
      expect(steeper).toMatchObject({ slug: 'mill-cottage', name: 'Mill Cottage, upstairs' });
      expect(await given.store.dwellings()).toEqual([steeper]);
      expect(steeper.section.pitchDeg).toBe(52.5);
    });

    test('cannot share a slug', async () => {
      await givenDwelling(given.store, 'mill-cottage');
      const other = await givenDwelling(given.store, 'flat-3');
      await expect(givenDwelling(given.store, 'mill-cottage')).rejects.toMatchObject({ fault: 'already-there' });
      await expect(given.store.changeDwelling(other.id, { slug: 'mill-cottage' })).rejects.toMatchObject({
        fault: 'already-there',
      });
      expect(await given.store.dwellings()).toHaveLength(2);
    });

    test.each([
      ['a slug that would not survive in a topic', { slug: 'Mill Cottage' }],
      ['an empty slug', { slug: '' }],
      ['an empty name', { name: ' ' }],
      ['a time zone that does not exist', { zone: 'Europe/Atlantis' }],
      ['a pitch that is not a number', { section: { ...section, pitchDeg: Number.NaN } }],
    ])('are refused with %s', async (_, wrong) => {
      const { id } = await givenDwelling(given.store);
      await expect(given.store.addDwelling({ ...dwellingCalled('new'), ...wrong })).rejects.toThrow(RangeError);
      await expect(given.store.changeDwelling(id, wrong)).rejects.toThrow(RangeError);
      expect(await given.store.dwellings()).toMatchObject([dwellingCalled('mill-cottage')]);
    });

    test('that do not exist are named in the error of every method', async () => {
      const { store } = given;
      const missing = [
        store.changeDwelling(7, { name: 'x' }),
        store.places(7),
        store.addPlace({ dwellingId: 7, name: 'room', kind: 'room-air', facesPlaceId: null }),
        store.changePlace(7, 1, { name: 'x' }),
        store.sensors(7),
        store.ensureSensor(7, 'a'),
        store.changeSensor(7, 1, { name: 'x' }),
        store.placements(7),
        store.placeSensor(7, 1, null, 0),
        store.series(7),
        store.setInterval(7, 1, 600),
        store.phases(7),
        store.addPhase({ dwellingId: 7, kind: 'before', name: 'x', from: 0, to: null }),
        store.changePhase(7, 1, { name: 'x' }),
        store.removePhase(7, 1),
        store.diary(7),
        store.addDiaryEntry({ dwellingId: 7, time: 0, kind: 'note', text: 'x' }),
        store.changeDiaryEntry(7, 1, { text: 'x' }),
        store.removeDiaryEntry(7, 1),
        appendReadings(store, [readingOf({ id: 7 }, 'a', 'temperature', NEW_YEAR, 1)]),
        store.seriesColumns(7, 0, NEW_YEAR),
        store.readings(7, 1, 0, NEW_YEAR, 1),
        store.lastReadings(7),
        store.countReadings(7),
        store.conflicts(7, 1),
        store.staleHours(7, 0, 1),
        store.replaceHours(7, [], []),
        store.discardHours(7),
        store.hourRecords(7, 1, 0, NEW_YEAR),
        store.placeHours(7, 1, 0, NEW_YEAR),
        store.hourSpan(7),
      ];
      for (const [k, outcome] of (await Promise.allSettled(missing)).entries()) {
        expect(outcome, `call ${k}`).toMatchObject({ status: 'rejected', reason: { fault: 'not-found' } });
        expect(String((outcome as PromiseRejectedResult).reason), `call ${k}`).toMatch(/dwelling 7/i);
      }
    });
  });

  describe('places', () => {
    test('of every kind are numbered within their dwelling', async () => {
      const home = await givenDwelling(given.store, 'home');
      const other = await givenDwelling(given.store, 'other');
      for (const kind of placeKinds) await givenPlace(given.store, home, kind);
      expect((await givenPlace(given.store, other)).id).toBe(1);
      const places = await given.store.places(home.id);
      expect(places.map(({ id }) => id)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
      expect(places.map(({ kind }) => kind)).toEqual(placeKinds);
    });

    test('can face a room of their own dwelling only', async () => {
      const home = await givenDwelling(given.store, 'home');
      const other = await givenDwelling(given.store, 'other');
      const room = await givenPlace(given.store, home);
      const ceiling = await givenPlace(given.store, home, 'ceiling-surface');
      const facing = await given.store.changePlace(home.id, ceiling.id, { facesPlaceId: room.id });
      expect(facing.facesPlaceId).toBe(room.id);
      const stranger = { dwellingId: other.id, name: 'x', kind: 'ceiling-surface', facesPlaceId: room.id } as const;
      await expect(given.store.addPlace(stranger)).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.changePlace(home.id, ceiling.id, { facesPlaceId: 99 })).rejects.toMatchObject({
        fault: 'not-found',
      });
      await expect(given.store.changePlace(home.id, ceiling.id, { facesPlaceId: ceiling.id })).rejects.toThrow(
        RangeError,
      );
      expect(await given.store.places(home.id)).toEqual([room, facing]);
    });

    test('stand where they were put on the drawn section, and go back to the usual spot, without touching an hour', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'ceiling-surface', 'a');
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR + 10, 1)]);
      await forgetStaleHours(given.store, home);
      expect(place.position).toBeNull();
      const put = await given.store.changePlace(home.id, place.id, { position: { along: 0.25, up: 0 } });
      await given.reopen();
      expect(await given.store.places(home.id)).toEqual([put]);
      expect(put.position).toEqual({ along: 0.25, up: 0 });
      const renamed = await given.store.changePlace(home.id, place.id, { name: 'other' });
      expect(renamed.position).toEqual({ along: 0.25, up: 0 });
      expect((await given.store.changePlace(home.id, place.id, { position: null })).position).toBeNull();
      expect(await staleHoursOf(given.store, home)).toEqual([]);
      const added = await given.store.addPlace({
        dwellingId: home.id,
        name: 'edge',
        kind: 'ceiling-surface',
        facesPlaceId: null,
        position: { along: 1, up: 0 },
      });
      expect((await given.store.places(home.id)).at(-1)).toEqual(added);
    });

    test.each([
      ['a spot beyond the section', { position: { along: 1.1, up: 0 } }],
      ['a spot that is no number', { position: { along: 0.5, up: Number.NaN } }],
      ['a kind that is not in the vocabulary', { kind: 'bathroom' }],
      ['an empty name', { name: '' }],
      ['a misspelt field', { nmae: 'x' }],
      ['another dwelling', { dwellingId: 2 }],
    ])('are not changed to %s', async (_, wrong) => {
      const home = await givenDwelling(given.store);
      const room = await givenPlace(given.store, home);
      await expect(given.store.changePlace(home.id, room.id, wrong as object)).rejects.toThrow(RangeError);
      expect(await given.store.places(home.id)).toEqual([room]);
    });

    test('that change their kind or what they face make every hour of the dwelling stale; a new name makes none', async () => {
      const home = await givenDwelling(given.store);
      const { place } = await givenWatchedPlace(given.store, home, 'ceiling-surface', 'a');
      const room = await givenPlace(given.store, home, 'room-air');
      await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR + 10, 1),
        readingOf(home, 'unplaced', 'humidity', NEW_YEAR + 5 * HOUR, 1),
        readingOf(home, 'a', 'temperature', NEW_YEAR + 400 * DAY, 1),
      ]);
      const all = [NEW_YEAR, NEW_YEAR + 5 * HOUR, NEW_YEAR + 400 * DAY];
      await forgetStaleHours(given.store, home);
      await given.store.changePlace(home.id, place.id, { name: 'other' });
      expect(await staleHoursOf(given.store, home)).toEqual([]);
      await given.store.changePlace(home.id, place.id, { kind: 'control-surface' });
      expect(await staleHoursOf(given.store, home)).toEqual(all);
      await forgetStaleHours(given.store, home);
      await given.store.changePlace(home.id, place.id, { facesPlaceId: room.id });
      expect(await staleHoursOf(given.store, home)).toEqual(all);
    });
  });

  describe('sensors', () => {
    test('are made once for each key of a dwelling', async () => {
      const home = await givenDwelling(given.store, 'home');
      const other = await givenDwelling(given.store, 'other');
      const made = await given.store.ensureSensor(home.id, 'attic-1');
      expect(made).toEqual({ id: 1, dwellingId: home.id, key: 'attic-1', name: 'attic-1', model: null });
      expect(await given.store.ensureSensor(home.id, 'attic-1')).toEqual(made);
      expect((await given.store.ensureSensor(other.id, 'attic-1')).dwellingId).toBe(other.id);
      expect(await given.store.sensors(home.id)).toEqual([made]);
      await expect(given.store.ensureSensor(home.id, '')).rejects.toThrow(RangeError);
    });

    test('keep a name and a model, and can take no key that is taken', async () => {
      const home = await givenDwelling(given.store);
      const a = await given.store.ensureSensor(home.id, 'a');
      await given.store.ensureSensor(home.id, 'b');
      const named = await given.store.changeSensor(home.id, a.id, { name: 'above the bed', model: 'SHT31' });
      expect(named).toEqual({ ...a, name: 'above the bed', model: 'SHT31' });
      await expect(given.store.changeSensor(home.id, a.id, { key: 'b' })).rejects.toMatchObject({
        fault: 'already-there',
      });
      await expect(given.store.changeSensor(home.id, 9, { name: 'x' })).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.changeSensor(home.id, a.id, { name: '' })).rejects.toThrow(RangeError);
      expect((await given.store.sensors(home.id))[0]).toEqual(named);
    });

    test('that got a new key take readings under it, and readings under the old key make a new sensor', async () => {
      const home = await givenDwelling(given.store);
      await appendReadings(given.store, [readingOf(home, 'old', 'temperature', NEW_YEAR, 1)]);
      const [sensor] = await given.store.sensors(home.id);
      await given.store.changeSensor(home.id, sensor!.id, { key: 'new' });
      await appendReadings(given.store, [readingOf(home, 'new', 'temperature', NEW_YEAR + 1, 2)]);
      await appendReadings(given.store, [readingOf(home, 'old', 'temperature', NEW_YEAR + 2, 3)]);
      expect((await given.store.sensors(home.id)).map(({ key }) => key)).toEqual(['new', 'old']);
      const columns = await given.store.seriesColumns(home.id, 0, Number.POSITIVE_INFINITY);
      expect(columns.map(({ values }) => [...values])).toEqual([[1, 2], [3]]);
    });
  });

  describe('placements', () => {
    async function givenMovable() {
      const home = await givenDwelling(given.store);
      const here = await givenPlace(given.store, home, 'loft-air');
      const there = await givenPlace(given.store, home, 'room-air');
      const sensor = await given.store.ensureSensor(home.id, 'a');
      const move = (placeId: number | null, from: number) => given.store.placeSensor(home.id, sensor.id, placeId, from);
      const spans = async () =>
        (await given.store.placements(home.id)).map(({ placeId, from, to }) => [placeId, from, to]);
      return { home, here: here.id, there: there.id, sensor, move, spans };
    }

    test('make a history: a move ends what ran and begins what follows at the same instant', async () => {
      const { here, there, move, spans } = await givenMovable();
      await move(here, 1000);
      await move(there, 5000);
      await move(null, 9000);
      expect(await spans()).toEqual([
        [here, 1000, 5000],
        [there, 5000, 9000],
      ]);
    });

    test('told late are fitted in before those that begin later', async () => {
      const { here, there, move, spans } = await givenMovable();
      await move(here, 5000);
      await move(there, 1000);
      expect(await spans()).toEqual([
        [there, 1000, 5000],
        [here, 5000, null],
      ]);
      await move(here, 3000);
      expect(await spans()).toEqual([
        [there, 1000, 3000],
        [here, 3000, 5000],
        [here, 5000, null],
      ]);
    });

    test('corrected at their own beginning are replaced, and taken away leave a gap', async () => {
      const { here, there, move, spans } = await givenMovable();
      await move(here, 1000);
      await move(here, 5000);
      await move(there, 1000);
      expect(await spans()).toEqual([[there, 1000, null]]);
      await move(here, 2000);
      await move(null, 1000);
      expect(await spans()).toEqual([[here, 2000, null]]);
    });

    test('of a sensor that is already there change nothing', async () => {
      const { home, here, move, spans } = await givenMovable();
      await move(null, 500);
      expect(await spans()).toEqual([]);
      await move(here, 1000);
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)]);
      await forgetStaleHours(given.store, home);
      await move(here, 2000);
      expect(await spans()).toEqual([[here, 1000, null]]);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
    });

    test('make the hours stale in which the sensor reported, from the move to the next one', async () => {
      const { home, here, there, move } = await givenMovable();
      await move(here, 0);
      await move(there, NEW_YEAR + 3 * HOUR + 1);
      await appendReadings(
        given.store,
        [0, 1, 2, 3, 5].flatMap((hour) => [
          readingOf(home, 'a', 'temperature', NEW_YEAR + hour * HOUR, 10),
          readingOf(home, 'another', 'temperature', NEW_YEAR + 4 * HOUR + hour, 10),
        ]),
      );
      await forgetStaleHours(given.store, home);
      await move(null, NEW_YEAR + HOUR);
      expect(await staleHoursOf(given.store, home)).toEqual([1, 2, 3].map((hour) => NEW_YEAR + hour * HOUR));
    });

    test('need a sensor and a place of the dwelling, and a whole instant', async () => {
      const { home, here, sensor, move, spans } = await givenMovable();
      await expect(move(99, 0)).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.placeSensor(home.id, 99, here, 0)).rejects.toMatchObject({ fault: 'not-found' });
      const other = await givenDwelling(given.store, 'other');
      await expect(given.store.placeSensor(other.id, sensor.id, here, 0)).rejects.toMatchObject({ fault: 'not-found' });
      for (const from of [Number.NaN, 0.5, -1, Number.POSITIVE_INFINITY]) {
        await expect(move(here, from)).rejects.toThrow(RangeError);
      }
      expect(await spans()).toEqual([]);
    });
  });

  describe('the interval of a series', () => {
    test('is not known at first, can be set and forgotten, and makes the hours of the series stale', async () => {
      const home = await givenDwelling(given.store);
      await appendReadings(given.store, [
        readingOf(home, 'a', 'temperature', NEW_YEAR, 1),
        readingOf(home, 'a', 'humidity', NEW_YEAR + 7 * HOUR, 50),
      ]);
      const [temperature] = await given.store.series(home.id);
      expect(temperature).toEqual({
        id: 1,
        dwellingId: home.id,
        sensorId: 1,
        quantity: 'temperature',
        intervalSeconds: null,
      });
      await forgetStaleHours(given.store, home);
      await given.store.setInterval(home.id, 1, 900);
      expect(await staleHoursOf(given.store, home)).toEqual([NEW_YEAR]);
      expect((await given.store.series(home.id)).map(({ intervalSeconds }) => intervalSeconds)).toEqual([900, null]);
      await forgetStaleHours(given.store, home);
      await given.store.setInterval(home.id, 1, 900);
      expect(await staleHoursOf(given.store, home)).toEqual([]);
      await given.store.setInterval(home.id, 1, null);
      expect((await given.store.series(home.id))[0]!.intervalSeconds).toBeNull();
    });

    test.each([0, -600, 0.5, Number.NaN, Number.POSITIVE_INFINITY])('cannot be %s s', async (seconds) => {
      const home = await givenDwelling(given.store);
      await appendReadings(given.store, [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)]);
      await expect(given.store.setInterval(home.id, 1, seconds)).rejects.toThrow(RangeError);
      await expect(given.store.setInterval(home.id, 2, 600)).rejects.toMatchObject({ fault: 'not-found' });
    });
  });

  describe('phases and the diary', () => {
    const before = { kind: 'before', name: 'first winter', from: NEW_YEAR, to: NEW_YEAR + 60 * DAY } as const;

    test('come in order of time and can be changed and removed', async () => {
      const { id: dwellingId } = await givenDwelling(given.store);
      const after = await given.store.addPhase({
        dwellingId,
        kind: 'after',
        name: 'second winter',
        from: NEW_YEAR + 300 * DAY,
        to: null,
      });
      const first = await given.store.addPhase({ dwellingId, ...before });
      expect(await given.store.phases(dwellingId)).toEqual([first, after]);
      const ended: Phase = await given.store.changePhase(dwellingId, after.id, { to: NEW_YEAR + 400 * DAY });
      expect(ended).toEqual({ ...after, to: NEW_YEAR + 400 * DAY });
      await given.store.removePhase(dwellingId, first.id);
      expect(await given.store.phases(dwellingId)).toEqual([ended]);

      const note = await given.store.addDiaryEntry({ dwellingId, time: 5000, kind: 'note', text: 'laundry indoors' });
      const earlier = await given.store.addDiaryEntry({ dwellingId, time: 1000, kind: 'works', text: 'boards up ✓' });
      expect(await given.store.diary(dwellingId)).toEqual([earlier, note]);
      const corrected = await given.store.changeDiaryEntry(dwellingId, note.id, { time: 500 });
      expect(await given.store.diary(dwellingId)).toEqual([corrected, earlier]);
      await given.store.removeDiaryEntry(dwellingId, earlier.id);
      expect(await given.store.diary(dwellingId)).toEqual([corrected]);
    });

    test('never use the number of a removed entry again', async () => {
      const { id: dwellingId } = await givenDwelling(given.store);
      const first = await given.store.addPhase({ dwellingId, ...before });
      await given.store.removePhase(dwellingId, first.id);
      await given.reopen();
      expect((await given.store.addPhase({ dwellingId, ...before })).id).toBe(2);
      await expect(given.store.removePhase(dwellingId, first.id)).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.removeDiaryEntry(dwellingId, 1)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test.each([
      ['a kind that is not in the vocabulary', { kind: 'during' }],
      ['no name', { name: '' }],
      ['an end before its beginning', { to: NEW_YEAR - 1 }],
      ['an end at its beginning', { to: NEW_YEAR }],
      ['a beginning that is not a time', { from: Number.NaN }],
    ])('refuse a phase with %s', async (_, wrong) => {
      const { id: dwellingId } = await givenDwelling(given.store);
      const phase = await given.store.addPhase({ dwellingId, ...before });
      const wrongly = { ...before, ...wrong } as Omit<Phase, 'id' | 'dwellingId'>;
      await expect(given.store.addPhase({ dwellingId, ...wrongly })).rejects.toThrow(RangeError);
      await expect(given.store.changePhase(dwellingId, phase.id, wrongly)).rejects.toThrow(RangeError);
      expect(await given.store.phases(dwellingId)).toEqual([phase]);
    });

    test('refuse an entry without text or time', async () => {
      const { id: dwellingId } = await givenDwelling(given.store);
      const entry = { dwellingId, time: 0, kind: 'note', text: 'x' };
      await expect(given.store.addDiaryEntry({ ...entry, text: '' })).rejects.toThrow(RangeError);
      await expect(given.store.addDiaryEntry({ ...entry, time: 0.5 })).rejects.toThrow(RangeError);
      expect(await given.store.diary(dwellingId)).toEqual([]);
    });
  });
}
