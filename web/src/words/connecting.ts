import { enConnecting } from './en-connecting.ts';

/** Text of the connecting screen. It comes with its screen, not with the first. */
export const connectingWords: typeof enConnecting = enConnecting;
