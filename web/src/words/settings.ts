import { moreWords } from './spoken.ts';

export const settingsWords = moreWords().settings;
