import type { Said, Write } from './said.ts';

/** The server's own words are English. */
export const enSaid = (_: Write): Said => ({
  finding: ({ message }) => message,
  mend: ({ mend }) => mend,
  verdict: ({ verdict }) => verdict.statement,
  reason: ({ verdict }, index) => verdict.reasons[index]!,
  moved: ({ statement }) => statement,
  control: ({ statement }) => statement,
  causes: ({ statement }) => statement,
  sensor: ({ message, whatToDo }) => `${message} ${whatToDo}`,
  advice: ({ message }) => message,
  caution: ({ message }) => message,
  forecastReason: ({ message }) => message,
  lining: ({ message }) => message,
  notice: (notice) => notice,
  term: (english) => english,
});
