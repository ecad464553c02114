import { describe, expect, it } from 'vitest';
import { type AdviceFacts, adviceCodes, adviceMessage, cautionsOf } from '../../server/analysis/advice.ts';
import { healthCodes } from '../../server/analysis/health/finding.ts';
import { liningCautions } from '../../server/analysis/lining-cautions.ts';
import { noticeText } from '../../server/analysis/watch/say-notice.ts';
import { type WatchData, type WatchRule, watchRules } from '../../server/analysis/watch/watch-event.ts';
import type { SensorFinding } from '../../server/api/contract/dwelling.ts';
import type { AdviceWire } from '../../server/api/contract/figures.ts';
import type { NoticeWire } from '../../server/api/contract/notices.ts';
import { onboardingColumns } from '../../server/ingest/onboarding-file.ts';
import { deCautions } from '../../server/words/de-cautions.ts';
import { deSaid } from '../../web/src/words/de-said.ts';
import * as english from '../../web/src/words/english.ts';
import * as englishMore from '../../web/src/words/english-more.ts';
import { estimate, number, plusMinus, quantity, when } from '../../web/src/words/format.ts';
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
      if (/said$|saidFirst$|^meanings$/.test(key) || /\.describe$|\.titleBlock$/.test(`${path}.${key}`)) continue;
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

  it('has a meaning for every column of a file of homes, and for no other', () => {
    expect(Object.keys(germanMore.onboarding.meanings)).toEqual(Object.keys(onboardingColumns));
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

const said = deSaid({ number, quantity, estimate, plusMinus, when });

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

const HOUR_MS = 3_600_000;
const begunAt = Date.UTC(2026, 0, 14, 21);

/** What each rule may find; every case of its sentences is among them. */
const foundBy: Readonly<Record<WatchRule, readonly WatchData[]>> = {
  'condensation-ahead': [
    {
      date: '2026-01-15',
      nightFrom: begunAt,
      nightTo: begunAt + 10 * HOUR_MS,
      likeliestAt: begunAt + 8 * HOUR_MS,
      excessPa: 212,
      marginK: -0.4,
      marginLowK: -1.6,
      marginHighK: 0.7,
    },
  ],
  'condensing-now': [
    { hours: 3, marginK: -0.6, marginPlusMinusK: 0.5, surfaceC: 8.1, dewPointC: 8.7, excessPa: null },
    { live: true, readAt: begunAt, marginK: -0.6, marginPlusMinusK: null, surfaceC: 8.1, dewPointC: 8.7, excessPa: -3 },
  ],
  'surface-damp': [{ hours: 19, ofHours: 24, limitPct: 80, highestPct: 91, excessPa: 212 }],
  'mould-stage': [
    { stage: 1, visible: false, index: 1.2 },
    { stage: 3, visible: true, index: 3.4 },
  ],
  'hidden-layer-damp': [
    { days: 7, limitPct: 80, dampSharePct: 63, humidityPct: 86, humidityPlusMinusPct: 4, temperatureC: 5.5 },
  ],
  'loft-wetter': [
    { days: 14, excessPa: 152, beforePa: 61, limitPa: 121 },
    { days: 14, excessPa: 152, beforePa: null, limitPa: 121 },
  ],
  'timber-wet': [{ moisturePct: 23.5, limitPct: 20, hours: 72 }],
  'room-too-cold': [{ days: 3, roomC: 13.2, belowC: 14, outdoorsC: 4.1 }],
  'room-too-moist': [
    {
      days: 7,
      humidityPct: 84,
      surface: 'Rand',
      surfaceC: 9.3,
      roomC: 17.8,
      roomHumidityPct: 66,
      excessPa: 390,
      factor: 0.52,
      factorWanted: 0.74,
    },
  ],
  'sensor-trouble': [
    { sensor: 'k4', code: 'silent', effect: 'shown', quietHours: 31, message: 'ENGLISH', whatToDo: 'ENGLISH' },
  ],
  'readings-stopped': [{ hours: 6 }],
  'not-stored': [
    { fault: 'full' },
    { fault: 'read-only' },
    { fault: 'busy' },
    { fault: 'unreachable' },
    { fault: 'failed' },
  ],
};

const foundWith = watchRules.flatMap((rule) => foundBy[rule].map((data) => [rule, data] as const));

const zone = 'Europe/Berlin';
function noticeOf(rule: WatchRule, data: WatchData, more: Partial<NoticeWire> = {}): NoticeWire {
  const facts = { rule, placeId: 1, data, begunAt, endedAt: null, endReason: null, withdrawnAt: null, chance: 0.9 };
  const english = noticeText(facts, { zone, place: () => 'Rand', roomOf: () => 'Zimmer' });
  return {
    ...english,
    code: rule,
    place: 'Rand',
    room: 'Zimmer',
    data,
    chance: 0.9,
    begunAt: new Date(begunAt).toISOString(),
    endedAt: null,
    endReason: null,
    withdrawn: false,
    ...more,
  } as NoticeWire;
}

describe('a notice in German', () => {
  it.each(foundWith)('of %s says what the English says, with its figures', (rule, data) => {
    const english = noticeOf(rule, data);
    const german = said.notice(english, zone);
    const all = [german.title, german.what, german.since, german.howSure, ...german.whatToDo].join(' ');
    expect(all).not.toMatch(englishWords);
    expect(all).not.toMatch(/undefined|NaN|null|ENGLISH/);
    // dates are written otherwise; every other figure of the English stands in the German
    const figures = (text: string) => (text.replace(/night of [-0-9]+/, '').match(/\d+(\.\d+)?/g) ?? []).sort();
    if (rule !== 'sensor-trouble' && rule !== 'condensation-ahead') {
      expect(figures(german.what)).toEqual(figures(english.what));
    }
    if (rule !== 'sensor-trouble') expect(german.whatToDo).toHaveLength(english.whatToDo.length);
    expect(german.cautions.map(({ code }) => code)).toEqual(english.cautions.map(({ code }) => code));
    for (const [k, { message }] of german.cautions.entries()) expect(message).not.toBe(english.cautions[k]!.message);
  });

  it('says how long it lasted and how it ended', () => {
    const endedAt = new Date(begunAt + 30 * HOUR_MS).toISOString();
    const since = (more: Partial<NoticeWire>) =>
      said.notice(noticeOf('timber-wet', foundBy['timber-wet'][0]!, more), zone).since;
    expect(since({ endedAt, endReason: 'over' })).toMatch(/^Von .*22:00 bis .*04:00, 30 Stunden\.$/);
    expect(since({ endedAt, endReason: 'no-data' })).toMatch(/nicht bekannt/);
    expect(since({ endedAt, endReason: 'rule-off' })).toMatch(/nicht mehr geachtet/);
    expect(since({ withdrawn: true })).toMatch(/^Gemeldet für/);
  });
});
