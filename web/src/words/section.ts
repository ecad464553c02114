import { firstWords } from './spoken.ts';

/** Text of the drawn section, of the night that is played and of Tonight. */
export const sectionWords = firstWords().section;
