import { moreWords } from './spoken.ts';

/** Text of notices and their rules. It comes with their screens, not with the first. */
export const noticeWords = moreWords().notices;
