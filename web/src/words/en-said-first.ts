import type { SaidFirst, Write } from './said.ts';

/** The server's own words are English. */
export const enSaidFirst = (_: Write): SaidFirst => ({
  state: ({ state }) => state.words,
  headline: ({ headline }) => headline,
  detail: ({ detail }) => detail,
  problem: (problem) =>
    [
      problem.detail ?? problem.title,
      ...(problem.errors ?? []).map(({ pointer, detail }) => `${pointer.replace(/^\//, '')}: ${detail}`),
    ].join(' '),
});
