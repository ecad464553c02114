import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { dayOf, NO_ENTRY } from '../../../server/store/canonical.ts';
import { createSealer } from '../../../server/store/sealer.ts';
import { appendReadings, DAY, givenDwelling, givenWatchedPlace, HOUR, MINUTE, NEW_YEAR, readingOf } from './given.ts';
import type { UnderTest } from './under-test.ts';

const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');
const D = dayOf(NEW_YEAR);
const quiet = { error: () => {} };

/** The sums are worked out here from the documented lines, not with the program's own functions. */
export function provenanceContract(underTest: UnderTest): void {
  describe('seals', () => {
    const today = (from: number, count = 3, value = 20.5) =>
      Array.from({ length: count }, (_, k) => ({ time: from + k * 10 * MINUTE, value: value + k }));

    async function givenHome() {
      const { store } = underTest;
      const home = await givenDwelling(store);
      const { sensor } = await givenWatchedPlace(store, home, 'room-air', 'lounge');
      const send = (from: number, receivedAt: number, count = 3) =>
        appendReadings(
          store,
          today(from, count).map(({ time, value }) => readingOf(home, 'lounge', 'temperature', time, value)),
          receivedAt,
        );
      return { store, home, sensor, send };
    }

    it('sum up the readings of a day in lines that anyone can make again', async () => {
      const { store, home, sensor, send } = await givenHome();
      await send(NEW_YEAR + HOUR, NEW_YEAR + HOUR);
      await appendReadings(store, [readingOf(home, 'lounge', 'humidity', NEW_YEAR + HOUR, 55.125)], NEW_YEAR + HOUR);
      const seal = await store.sealNextDay(home.id, D + 1, NEW_YEAR + 2 * DAY);
      const humidity = `${sensor.id},humidity_pct,2026-01-01T01:00:00.000Z,55.125\n`;
      const temperature = [
        `${sensor.id},temperature_c,2026-01-01T01:00:00.000Z,20.5\n`,
        `${sensor.id},temperature_c,2026-01-01T01:10:00.000Z,21.5\n`,
        `${sensor.id},temperature_c,2026-01-01T01:20:00.000Z,22.5\n`,
      ].join('');
      const series = [
        `2026-01-01,${sensor.id},humidity_pct,1,2026-01-01T01:00:00.000Z,2026-01-01T01:00:00.000Z,${sha256(humidity)}\n`,
        `2026-01-01,${sensor.id},temperature_c,3,2026-01-01T01:00:00.000Z,2026-01-01T01:20:00.000Z,${sha256(temperature)}\n`,
      ].join('');
      expect(seal).toMatchObject({ day: D, readings: 4, readingsDigest: sha256(series), previous: NO_ENTRY });
      const { firstChange, lastChange, changesDigest, entry } = seal!;
      expect(entry).toBe(
        sha256(`2026-01-01,4,${sha256(series)},${firstChange},${lastChange},${changesDigest},${'0'.repeat(64)}\n`),
      );
      const journal = await store.journal(home.id);
      const changes = journal.map(
        ({ id, at, subject, subjectId, content }) =>
          `${id},${new Date(at).toISOString()},${subject},${subjectId},${content}\n`,
      );
      expect(changesDigest).toBe(sha256(changes.join('')));
      expect([firstChange, lastChange]).toEqual([1, journal.length]);
    });

    it('make a chain of all days since the first reading, days without one too', async () => {
      const { store, home, send } = await givenHome();
      await send(NEW_YEAR, NEW_YEAR + HOUR);
      await send(NEW_YEAR + 2 * DAY, NEW_YEAR + 2 * DAY + HOUR);
      const sealer = createSealer(
        store,
        () => NEW_YEAR + 3 * DAY + HOUR,
        quiet,
        () => {},
      );
      await sealer.sealAll();
      await sealer.close();
      expect(sealer.lastError()).toBeNull();
      const seals = await store.daySeals(home.id, 0, Number.POSITIVE_INFINITY);
      expect(seals.map(({ day, readings }) => [day - D, readings])).toEqual([
        [0, 3],
        [1, 0],
        [2, 3],
      ]);
      expect(seals[1]).toMatchObject({ previous: seals[0]!.entry, readingsDigest: sha256('') });
      expect(seals[2]!.previous).toBe(seals[1]!.entry);
      expect(await store.checkSeals(home.id)).toEqual([]);
    });

    it('wait until a day is over and a little longer', async () => {
      const { store, home, send } = await givenHome();
      await send(NEW_YEAR, NEW_YEAR + HOUR);
      let now = NEW_YEAR + DAY + 10 * MINUTE;
      const sealer = createSealer(
        store,
        () => now,
        quiet,
        () => {},
      );
      await sealer.sealAll();
      expect(await store.daySeals(home.id, 0, D + 9)).toEqual([]);
      now += 10 * MINUTE;
      await sealer.sealAll();
      await sealer.close();
      expect(await store.daySeals(home.id, 0, D + 9)).toHaveLength(1);
    });

    it('go on where they were after a restart', async () => {
      const { home, send } = await givenHome();
      await send(NEW_YEAR, NEW_YEAR + HOUR);
      const first = await underTest.store.sealNextDay(home.id, D + 1, NEW_YEAR + DAY);
      await underTest.reopen();
      const { store } = underTest;
      await appendReadings(store, [readingOf(home, 'lounge', 'temperature', NEW_YEAR + DAY, 4)], NEW_YEAR + DAY);
      const second = await store.sealNextDay(home.id, D + 2, NEW_YEAR + 2 * DAY);
      expect(second).toMatchObject({ day: D + 1, previous: first!.entry, readings: 1 });
      expect(await store.sealNextDay(home.id, D + 2, NEW_YEAR + 2 * DAY)).toBeNull();
      expect(await store.checkSeals(home.id)).toEqual([]);
    });

    it('count a reading to the day it arrived, late or early by its own clock', async () => {
      const { store, home, send } = await givenHome();
      await send(NEW_YEAR + 5 * DAY, NEW_YEAR + 5 * DAY);
      await send(NEW_YEAR + DAY, NEW_YEAR + 5 * DAY, 2);
      await send(NEW_YEAR + 9 * DAY, NEW_YEAR + 5 * DAY, 1);
      await send(NEW_YEAR + 6 * DAY, NEW_YEAR + 6 * DAY, 4);
      await send(NEW_YEAR + 9 * DAY + HOUR, NEW_YEAR + 9 * DAY + HOUR, 1);
      while ((await store.sealNextDay(home.id, D + 10, NEW_YEAR)) !== null);
      const seals = await store.daySeals(home.id, 0, D + 20);
      expect(seals.map(({ day, readings }) => [day - D, readings])).toEqual([
        [5, 6],
        [6, 4],
        [7, 0],
        [8, 0],
        [9, 1],
      ]);
      expect(await store.checkSeals(home.id)).toEqual([]);
    });

    it('count what still comes for a sealed day to the first day that is open', async () => {
      const { store, home, send } = await givenHome();
      await send(NEW_YEAR, NEW_YEAR);
      await store.sealNextDay(home.id, D + 1, NEW_YEAR);
      await send(NEW_YEAR + 3 * HOUR, NEW_YEAR + 4 * HOUR, 2);
      expect(await store.checkSeals(home.id)).toEqual([]);
      expect(await store.sealNextDay(home.id, D + 2, NEW_YEAR)).toMatchObject({ day: D + 1, readings: 2 });
    });

    it('tell readings apart that came between each other on different days', async () => {
      const { store, home } = await givenHome();
      const send = (minutes: number[], receivedAt: number) =>
        appendReadings(
          store,
          minutes.map((k) => readingOf(home, 'lounge', 'temperature', NEW_YEAR + k * MINUTE, k)),
          receivedAt,
        );
      await send([0, 10, 20, 30, 40], NEW_YEAR);
      await send([5, 15, 50], NEW_YEAR + DAY);
      await send([7, 12, 17, 60, 70], NEW_YEAR + 2 * DAY);
      await send([65], NEW_YEAR + DAY + HOUR);
      const counts = [];
      for (;;) {
        const seal = await store.sealNextDay(home.id, D + 3, NEW_YEAR);
        if (seal === null) break;
        counts.push(seal.readings);
      }
      expect(counts).toEqual([5, 4, 5]);
      expect(await store.checkSeals(home.id)).toEqual([]);
    });

    it('cost next to nothing for a file of a year', async () => {
      const { store, home } = await givenHome();
      const { id: importId } = await store.beginImport({
        dwellingId: home.id,
        at: NEW_YEAR,
        name: 'logger.csv',
        bytes: 9,
        fileDigest: sha256('logger'),
      });
      const readings = Array.from({ length: 8760 }, (_, k) =>
        readingOf(home, 'lounge', 'temperature', NEW_YEAR - k * HOUR, k / 1000),
      ).reverse();
      for (let at = 0; at < readings.length; at += 1000) {
        await store.append({
          receivedAt: NEW_YEAR,
          readings: readings.slice(at, at + 1000),
          quarantined: [],
          importId,
        });
      }
      const [series] = await store.series(home.id);
      expect(await store.arrivals(home.id, series!.id)).toEqual([
        { from: NEW_YEAR - 8759 * HOUR, to: NEW_YEAR, day: D, importId },
      ]);
      const done = await store.finishImport(home.id, importId);
      const lines = readings.map(
        ({ time, value }) => `${series!.sensorId},temperature_c,${new Date(time).toISOString()},${value}\n`,
      );
      expect(done).toMatchObject({ stored: 8760, storedDigest: sha256(lines.join('')) });
      expect((await store.sealNextDay(home.id, D + 1, NEW_YEAR))?.readings).toBe(8760);
    });

    it('put every change of the story in the journal, without the words people wrote', async () => {
      const { store } = underTest;
      const home = await givenDwelling(store);
      const { place, sensor } = await givenWatchedPlace(store, home, 'room-air', 'lounge');
      const phase = await store.addPhase({ dwellingId: home.id, kind: 'before', name: 'Mrs Ash', from: 0, to: null });
      await store.changePhase(home.id, phase.id, { to: DAY });
      await store.removePhase(home.id, phase.id);
      const note = await store.addDiaryEntry({
        dwellingId: home.id,
        time: DAY,
        kind: 'note',
        text: 'Mould behind bed',
      });
      await store.placeSensor(home.id, sensor.id, null, DAY);
      await appendReadings(store, [readingOf(home, 'lounge', 'temperature', NEW_YEAR, 9)]);
      await store.setInterval(home.id, 1, 600);
      await store.addCalibrations(home.id, [
        {
          seriesId: 1,
          from: 0,
          method: 'ice-point',
          points: [{ reading: 0.2, reference: 0 }],
          uncertainty: 0.1,
          sharedSource: null,
          sharedUncertainty: 0,
          note: '',
          madeAt: NEW_YEAR,
        },
      ]);
      await store.withdrawCalibration(home.id, 1, NEW_YEAR);
      const journal = await store.journal(home.id);
      expect(journal.map(({ subject, subjectId }) => `${subject} ${subjectId}`)).toEqual([
        `dwelling ${home.id}`,
        `place ${place.id}`,
        `sensor ${sensor.id}`,
        'placement 1',
        'phase 1',
        'phase 1',
        'phase 1',
        `diary_entry ${note.id}`,
        'placement 1',
        'series 1',
        'series 1',
        'calibration 1',
        'calibration 1',
      ]);
      expect(journal[6]!.content).toBe('null');
      expect(JSON.parse(journal[5]!.content)).toMatchObject({ kind: 'before', from_time: 0, to_time: DAY });
      expect(JSON.stringify(journal)).not.toMatch(/Ash|Mould|lounge/);
      const { textKey } = (await store.sealing(home.id))!;
      expect(await store.storyNow(home.id, textKey)).toEqual(
        expect.arrayContaining([expect.objectContaining({ subject: 'calibration', content: journal.at(-1)!.content })]),
      );
    });
  });
}
