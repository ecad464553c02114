import { firstWords } from './spoken.ts';

export const settlingWords = firstWords().settling;
