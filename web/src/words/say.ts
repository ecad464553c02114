import { estimate, number, plusMinus, quantity, when } from './format.ts';
import { moreWords } from './spoken.ts';

/** What the server says, in the reader's language, numbers and units. */
export const said = moreWords().said({ number, quantity, estimate, plusMinus, when });
