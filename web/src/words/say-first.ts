import { estimate, number, plusMinus, quantity, when } from './format.ts';
import { firstWords } from './spoken.ts';

/** What the server says of the moment, in the reader's language, numbers and units. */
export const saidFirst = firstWords().saidFirst({ number, quantity, estimate, plusMinus, when });
