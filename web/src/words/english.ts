/** English of the first screen. */
export { en as words } from './en.ts';
export { enSaidFirst as saidFirst } from './en-said-first.ts';
export { enSection as section } from './en-section.ts';
export { enSettling as settling } from './en-settling.ts';
