/** A picture as it is kept: clean of everything but what is seen in it. */
export interface Photo {
  readonly id: number;
  readonly dwellingId: number;
  /** the diary entry it belongs to; null: none yet */
  readonly entryId: number | null;
  /** what is seen in it, in words; empty: not said yet */
  readonly alt: string;
  /** when it was taken, as its camera said, UTC ms; null: not known */
  readonly takenAt: number | null;
  /** of the file as it was sent, hexadecimal */
  readonly sha256: string;
  readonly width: number;
  readonly height: number;
  readonly addedAt: number;
}

export const photoSizes = ['full', 'thumbnail'] as const;
export type PhotoSize = (typeof photoSizes)[number];

/** JPEG files. */
export type PhotoImages = { readonly [Size in PhotoSize]: Uint8Array };

export interface PhotoStore {
  /** Without their images, in order of id. */
  photos(dwellingId: number): Promise<Photo[]>;
  /** Keeps a photo that belongs to no entry yet. */
  addPhoto(photo: Omit<Photo, 'id' | 'entryId' | 'alt'>, images: PhotoImages): Promise<Photo>;
  photoImage(dwellingId: number, id: number, size: PhotoSize): Promise<Uint8Array>;
  /** Makes these the photos of an entry; what belonged to it and is not among them is removed. All or nothing. */
  setEntryPhotos(
    dwellingId: number,
    entryId: number,
    photos: readonly { readonly id: number; readonly alt: string }[],
  ): Promise<void>;
  /** Removes the photos that were added before a time and never came to belong to an entry. */
  removeLoosePhotos(dwellingId: number, addedBefore: number): Promise<number>;
}
