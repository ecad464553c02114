import { moreWords } from './spoken.ts';

export const quarantineWords = moreWords().quarantine;
