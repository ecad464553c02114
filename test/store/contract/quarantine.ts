import { describe, expect, test } from 'vitest';
import type { QuarantinedMessage } from '../../../server/store/port.ts';
import { givenDwelling, message, NEW_YEAR, readingOf } from './given.ts';
import type { UnderTest } from './under-test.ts';

const bytes = (payload: Uint8Array): number[] => [...payload];

export function quarantineContract(given: UnderTest): void {
  const quarantine = (...quarantined: QuarantinedMessage[]) =>
    given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined });

  describe('quarantine', () => {
    test('keeps what came byte for byte, the last first, across a restart', async () => {
      const odd = Uint8Array.from([0, 255, 10, 13, 0xd8, 0, 39]);
      await quarantine(
        message({ payload: odd }),
        message({ payload: new Uint8Array(0), receivedAt: NEW_YEAR + 1, source: 'http', code: 'empty' }),
      );
      await given.reopen();
      const rows = await given.store.quarantined('garden/shed', 10);
      expect(rows.map(({ payload }) => bytes(payload))).toEqual([[], bytes(odd)]);
      expect(rows.map(({ id, receivedAt, source, code }) => [id, receivedAt, source, code])).toEqual([
        [2, NEW_YEAR + 1, 'http', 'empty'],
        [1, NEW_YEAR, 'mqtt', 'not-a-number'],
      ]);
      expect(await given.store.quarantined('garden/shed', 1)).toHaveLength(1);
      expect(await given.store.quarantined('garden', 10)).toEqual([]);
      expect(await given.store.countQuarantined()).toBe(2);
    });

    test('groups by topic and reason, with the last message of each', async () => {
      expect(await given.store.quarantineGroups(10)).toEqual([]);
      await quarantine(
        message({ topic: 'x', payload: Uint8Array.of(1), receivedAt: 30 }),
        message({ topic: 'x', payload: Uint8Array.of(2), receivedAt: 10, message: 'the last one' }),
        message({ topic: 'x', payload: Uint8Array.of(3), receivedAt: 20, code: 'unknown-topic' }),
        message({ topic: 'y', payload: Uint8Array.of(4), receivedAt: 40 }),
      );
      const groups = await given.store.quarantineGroups(10);
      expect(groups.map(({ lastPayload, ...rest }) => ({ ...rest, lastPayload: bytes(lastPayload) }))).toEqual([
        {
          topic: 'y',
          code: 'not-a-number',
          message: message().message,
          count: 1,
          firstAt: 40,
          lastAt: 40,
          lastPayload: [4],
        },
        {
          topic: 'x',
          code: 'unknown-topic',
          message: message().message,
          count: 1,
          firstAt: 20,
          lastAt: 20,
          lastPayload: [3],
        },
        {
          topic: 'x',
          code: 'not-a-number',
          message: 'the last one',
          count: 2,
          firstAt: 10,
          lastAt: 30,
          lastPayload: [2],
        },
      ]);
      expect(await given.store.quarantineGroups(2)).toHaveLength(2);
    });

    test('says how much it holds by topic, and lets go of it a part at a time, but not of what was read in', async () => {
      expect(await given.store.quarantineSizes()).toEqual([]);
      await quarantine(
        message({ topic: 'y', payload: new Uint8Array(3) }),
        message({ topic: 'x', payload: new Uint8Array(10) }),
        message({ topic: 'y', payload: new Uint8Array(4), code: 'empty' }),
        message({ topic: 'z', payload: new Uint8Array(100_000) }),
      );
      expect(await given.store.quarantineSizes()).toEqual([
        { topic: 'x', messages: 1, bytes: 10 },
        { topic: 'y', messages: 2, bytes: 7 },
        { topic: 'z', messages: 1, bytes: 100_000 },
      ]);
      const [readIn] = await given.store.quarantined('x', 1);
      const resolved = [{ id: readIn!.id, at: NEW_YEAR }];
      await given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined: [], resolved });
      expect(await given.store.removeQuarantined(2)).toBe(2);
      expect(await given.store.quarantineSizes()).toEqual([{ topic: 'z', messages: 1, bytes: 100_000 }]);
      expect(await given.store.removeQuarantined(2)).toBe(1);
      expect(await given.store.removeQuarantined(2)).toBe(0);
      expect(await given.store.quarantined('x', 10)).toHaveLength(1);
      await expect(given.store.removeQuarantined(0)).rejects.toThrow(RangeError);
    });

    test('counts what was not kept by its sender until it is emptied', async () => {
      const notKept = (sender: string, messages: number, firstAt: number, lastAt: number) =>
        given.store.append({
          receivedAt: NEW_YEAR,
          readings: [],
          quarantined: [],
          notKept: [{ sender, messages, firstAt, lastAt }],
        });
      await quarantine(message());
      await notKept('attic', 2, 10, 20);
      await notKept('coomb/larch', 5, 15, 15);
      await notKept('attic', 7, 30, 40);
      await given.reopen();
      expect(await given.store.quarantineNotKept()).toEqual([
        { sender: 'attic', messages: 9, firstAt: 10, lastAt: 40 },
        { sender: 'coomb/larch', messages: 5, firstAt: 15, lastAt: 15 },
      ]);
      expect(await given.store.removeQuarantined(1)).toBe(1);
      expect(await given.store.quarantineNotKept()).toHaveLength(2);
      expect(await given.store.removeQuarantined(1)).toBe(0);
      expect(await given.store.quarantineNotKept()).toEqual([]);
    });

    test('says which message was set aside last, read in or not', async () => {
      expect(await given.store.lastQuarantinedId()).toBe(0);
      await quarantine(message(), message({ topic: 'z' }));
      const [last] = await given.store.quarantined('z', 1);
      expect(await given.store.lastQuarantinedId()).toBe(last!.id);
      const resolved = [{ id: last!.id, at: NEW_YEAR }];
      await given.store.append({ receivedAt: NEW_YEAR, readings: [], quarantined: [], resolved });
      expect(await given.store.lastQuarantinedId()).toBe(last!.id);
      await quarantine(message());
      expect(await given.store.lastQuarantinedId()).toBeGreaterThan(last!.id);
    });

    test('is written together with the readings of its batch', async () => {
      const home = await givenDwelling(given.store);
      const outcome = await given.store.append({
        receivedAt: NEW_YEAR,
        readings: [readingOf(home, 'a', 'temperature', NEW_YEAR, 1)],
        quarantined: [message()],
      });
      expect(outcome).toEqual({ stored: 1, repeated: 0, conflicting: 0 });
      expect(await given.store.countQuarantined()).toBe(1);
      await expect(quarantine(message({ receivedAt: Number.NaN }))).rejects.toThrow(RangeError);
      await expect(given.store.quarantined('x', 0)).rejects.toThrow(RangeError);
      await expect(given.store.quarantineGroups(0.5)).rejects.toThrow(RangeError);
      expect(await given.store.countQuarantined()).toBe(1);
    });
  });
}
