/** A sentence of the server and its counterpart; `{0}`, `{1}` stand for what is put in, and may change places. */
export type Row = readonly [english: string, other: string];

interface Form {
  readonly pattern: RegExp;
  readonly holes: readonly number[];
  readonly other: string;
  readonly literal: number;
}

const formOf = ([english, other]: Row): Form => {
  const parts = english.split(/\{(\d)\}/);
  const holes = parts.filter((_, i) => i % 2 === 1).map(Number);
  const texts = parts.filter((_, i) => i % 2 === 0);
  const escaped = texts.map((text) => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
  return {
    pattern: new RegExp(`^${escaped.join('(.*?)')}$`, 's'),
    holes,
    other,
    literal: texts.join('').length,
  };
};

const decimal = /^[-−]?\d+\.(\d+)$/;

/**
 * Sentences of the server by their English, for those that say no more than their words: the one that has most of the text
 * is taken, and what was put in is put in again, itself by its English. Several told in one, with `; ` between, are taken
 * one by one.
 *
 * @param number writes a number of that many decimals
 * @returns null where a sentence is not known
 */
export function byEnglish(
  rows: readonly Row[],
  number: (value: number, places: number) => string,
): (english: string) => string | null {
  const whole = new Map(rows.filter(([english]) => !/\{\d\}/.test(english)));
  const forms = rows
    .filter(([english]) => !whole.has(english))
    .map(formOf)
    .sort((a, b) => b.literal - a.literal);

  const putIn = (text: string): string => {
    const places = decimal.exec(text)?.[1]?.length;
    return places === undefined ? (say(text) ?? text) : number(Number(text.replace('−', '-')), places);
  };

  function one(english: string): string | null {
    const exact = whole.get(english);
    if (exact !== undefined) return exact;
    for (const { pattern, holes, other } of forms) {
      const found = pattern.exec(english);
      if (found === null) continue;
      return other.replace(/\{(\d)\}/g, (_, hole: string) => putIn(found[holes.indexOf(Number(hole)) + 1] ?? ''));
    }
    return null;
  }

  function say(english: string): string | null {
    if (english === '') return null;
    const told = one(english);
    if (told !== null) return told;
    for (let at = english.indexOf('; '); at >= 0; at = english.indexOf('; ', at + 2)) {
      const first = one(english.slice(0, at));
      const rest = first === null ? null : say(english.slice(at + 2));
      if (first !== null && rest !== null) return `${first}; ${rest}`;
    }
    return null;
  }
  return say;
}
