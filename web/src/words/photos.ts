import { moreWords } from './spoken.ts';

export const photoWords = moreWords().photos;
