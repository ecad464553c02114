import { moreWords } from './spoken.ts';

/** Text of the screen of those who get word. It comes with its screen, not with the first. */
export const recipientWords = moreWords().recipients;
