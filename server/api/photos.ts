import { createHash } from 'node:crypto';
import { DateTime } from 'luxon';
import { type PictureCleaner, PictureRefused } from '../pictures/clean.ts';
import { takenAt } from '../pictures/exif.ts';
import { pictureHeader } from '../pictures/header.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { LARGEST_PHOTO } from './contract/photos.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { receiveBytes } from './upload.ts';
import { photoView } from './views.ts';

export interface PhotoParts {
  readonly store: Store;
  readonly pictures: PictureCleaner;
  readonly clock: () => number;
}

const DAY_MS = 86_400_000;
/** Before this no camera's clock was set right. */
const EARLIEST = Date.UTC(2000, 0, 1);

/** Photos of the diary: clean copies are kept, the file that was sent is not. */
export function createPhotoHandlers(
  { store, pictures, clock }: PhotoParts,
  dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>,
): Pick<Handlers, 'addPhoto' | 'getPhoto'> {
  return {
    async addPhoto({ params, upload }) {
      const dwelling = await dwellingOf(params);
      const bytes = await receiveBytes(upload, LARGEST_PHOTO, 'A picture');
      const now = clock();
      const picture = await pictures.clean(bytes).catch((error: unknown) => {
        if (!(error instanceof PictureRefused)) throw error;
        throw new RequestProblem('bad-request', `The picture was not taken. ${error.message}`);
      });
      await store.removeLoosePhotos(dwelling.id, now - DAY_MS);
      const kept = await store.addPhoto(
        {
          dwellingId: dwelling.id,
          takenAt: whenTaken(bytes, dwelling.zone, now),
          sha256: createHash('sha256').update(bytes).digest('hex'),
          width: picture.width,
          height: picture.height,
          addedAt: now,
        },
        picture,
      );
      return photoView(kept);
    },

    async getPhoto({ params }) {
      const dwelling = await dwellingOf(params);
      return { type: 'image/jpeg', bytes: await store.photoImage(dwelling.id, params.id, params.size) };
    },
  };
}

/** The camera's clock is taken to show the home's time unless it says otherwise; a time that cannot be is no time. */
function whenTaken(bytes: Uint8Array, zone: string, now: number): number | null {
  const exif = pictureHeader(bytes)?.exif ?? null;
  const taken = exif === null ? null : takenAt(exif);
  if (taken === null) return null;
  const time =
    taken.offsetMinutes === null
      ? DateTime.fromMillis(taken.wall, { zone: 'utc' }).setZone(zone, { keepLocalTime: true }).toMillis()
      : taken.wall - taken.offsetMinutes * 60_000;
  return time >= EARLIEST && time <= now + DAY_MS ? time : null;
}
