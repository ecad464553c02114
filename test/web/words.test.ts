import { describe, expect, it } from 'vitest';
import type { PlaceNow } from '../../server/api/contract/figures.ts';
import { screenAt } from '../../web/src/screen.ts';
import { ago, estimate, number, plusMinus } from '../../web/src/words/format.ts';
import { figureLines } from '../../web/src/words/place-figures.ts';

const plain = (text: string) => text.replaceAll('\u00a0', ' ');

describe('figures in words', () => {
  it('carry their unit and their ±', () => {
    expect(plain(plusMinus({ value: 16.44, plusMinus: 0.31 }, '°C', 1))).toBe('16.4 ± 0.3 °C');
    expect(plain(plusMinus({ value: 16.44, plusMinus: null }, '°C', 1))).toBe('16.4 °C');
  });

  it('never say ± 0 of an uncertainty that is there, nor −0 of a reading', () => {
    expect(plain(plusMinus({ value: 5, plusMinus: 0.2 }, '%', 0))).toBe('5 ± 1 %');
    expect(number(-0.04, 1)).toBe('0.0');
    expect(number(-2.25, 1)).toMatch(/^−2[.,][23]$/);
  });

  it('give an uneven interval by its ends', () => {
    expect(plain(estimate({ value: 0.52, low: 0.49, high: 0.55 }, '', 2))).toBe('0.52 ± 0.03');
    expect(plain(estimate({ value: 16, low: 9, high: 25 }, '%', 0))).toBe('16 % (9 to 25)');
    expect(plain(estimate({ value: 12, low: 12, high: 12 }, 'h', 0))).toBe('12 h');
  });

  it('say how long ago in the largest unit that fits', () => {
    const now = Date.UTC(2026, 0, 14, 22);
    expect(ago(now - 4 * 60_000, now)).toBe('4 minutes ago');
    expect(ago(now - 9 * 3_600_000, now)).toBe('9 hours ago');
    expect(ago(now - 3 * 86_400_000, now)).toBe('3 days ago');
  });
});

describe('a place on the section', () => {
  const place: PlaceNow = {
    placeId: 3,
    name: 'Edge',
    kind: 'ceiling-surface',
    airPlaceId: null,
    vapourPressure: null,
    at: '2026-01-14T22:10:00.000Z',
    state: { code: 'condensing', tone: 'act', words: 'wet' },
    temperature: { value: 8.1, plusMinus: 0.4 },
    humidity: null,
    dewPoint: { value: 9.1, plusMinus: 0.8 },
    margin: { value: -1, plusMinus: 0.9 },
    surfaceHumidity: { value: 107, plusMinus: 6 },
    vapourExcess: null,
    timberMoisture: null,
    findings: [],
    trends: [],
    position: null,
  };

  it('says how far below dew point a wet surface is, without a minus sign to miss', () => {
    expect(figureLines(place).beside.map(plain)).toEqual(['1.0 ± 0.9 K below dew point', '107 ± 6 % at the surface']);
  });

  it('shows no value as no value', () => {
    const nothing = { ...place, temperature: null, margin: null, surfaceHumidity: null, dewPoint: null };
    expect(figureLines(nothing)).toEqual({ main: [], beside: [] });
  });
});

describe('the address bar', () => {
  it('names every screen, and nothing else', () => {
    expect(screenAt('/')).toEqual({ kind: 'section' });
    expect(screenAt('/place/12')).toEqual({ kind: 'place', id: 12 });
    expect(screenAt('/tonight')).toEqual({ kind: 'tonight' });
    expect(screenAt('/before-after')).toEqual({ kind: 'before-after' });
    for (const path of ['/place', '/place/0', '/place/x', '/loft/1', '/tomorrow', '/place/1/2']) {
      expect(screenAt(path)).toEqual({ kind: 'nowhere' });
    }
  });
});
