import { moreWords } from './spoken.ts';

export const backupWords = moreWords().backups;
