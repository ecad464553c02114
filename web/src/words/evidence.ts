import { enEvidence } from './en-evidence.ts';

/** Text about the evidence pack. It comes with its screen, not with the first. */
export const evidenceWords: typeof enEvidence = enEvidence;
