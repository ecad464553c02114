import { describe, expect, test } from 'vitest';
import type { BuildUps } from '../../../server/store/port.ts';
import { givenDwelling, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const plan = ({ id }: { readonly id: number }, change: Partial<BuildUps> = {}): Omit<BuildUps, 'id'> => ({
  dwellingId: id,
  name: 'Foam between ribs',
  document: '{"pitch_deg":40}',
  savedAt: NEW_YEAR,
  ...change,
});

export function buildUpContract(given: UnderTest): void {
  describe('build-ups', () => {
    test('come back as they were given, each dwelling its own, across a restart', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      const first = await given.store.addBuildUps(plan(home));
      const second = await given.store.addBuildUps(plan(home, { name: 'Thicker' }));
      const theirs = await given.store.addBuildUps(plan(other));
      expect([first.id, second.id, theirs.id]).toEqual([1, 2, 1]);
      await given.reopen();
      expect(await given.store.buildUps(home.id)).toEqual([first, second]);
      expect(await given.store.buildUps(other.id)).toEqual([theirs]);
    });

    test('are changed in part and removed, and an id is never used again', async () => {
      const home = await givenDwelling(given.store);
      const { id } = await given.store.addBuildUps(plan(home));
      const changed = await given.store.changeBuildUps(home.id, id, { name: 'As built', savedAt: NEW_YEAR + 1 });
      expect(changed).toEqual({ ...plan(home), id, name: 'As built', savedAt: NEW_YEAR + 1 });
      await given.store.removeBuildUps(home.id, id);
      expect(await given.store.buildUps(home.id)).toEqual([]);
      expect(await given.store.addBuildUps(plan(home))).toMatchObject({ id: 2 });
      await expect(given.store.removeBuildUps(home.id, id)).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.changeBuildUps(home.id, id, {})).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('of nonsense, and of a dwelling that is not there, are refused', async () => {
      const home = await givenDwelling(given.store);
      for (const change of [{ name: ' ' }, { document: '{' }, { savedAt: Number.NaN }]) {
        await expect(given.store.addBuildUps(plan(home, change))).rejects.toThrow(RangeError);
      }
      await expect(given.store.addBuildUps(plan({ id: 99 }))).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.buildUps(99)).rejects.toMatchObject({ fault: 'not-found' });
      expect(await given.store.buildUps(home.id)).toEqual([]);
    });
  });
}
