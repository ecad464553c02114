import { describe, expect, it } from 'vitest';
import { type AdviceFacts, adviceCodes, adviceMessage, cautionsOf } from '../../server/analysis/advice.ts';
import { healthCodes } from '../../server/analysis/health/finding.ts';
import { liningCautions } from '../../server/analysis/lining-cautions.ts';
import type { SensorFinding } from '../../server/api/contract/dwelling.ts';
import type { AdviceWire } from '../../server/api/contract/figures.ts';
import { deCautions } from '../../web/src/words/de-cautions.ts';
import { deSaid } from '../../web/src/words/de-said.ts';
import * as english from '../../web/src/words/english.ts';
import * as englishMore from '../../web/src/words/english-more.ts';
import { estimate, number, quantity } from '../../web/src/words/format.ts';
import * as german from '../../web/src/words/german.ts';
import * as germanMore from '../../web/src/words/german-more.ts';

/** Every text of a catalogue by its path; those with placeholders are given marks for them. */
function* texts(value: unknown, path: string): Generator<readonly [path: string, text: string, given: string[]]> {
  if (typeof value === 'string') yield [path, value, []];
  else if (typeof value === 'function') {
    const given = Array.from({ length: value.length }, (_, i) => `‹${i}›`);
    const made: unknown = value(...given);
    if (typeof made === 'string') yield [path, made, given];
  } else if (typeof value === 'object' && value !== null) {
    for (const [key, inner] of Object.entries(value)) {
      // sentences of the server have their own tests; these take more than plain placeholders
      if (/said$|saidFirst$/.test(key) || /\.describe$|\.titleBlock$/.test(`${path}.${key}`)) continue;
      yield* texts(inner, `${path}.${key}`);
    }
  }
}

const inEnglish = [...texts({ ...english, ...englishMore }, '')];
const inGerman = new Map([...texts({ ...german, ...germanMore }, '')].map(([path, text]) => [path, text]));

/** Words that stand in nearly every English sentence and are no German words. */
const englishWords = /\b(the|of|and|is|are|with|it|this|that|for|to|from|which|what|not|on|by|as|or)\b/i;
/** Names of things that are not translated; titles of journals, commands and settings are taken out of the text. */
const kept = new Set(['.settings.options.language.en-GB', '.settings.options.language.en-US']);

describe('the German catalogue', () => {
  it('has every text of the English one, and no other', () => {
    expect(inEnglish.length).toBeGreaterThan(900);
    expect([...inGerman.keys()].sort()).toEqual(inEnglish.map(([path]) => path).sort());
  });

  it('says in each what the English says of its placeholders', () => {
    for (const [path, text, given] of inEnglish) {
      const used = (of: string) => given.filter((mark) => of.includes(mark));
      expect([path, used(inGerman.get(path)!)]).toEqual([path, used(text)]);
    }
  });

  it('holds no English sentence', () => {
    const left = [...inGerman].filter(
      ([path, text]) =>
        !kept.has(path) &&
        !path.includes('optionNames') &&
        englishWords.test(
          text.replace(/[A-Z]+_[A-Z_]+|Wood Science and Technology|coomb --help|coomb passphrase/g, ''),
        ),
    );
    expect(left).toEqual([]);
  });

  it('differs from the English wherever that has more than three words', () => {
    const same = inEnglish.filter(
      ([path, text]) =>
        text.split(/\s+/).filter((word) => /^[a-z]{3,}$/.test(word)).length > 3 && inGerman.get(path) === text,
    );
    expect(same.map(([path]) => path)).toEqual([]);
  });
});

const said = deSaid({ number, quantity, estimate });

const facts: readonly AdviceFacts[] = [
  { code: 'wipe', data: { place: 'Rand' } },
  { code: 'ventilate', data: { room: 'Zimmer', excessPa: 310 } },
  { code: 'ventilate', data: { room: 'Zimmer', excessPa: null } },
  { code: 'open-door', data: { room: 'Zimmer', otherRoom: 'Flur', warmerByK: 2 } },
  { code: 'heat', data: { room: 'Zimmer', roomTemperatureC: 16, place: 'Rand', shortOfK: 1.2 } },
  { code: 'heat', data: { room: 'Zimmer', roomTemperatureC: 16, place: 'Rand', shortOfK: 0 } },
  { code: 'check-eaves', data: { because: 'loft-air', place: 'Dachraum', excessPa: 150 } },
  { code: 'check-eaves', data: { because: 'timber', place: 'Sparren', timberMoisturePct: 24 } },
  { code: 'check-lining', data: { place: 'Platte', humidityPct: 84 } },
  { code: 'check-sensors', data: { places: 'Rand', count: 1 } },
  { code: 'check-sensors', data: { places: 'Rand, Flur', count: 2 } },
];

describe('what the server says, in German', () => {
  it('has a sentence for every advice', () => {
    expect([...new Set(facts.map(({ code }) => code))].sort()).toEqual([...adviceCodes].sort());
    for (const one of facts) {
      const message = adviceMessage(one);
      const text = said.advice({ ...one, message, tone: 'act', placeId: 1, cautions: [] } as AdviceWire);
      expect(text).not.toBe(message);
      expect(text).not.toMatch(/undefined|NaN|null/);
      expect(text).not.toMatch(englishWords);
    }
  });

  it('has a sentence for every caution', () => {
    const codes = [...liningCautions, ...Object.values(cautionsOf).flat()].map(({ code }) => code);
    expect(Object.keys(deCautions).sort()).toEqual([...new Set(codes)].sort());
  });

  it.each(healthCodes)('has a sentence for a sensor that is %s', (code) => {
    const finding = { code, data: {}, effect: { kind: 'shown' }, message: 'ENGLISH', whatToDo: 'ENGLISH' };
    const text = said.sensor(finding as unknown as SensorFinding);
    expect(text).not.toContain('ENGLISH');
    expect(text).not.toMatch(englishWords);
  });
});
