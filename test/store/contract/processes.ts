import { describe, expect, test } from 'vitest';
import { givenDwelling } from './given.ts';
import type { UnderTest } from './under-test.ts';

export function processContract(given: UnderTest): void {
  describe('work on a dwelling', () => {
    test('is done by one at a time, whatever comes of it, and other work goes on meanwhile', async () => {
      const { store } = given;
      const [home, other] = [await givenDwelling(store), await givenDwelling(store, 'gable-cottage')];
      let end = (): void => {};
      const ended = new Promise<void>((resolve) => {
        end = resolve;
      });
      let begun = (): void => {};
      const underWay = new Promise<void>((resolve) => {
        begun = resolve;
      });
      const first = store.doAlone('hours', home.id, async () => {
        begun();
        await ended;
        return 'first';
      });
      await underWay;
      expect(await store.doAlone('hours', home.id, async () => 'second')).toBeNull();
      expect(await store.doAlone('hours', other.id, async () => 'elsewhere')).toBe('elsewhere');
      expect(await store.doAlone('watch', home.id, async () => 'other work')).toBe('other work');
      end();
      expect(await first).toBe('first');
      await expect(
        store.doAlone('hours', home.id, async () => {
          throw new RangeError('it went wrong');
        }),
      ).rejects.toThrow('it went wrong');
      expect(await store.doAlone('hours', home.id, async () => 'again')).toBe('again');
    });

    test('can be taken charge of for good', async () => {
      expect(await given.store.takeCharge('states')).toBe(true);
      expect(await given.store.takeCharge('states')).toBe(true);
    });

    test('can be given up by who is in charge, and by nobody else, and another takes it', async () => {
      const other = await given.another();
      expect(await given.store.takeCharge('listening')).toBe(true);
      await other.giveUpCharge('listening');
      if (given.store.isShared) expect(await other.takeCharge('listening')).toBe(false);
      await given.store.giveUpCharge('listening');
      expect(await other.takeCharge('listening')).toBe(true);
      expect(await given.store.takeCharge('listening')).toBe(!given.store.isShared);
    });
  });
}
