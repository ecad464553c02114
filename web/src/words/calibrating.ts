import { enCalibrating } from './en-calibrating.ts';

/** Text of the calibrating screen. It comes with its screen, not with the first. */
export const calibratingWords: typeof enCalibrating = enCalibrating;
