import { enSettling } from './en-settling.ts';

export const settlingWords: typeof enSettling = enSettling;
