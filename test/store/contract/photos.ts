import { describe, expect, test } from 'vitest';
import type { Photo } from '../../../server/store/port.ts';
import { DAY, givenDwelling, NEW_YEAR } from './given.ts';
import type { UnderTest } from './under-test.ts';

export function photoContract(given: UnderTest): void {
  const images = { full: Uint8Array.of(255, 216, 0, 1), thumbnail: Uint8Array.of(255, 216, 2) };
  const add = (dwellingId: number, addedAt = NEW_YEAR): Promise<Photo> =>
    given.store.addPhoto(
      { dwellingId, takenAt: NEW_YEAR - DAY, sha256: '0f'.repeat(32), width: 640, height: 480, addedAt },
      images,
    );
  const entryIn = (dwellingId: number) =>
    given.store.addDiaryEntry({ dwellingId, time: NEW_YEAR, kind: 'note', text: 'seen' });
  const bytes = async (dwellingId: number, id: number, size: 'full' | 'thumbnail') => [
    ...(await given.store.photoImage(dwellingId, id, size)),
  ];

  describe('photos', () => {
    test('are kept byte for byte across a restart, in both sizes', async () => {
      const { id } = await givenDwelling(given.store);
      const photo = await add(id);
      expect(photo).toMatchObject({ entryId: null, alt: '', takenAt: NEW_YEAR - DAY });
      await given.reopen();
      expect(await given.store.photos(id)).toEqual([photo]);
      expect(await bytes(id, photo.id, 'full')).toEqual([...images.full]);
      expect(await bytes(id, photo.id, 'thumbnail')).toEqual([...images.thumbnail]);
    });

    test('belong to an entry with their words, and go with it or when they are left out', async () => {
      const { id } = await givenDwelling(given.store);
      const entry = await entryIn(id);
      const [a, b, c] = [await add(id), await add(id), await add(id)];
      await given.store.setEntryPhotos(id, entry.id, [
        { id: a.id, alt: 'the strip' },
        { id: b.id, alt: 'the corner' },
      ]);
      await given.store.setEntryPhotos(id, entry.id, [
        { id: b.id, alt: 'the left corner' },
        { id: c.id, alt: '' },
      ]);
      expect((await given.store.photos(id)).map((photo) => [photo.id, photo.entryId, photo.alt])).toEqual([
        [b.id, entry.id, 'the left corner'],
        [c.id, entry.id, ''],
      ]);
      await expect(given.store.photoImage(id, a.id, 'full')).rejects.toMatchObject({ fault: 'not-found' });
      await given.store.removeDiaryEntry(id, entry.id);
      expect(await given.store.photos(id)).toEqual([]);
      await expect(given.store.photoImage(id, b.id, 'thumbnail')).rejects.toMatchObject({ fault: 'not-found' });
    });

    test('are not taken from another entry or another dwelling, and then nothing changes', async () => {
      const [home, other] = [await givenDwelling(given.store), await givenDwelling(given.store, 'other')];
      const [first, second] = [await entryIn(home.id), await entryIn(home.id)];
      const [mine, theirs] = [await add(home.id), await add(home.id)];
      const abroad = await add(other.id);
      await add(other.id);
      await given.store.setEntryPhotos(home.id, first.id, [{ id: theirs.id, alt: 'x' }]);
      await expect(
        given.store.setEntryPhotos(home.id, second.id, [
          { id: mine.id, alt: 'y' },
          { id: theirs.id, alt: 'y' },
        ]),
      ).rejects.toMatchObject({ fault: 'already-there' });
      await expect(given.store.setEntryPhotos(home.id, 99, [])).rejects.toMatchObject({ fault: 'not-found' });
      await expect(given.store.setEntryPhotos(home.id, second.id, [{ id: 99, alt: 'y' }])).rejects.toMatchObject({
        fault: 'not-found',
      });
      expect((await given.store.photos(home.id)).map(({ entryId }) => entryId)).toEqual([null, first.id]);
      expect(await given.store.photos(other.id)).toHaveLength(2);
      expect(await bytes(other.id, abroad.id, 'full')).toEqual([...images.full]);
    });

    test('that never came to an entry can be cleared away by age', async () => {
      const { id } = await givenDwelling(given.store);
      const entry = await entryIn(id);
      const [old, kept, young] = [await add(id), await add(id), await add(id, NEW_YEAR + DAY)];
      await given.store.setEntryPhotos(id, entry.id, [{ id: kept.id, alt: 'x' }]);
      expect(await given.store.removeLoosePhotos(id, NEW_YEAR + DAY)).toBe(1);
      expect((await given.store.photos(id)).map((photo) => photo.id)).toEqual([kept.id, young.id]);
      expect(old.id).not.toBe(kept.id);
    });

    test('with a wrong sum are refused', async () => {
      const { id } = await givenDwelling(given.store);
      const wrong = { dwellingId: id, takenAt: null, sha256: 'ABC', width: 1, height: 1, addedAt: NEW_YEAR };
      await expect(given.store.addPhoto(wrong, images)).rejects.toThrow(RangeError);
    });
  });
}
