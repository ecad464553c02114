import { enSection } from './en-section.ts';

/** Text of the drawn section, of the night that is played and of Tonight. */
export const sectionWords: typeof enSection = enSection;
