import { moreWords } from './spoken.ts';

export const importingWords = moreWords().importing;
