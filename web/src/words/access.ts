import { moreWords } from './spoken.ts';

/** Text about signing in, people and devices. It comes with its screens, not with the first. */
export const accessWords = moreWords().access;
