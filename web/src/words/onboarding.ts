import { moreWords } from './spoken.ts';

/** Text about adding many homes, and about placing a sensor by its label. */
export const onboardingWords = moreWords().onboarding;
