import type { Section } from '../../../server/api/contract/dwelling.ts';

/** A common small house, to have something to correct. No source. */
export const usualSection: Section = {
  pitchDeg: 35,
  slopeLengthMm: 1200,
  roomHeightMm: 2400,
  liningThicknessMm: 0,
  loftInsulationMm: 270,
  eavesGapMm: 50,
};

/** What `coomb import` draws with where it makes the first home. */
const importedSection: Section = {
  pitchDeg: 40,
  slopeLengthMm: 2000,
  roomHeightMm: 2300,
  liningThicknessMm: 0,
  loftInsulationMm: 200,
  eavesGapMm: 50,
};

const same = (a: Section, b: Section): boolean =>
  (Object.keys(a) as (keyof Section)[]).every((key) => a[key] === b[key]);

/** Whether a section still has measures that nobody took. */
export const isUnmeasured = (section: Section): boolean =>
  same(section, usualSection) || same(section, importedSection);
