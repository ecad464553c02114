import { afterEach, describe, expect, it } from 'vitest';
import { correctionText } from '../../web/src/calibrating/figures.ts';
import { prefer, readPreferences } from '../../web/src/preferences.ts';
import { estimate, number, plusMinus, quantity } from '../../web/src/words/format.ts';

const plain = (text: string) => text.replaceAll('\u00a0', ' ');
afterEach(() => prefer({ temperature: 'celsius', language: 'browser' }));

describe('temperatures in the reader’s unit', () => {
  // NIST SP 811 (2008), appendix B.8: the fixed points of both scales
  it.each([
    [0, '32.0 °F'],
    [100, '212.0 °F'],
    [-40, '−40.0 °F'],
    [37, '98.6 °F'],
  ])('%d °C is %s', (celsius, fahrenheit) => {
    prefer({ temperature: 'fahrenheit' });
    expect(plain(quantity(celsius, '°C', 1))).toBe(fahrenheit);
  });

  it('are shifted; differences and the give of either are not', () => {
    prefer({ temperature: 'fahrenheit', language: 'en-GB' });
    expect(plain(quantity(0, 'K', 1))).toBe('0.0 °F');
    expect(plain(plusMinus({ value: 10, plusMinus: 0.5 }, '°C', 1))).toBe('50.0 ± 0.9 °F');
    expect(plain(plusMinus({ value: 3, plusMinus: 0.5 }, 'K', 1))).toBe('5.4 ± 0.9 °F');
    expect(plain(estimate({ value: 10, low: 9.5, high: 10.5 }, '°C', 1))).toBe('50.0 ± 0.9 °F');
    expect(plain(estimate({ value: 2, low: 1, high: 5 }, 'K', 1))).toBe('3.6 °F (1.8 to 9.0)');
    expect(plain(estimate({ value: 10, low: 5, high: 20 }, '°C', 0))).toBe('50 °F (41 to 68)');
    expect(plain(correctionText(-0.5, 0.05, '°C', 'temperature'))).toBe('−0.90 ± 0.18 °F');
  });

  it('leave every other quantity as it is', () => {
    prefer({ temperature: 'fahrenheit', language: 'en-GB' });
    expect(plain(quantity(55, '%', 0))).toBe('55 %');
    expect(plain(quantity(120, 'Pa', 0))).toBe('120 Pa');
  });
});

describe('numbers and dates', () => {
  it('are written as the reader chose', () => {
    prefer({ language: 'en-US' });
    expect(number(12345.6, 1)).toBe('12,345.6');
  });
});

describe('what was kept', () => {
  it('counts only as far as it still means something', () => {
    const usual = readPreferences(null);
    expect(readPreferences('not JSON')).toEqual(usual);
    expect(readPreferences('[1, 2]')).toEqual(usual);
    expect(readPreferences('{"temperature":"kelvin","theme":"dark","__proto__":{"contrast":"more"}}')).toEqual({
      ...usual,
      theme: 'dark',
    });
  });
});
