import { enLining } from './en-lining.ts';

/** Text of the lining check. It comes with its screen, not with the first. */
export const liningWords: typeof enLining = enLining;
