import { enPhotos } from './en-photos.ts';

export const photoWords: typeof enPhotos = enPhotos;
