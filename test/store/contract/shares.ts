import { describe, expect, test } from 'vitest';
import { DAY, givenDwelling, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

const linkOf = ({ id }: { readonly id: number }, tokenHash: string) => ({
  dwellingId: id,
  tokenHash,
  label: 'the surveyor',
  fileName: 'winter.zip',
  createdAt: NEW_YEAR,
  expiresAt: NEW_YEAR + 7 * DAY,
});

export function shareContract(given: UnderTest): void {
  describe('share links', () => {
    test('come back as they were given, each dwelling its own, and are found by token in any', async () => {
      const home = await givenDwelling(given.store);
      const other = await givenDwelling(given.store, 'gable-cottage');
      const first = await given.store.addShareLink(linkOf(home, 'aa'));
      const second = await given.store.addShareLink(linkOf(home, 'bb'));
      const theirs = await given.store.addShareLink(linkOf(other, 'cc'));
      expect(first).toEqual({ ...linkOf(home, 'aa'), id: 1, revokedAt: null, opened: 0, openedAt: null });
      await given.reopen();
      expect(await given.store.shareLinks(home.id)).toEqual([first, second]);
      expect(await given.store.findShareLink('cc')).toEqual(theirs);
      expect(await given.store.findShareLink('dd')).toBeNull();
      await expect(given.store.addShareLink(linkOf({ id: 99 }, 'ee'))).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('count how often they are opened, by whichever process, and are revoked once', async () => {
      const home = await givenDwelling(given.store);
      const { id } = await given.store.addShareLink(linkOf(home, 'aa'));
      const other = await given.another();
      await Promise.all([1, 2, 3, 4].map((k) => (k % 2 ? given.store : other).noteShareOpened(home.id, id, NEW_YEAR)));
      await given.store.revokeShareLink(home.id, id, NEW_YEAR + DAY);
      const revoked = await other.revokeShareLink(home.id, id, NEW_YEAR + 2 * DAY);
      expect(revoked).toMatchObject({ opened: 4, openedAt: NEW_YEAR, revokedAt: NEW_YEAR + DAY });
      expect(await given.store.findShareLink('aa')).toEqual(revoked);
      await expect(given.store.revokeShareLink(home.id, 9, NEW_YEAR)).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('of nonsense are refused', async () => {
      const home = await givenDwelling(given.store);
      for (const change of [{ tokenHash: '' }, { label: ' ' }, { expiresAt: Number.NaN }]) {
        await expect(given.store.addShareLink({ ...linkOf(home, 'aa'), ...change })).rejects.toThrow(RangeError);
      }
      expect(await given.store.shareLinks(home.id)).toEqual([]);
    });
  });
}
