import { describe, expect, test } from 'vitest';
import type { Mapping, New } from '../../../server/store/port.ts';
import { givenDwelling, message, NEW_YEAR, readingOf } from './given.ts';
import type { UnderTest } from './under-test.ts';

const mappingOf = ({ id }: { readonly id: number }, change: Partial<New<Mapping>> = {}): New<Mapping> => ({
  dwellingId: id,
  topicPattern: 'attic/{sensor}/state',
  sensorKey: 'attic-{sensor}',
  values: [
    { pointer: '/t/0', quantity: 'temperature', unit: 'F', scale: 0.1, offset: -0.5, sensorKey: null },
    { pointer: '', quantity: 'timberMoisture', unit: '%', scale: 1, offset: 0, sensorKey: 'beam' },
  ],
  time: { pointer: '/at', form: 'epoch-s' },
  ...change,
});

export function mappingContract(given: UnderTest): void {
  describe('mappings', () => {
    test('come back as they were given, in order of dwelling and id, across a restart', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      const third = await given.store.addMapping(mappingOf(other, { values: [], time: null }));
      const first = await given.store.addMapping(mappingOf(home));
      const second = await given.store.addMapping(mappingOf(home, { topicPattern: '#' }));
      expect([first.id, second.id, third.id]).toEqual([1, 2, 1]);
      expect(first).toEqual({ ...mappingOf(home), id: 1 });
      await given.reopen();
      expect(await given.store.mappings()).toEqual([first, second, third]);
    });

    test('are changed and removed, and an id is never used again', async () => {
      const home = await givenDwelling(given.store);
      const { id } = await given.store.addMapping(mappingOf(home));
      const changed = await given.store.changeMapping(home.id, id, { sensorKey: 'loft', time: null });
      expect(changed).toEqual({ ...mappingOf(home), id, sensorKey: 'loft', time: null });
      expect(await given.store.mappings()).toEqual([changed]);
      await given.store.removeMapping(home.id, id);
      expect(await given.store.mappings()).toEqual([]);
      expect(await given.store.addMapping(mappingOf(home))).toMatchObject({ id: 2 });
      await expect(given.store.removeMapping(home.id, id)).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.changeMapping(home.id, id, {})).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('of nonsense are refused', async () => {
      const home = await givenDwelling(given.store);
      const value = mappingOf(home).values[0]!;
      for (const change of [
        { topicPattern: '' },
        { sensorKey: ' ' },
        { values: [{ ...value, scale: Number.NaN }] },
        { values: [{ ...value, offset: Number.POSITIVE_INFINITY }] },
        { values: [{ ...value, unit: 'V' as const }] },
        { values: [{ ...value, quantity: 'warmth' as 'temperature' }] },
        { time: { pointer: '', form: 'noon' as 'epoch-s' } },
      ]) {
        await expect(given.store.addMapping(mappingOf(home, change))).rejects.toThrow(RangeError);
      }
      await expect(given.store.addMapping(mappingOf({ id: 99 }))).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.mappings()).toEqual([]);
    });
  });

  describe('a message in quarantine that is read in', () => {
    test('stays, marked, and counts and shows no more', async () => {
      const home = await givenDwelling(given.store);
      const quarantined = [message({ topic: 'a' }), message({ topic: 'a' }), message({ topic: 'b' })];
      await given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined });
      expect(await given.store.unresolvedTopics('', 10)).toEqual(['a', 'b']);
      expect(await given.store.unresolvedTopics('a', 10)).toEqual(['b']);
      expect(await given.store.unresolvedTopics('', 1)).toEqual(['a']);
      expect((await given.store.unresolved('a', 0, 10)).map(({ id }) => id)).toEqual([1, 2]);
      expect((await given.store.unresolved('a', 1, 10)).map(({ id }) => id)).toEqual([2]);
      expect((await given.store.unresolved('a', 0, 1)).map(({ id }) => id)).toEqual([1]);

      const readIn = {
        receivedAt: NEW_YEAR,
        readings: [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)],
        quarantined: [],
        resolved: [{ id: 1, at: NEW_YEAR + 5 }],
      };
      expect(await given.store.append(readIn)).toMatchObject({ stored: 1 });
      expect(await given.store.append({ ...readIn, resolved: [{ id: 1, at: NEW_YEAR + 9 }] })).toMatchObject({
        repeated: 1,
      });
      await given.reopen();
      expect(await given.store.countQuarantined()).toBe(2);
      expect((await given.store.quarantineGroups(10)).map(({ topic, count }) => [topic, count])).toEqual([
        ['b', 1],
        ['a', 1],
      ]);
      expect((await given.store.unresolved('a', 0, 10)).map(({ id }) => id)).toEqual([2]);
      expect((await given.store.quarantined('a', 10)).map(({ id, resolvedAt }) => [id, resolvedAt])).toEqual([
        [2, null],
        [1, NEW_YEAR + 5],
      ]);
      await given.store.append({
        receivedAt: NEW_YEAR,
        readings: [],
        quarantined: [],
        resolved: [
          { id: 2, at: NEW_YEAR },
          { id: 3, at: NEW_YEAR },
        ],
      });
      expect(await given.store.unresolvedTopics('', 10)).toEqual([]);
      expect(await given.store.countQuarantined()).toBe(0);
    });

    test('is not marked when the readings of its batch are refused', async () => {
      const home = await givenDwelling(given.store);
      await given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined: [message()] });
      const batch = (id: number, dwellingId: number) => ({
        receivedAt: NEW_YEAR,
        readings: [readingOf({ id: dwellingId }, 'a', 'temperature', NEW_YEAR, 1)],
        quarantined: [],
        resolved: [{ id, at: NEW_YEAR }],
      });
      await expect(given.store.append(batch(1, 99))).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.countQuarantined()).toBe(1);
      await given.store.append(batch(1, home.id));
      expect(await given.store.countQuarantined()).toBe(0);
    });

    test('comes in pages that stay small in memory', async () => {
      const large = message({ topic: 'a', payload: new Uint8Array(5 << 20) });
      const quarantined = [
        large,
        large,
        message({ topic: 'a', payload: new Uint8Array(9 << 20) }),
        message({ topic: 'a' }),
      ];
      await given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined });
      const pages: number[][] = [];
      for (let after = 0; ; ) {
        const page = await given.store.unresolved('a', after, 100);
        if (page.length === 0) break;
        pages.push(page.map(({ id }) => id));
        after = page.at(-1)!.id;
      }
      expect(pages).toEqual([[1], [2], [3], [4]]);
    });
  });
}
