import { describe, expect, test } from 'vitest';
import {
  appendReadings,
  dwellingCalled,
  fullRecord,
  givenDwelling,
  givenWatchedPlace,
  HOUR,
  MINUTE,
  NEW_YEAR,
  readingOf,
} from './given.ts';
import type { UnderTest } from './under-test.ts';

const noFault = { name: 'StoreError', fault: 'not-found' };

export function exampleContract(given: UnderTest): void {
  /** Fills a dwelling with one of everything that a dwelling can have. */
  async function fill(dwelling: Awaited<ReturnType<typeof givenDwelling>>): Promise<void> {
    const { store } = given;
    const { place, sensor } = await givenWatchedPlace(store, dwelling, 'room-air', 'one');
    await store.addPlace({
      dwellingId: dwelling.id,
      name: 'slope',
      kind: 'ceiling-surface',
      facesPlaceId: place.id,
    });
    await appendReadings(
      store,
      Array.from({ length: 50 }, (_, k) =>
        readingOf(dwelling, 'one', 'temperature', NEW_YEAR + k * MINUTE, 20 + k / 8),
      ),
    );
    await appendReadings(store, [readingOf(dwelling, 'one', 'temperature', NEW_YEAR, 99)]);
    const [series] = await store.series(dwelling.id);
    await store.addCalibrations(dwelling.id, [
      {
        seriesId: series!.id,
        from: NEW_YEAR,
        method: 'ice-point',
        points: [{ reading: 0.2, reference: 0 }],
        uncertainty: 0.1,
        sharedSource: null,
        sharedUncertainty: 0,
        note: '',
        madeAt: NEW_YEAR,
      },
    ]);
    const stale = await store.staleHours(dwelling.id, 0, 1);
    await store.replaceHours(dwelling.id, stale, [fullRecord(place.id, stale[0]!.hour)]);
    await appendReadings(store, [readingOf(dwelling, 'one', 'humidity', NEW_YEAR + 3 * HOUR, 50)]);
    await store.addPhase({ dwellingId: dwelling.id, kind: 'before', name: 'b', from: NEW_YEAR, to: null });
    const entry = await store.addDiaryEntry({ dwellingId: dwelling.id, time: NEW_YEAR, kind: 'note', text: 'x' });
    const photo = await store.addPhoto(
      {
        dwellingId: dwelling.id,
        takenAt: null,
        sha256: 'ab'.repeat(32),
        width: 2,
        height: 1,
        addedAt: NEW_YEAR,
      },
      { full: Uint8Array.of(1, 2), thumbnail: Uint8Array.of(3) },
    );
    await store.setEntryPhotos(dwelling.id, entry.id, [{ id: photo.id, alt: 'the slope' }]);
    await store.addMapping({
      dwellingId: dwelling.id,
      topicPattern: `${dwelling.slug}/x`,
      sensorKey: 'x',
      values: [],
      time: null,
    });
    await store.recordTrail({
      at: NEW_YEAR,
      personName: 'Ada',
      dwellingId: dwelling.id,
      action: 'add-phase',
      detail: {},
    });
    const account = {
      username: dwelling.slug,
      passwordHash: 'ff',
      sensorKey: null,
      createdAt: NEW_YEAR,
      revokedAt: null,
    };
    await store.addDeviceAccount({ dwellingId: dwelling.id, ...account });
    expect(sensor.key).toBe('one');
  }

  /** All that can be read of a dwelling through the port. */
  async function everything({ id }: { readonly id: number }): Promise<unknown> {
    const { store } = given;
    const [place] = await store.places(id);
    return {
      dwelling: (await store.dwellings()).find((dwelling) => dwelling.id === id),
      places: await store.places(id),
      sensors: await store.sensors(id),
      placements: await store.placements(id),
      series: await store.series(id),
      readings: await store.seriesColumns(id, 0, Number.MAX_SAFE_INTEGER),
      conflicts: await store.conflicts(id, 100),
      calibrations: await store.calibrations(id),
      hours: await store.hourRecords(id, place!.id, 0, NEW_YEAR + 100 * HOUR),
      stale: await store.staleHours(id, 0, 100),
      phases: await store.phases(id),
      diary: await store.diary(id),
      photos: await store.photos(id),
      mappings: (await store.mappings()).filter(({ dwellingId }) => dwellingId === id),
    };
  }

  describe('an example', () => {
    test('can be removed with all that belongs to it, a bounded number of rows at a time, and nothing else goes', async () => {
      const before = await givenDwelling(given.store, 'before');
      const example = await given.store.addExample(dwellingCalled('example'));
      const after = await givenDwelling(given.store, 'after');
      for (const dwelling of [before, example, after]) await fill(dwelling);
      const kept = [await everything(before), await everything(after)];
      expect(await given.store.examples()).toEqual([{ dwellingId: example.id, leaving: false }]);

      await given.store.beginRemoval(example.id);
      expect(await given.store.examples()).toEqual([{ dwellingId: example.id, leaving: true }]);
      expect((await given.store.dwellings()).map(({ slug }) => slug)).toEqual(['before', 'after']);
      expect(await given.store.staleDwellings()).not.toContain(example.id);
      let steps = 1;
      let left = Number.POSITIVE_INFINITY;
      while ((await given.store.removeSome(example.id, 7)) === 'more') {
        const readings = await given.store.countReadings(example.id);
        if (Number.isFinite(left)) expect(left - readings).toBeLessThanOrEqual(7);
        left = readings;
        steps++;
      }
      // 51 readings and at least a dozen other rows, 7 at a time
      expect(steps).toBeGreaterThan(8);
      await given.reopen();
      expect(await given.store.examples()).toEqual([]);
      await expect(given.store.places(example.id)).rejects.toMatchObject(noFault);
      // what people did stays on record
      expect((await given.store.trail(10)).map(({ dwellingId }) => dwellingId)).toEqual([
        after.id,
        example.id,
        before.id,
      ]);
      expect([await everything(before), await everything(after)]).toEqual(kept);
    });

    test('leaves its name free and its number for ever taken', async () => {
      const example = await given.store.addExample(dwellingCalled('example'));
      await given.store.beginRemoval(example.id);
      expect(await given.store.removeSome(example.id, 100)).toBe('gone');
      const again = await given.store.addExample(dwellingCalled('example'));
      expect(again.id).toBeGreaterThan(example.id);
      await fill(again);
      expect(await given.store.countReadings(again.id)).toBe(51);
    });

    test('goes on being removed after a restart in the middle', async () => {
      const example = await given.store.addExample(dwellingCalled('example'));
      await fill(example);
      await given.store.beginRemoval(example.id);
      expect(await given.store.removeSome(example.id, 20)).toBe('more');
      await given.reopen();
      expect(await given.store.examples()).toEqual([{ dwellingId: example.id, leaving: true }]);
      expect(await given.store.removeSome(example.id, 1000)).toBe('gone');
    });

    test('is not removed unless its removal was begun', async () => {
      const example = await given.store.addExample(dwellingCalled('example'));
      await fill(example);
      const whole = await everything(example);
      await expect(given.store.removeSome(example.id, 1000)).rejects.toMatchObject(noFault);
      expect(await everything(example)).toEqual(whole);
    });
  });

  describe('a home', () => {
    test('cannot be removed, and keeps everything when that is tried', async () => {
      const home = await givenDwelling(given.store);
      await fill(home);
      const whole = await everything(home);
      await expect(given.store.beginRemoval(home.id)).rejects.toMatchObject(noFault);
      await expect(given.store.removeSome(home.id, 1000)).rejects.toMatchObject(noFault);
      await expect(given.store.beginRemoval(999)).rejects.toMatchObject(noFault);
      expect(await everything(home)).toEqual(whole);
    });

    test('cannot be turned into an example', async () => {
      const home = await givenDwelling(given.store);
      for (const change of [{ kind: 'example' }, { leaving: 1 }]) {
        await expect(given.store.changeDwelling(home.id, change as never)).rejects.toThrow(RangeError);
      }
      expect(await given.store.examples()).toEqual([]);
    });
  });
}
