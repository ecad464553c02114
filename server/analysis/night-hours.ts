/**
 * Local hours between which it is night: from the first, through midnight, to the second. Settings of a comparison may
 * say otherwise; what finds the nights is `local-nights.ts`.
 */
export const nightHours = Object.freeze({ from: 18, to: 8 });
