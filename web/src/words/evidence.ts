import { moreWords } from './spoken.ts';

/** Text about the evidence pack. It comes with its screen, not with the first. */
export const evidenceWords = moreWords().evidence;
