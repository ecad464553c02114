/** German of the first screen. */
export { de as words } from './de.ts';
export { deSaidFirst as saidFirst } from './de-said-first.ts';
export { deSection as section } from './de-section.ts';
export { deSettling as settling } from './de-settling.ts';
