import { describe, expect, it } from 'vitest';
import {
  matchedNights,
  matchedNightsSettings,
  type NightlyPlace,
  notEnoughNights,
} from '../../server/analysis/matched-nights.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const START = Date.UTC(2025, 10, 1);
const NIGHTS = 60;
const hours = NIGHTS * 24;
const column = (of: (hour: number) => number) => Float64Array.from({ length: hours }, (_, i) => of(i));
const nothing = column(() => Number.NaN);
const columns = (given: Partial<NightlyPlace['columns']>): NightlyPlace['columns'] => ({
  temperature: nothing,
  humidity: nothing,
  vapourPressure: nothing,
  dewPoint: nothing,
  margin: nothing,
  surfaceHumidity: nothing,
  timberMoisture: nothing,
  ...given,
});

// Night n runs from 18:00 of day n to 08:00 of the next; in winter the local time of London is UTC. Lined on day 30.
const nightOf = (hour: number) => Math.floor((hour - 18) / 24);
const isAfter = (hour: number) => nightOf(hour) >= 30;
/** the same weather again after 30 nights, 0.4 K milder */
const outdoorAt = (hour: number) => -4 + (nightOf(hour) % 30) * 0.5 + (isAfter(hour) ? 0.4 : 0);
const surfaceAt = (hour: number) => (isAfter(hour) ? 16 : 10) + outdoorAt(hour) / 10;

const outdoor = (temperature = column(outdoorAt)): NightlyPlace => ({
  placeId: 2,
  kind: 'outdoor-air',
  columns: columns({ temperature, vapourPressure: column(() => 500) }),
  marginLow: nothing,
});
const surface: NightlyPlace = {
  placeId: 1,
  kind: 'ceiling-surface',
  columns: columns({
    temperature: column(surfaceAt),
    margin: column((hour) => surfaceAt(hour) - 10),
    surfaceHumidity: column((hour) => (isAfter(hour) ? 68 : 98)),
    vapourPressure: column(() => 1228),
  }),
  marginLow: column((hour) => surfaceAt(hour) - 10.2),
};
const room: NightlyPlace = {
  placeId: 3,
  kind: 'room-air',
  columns: columns({ temperature: column(() => 18), vapourPressure: column((hour) => 900 + hour / 100) }),
  marginLow: nothing,
};
const input = {
  start: START,
  places: [surface, outdoor(), room],
  before: { from: START, to: START + 30 * DAY + 9 * HOUR },
  after: { from: START + 30 * DAY + 9 * HOUR, to: START + NIGHTS * DAY },
  leftOut: [],
  zone: 'Europe/London',
};

describe('cold nights before and after, of the same weather', () => {
  it('are paired by outdoor temperature, cold ones only', () => {
    const found = matchedNights(input);
    if (found.kind !== 'matched') throw new Error(found.reason);
    // Nights at -4 to 5 °C: 19 before, and 18 after since it is 0.4 K milder; each has a partner within 1 K.
    expect(found.pairs).toBe(18);
    expect(Math.abs(found.before.outdoorMeanC - found.after.outdoorMeanC)).toBeLessThan(matchedNightsSettings.withinK);
  });

  it('give back what was planted: 6 K on the surface, and no difference of the room', () => {
    const found = matchedNights(input);
    if (found.kind !== 'matched') throw new Error(found.reason);
    const [was, is] = [found.before.places[0]!, found.after.places[0]!];
    const rise = is.figures.temperature!.value - was.figures.temperature!.value;
    // a tenth of the pairs' difference outdoors is the surface's own
    expect(rise).toBeCloseTo(6, 0);
    expect(Math.abs(rise - 6)).toBeLessThanOrEqual(0.1);
    expect(was.state.code).toBe('risk');
    expect(is.state.code).toBe('clear');
    // The lowest margin before is at or below nought while outdoors is 2 °C or less: 10 + t/10 - 10.2. Those are 13 nights,
    // and the coldest, at -4 °C, has no partner: that at -3.6 °C is nearer to -3.5 °C.
    expect(was.condensationNights).toBe(12);
    expect(is).toMatchObject({ condensationNights: 0, knownNights: 18 });
    expect(found.after.places[2]!.figures.temperature).toEqual({ value: 18, low: 18, high: 18 });
    expect(found.after.places[2]!.figures.margin).toBeNull();
    expect(found.after.places[2]!.figures.vapourExcess!.value).toBeGreaterThan(
      found.before.places[2]!.figures.vapourExcess!.value,
    );
  });

  it('say half of the nights lie between the ends', () => {
    const found = matchedNights(input);
    if (found.kind !== 'matched') throw new Error(found.reason);
    const { value, low, high } = found.after.places[0]!.figures.temperature!;
    expect(low).toBeLessThan(value);
    expect(high).toBeGreaterThan(value);
  });

  it.each([
    ['there is no phase before', { ...input, before: null }, 'before-missing', /kind before/],
    ['there is no phase after', { ...input, after: null }, 'after-missing', /kind after/],
    ['outdoors is not watched', { ...input, places: [surface, room] }, 'outdoor-missing', /Outdoor air is not watched/],
    [
      'no night after is cold',
      { ...input, places: [surface, outdoor(column((hour) => (isAfter(hour) ? 9 : 0))), room] },
      'too-few-nights',
      /Only 0 cold nights.*before: 3\d.*after: 0/,
    ],
    [
      'the cold nights differ in weather',
      { ...input, places: [surface, outdoor(column((hour) => (isAfter(hour) ? 4 : -3))), room] },
      'too-few-nights',
      /Only 0 cold nights/,
    ],
    [
      'the works cover all but six nights',
      { ...input, leftOut: [{ from: START + 36 * DAY + 9 * HOUR, to: START + NIGHTS * DAY }] },
      'too-few-nights',
      /it takes 7/,
    ],
  ] as const)('are not enough evidence where %s', (_, given, reason, message) => {
    const found = matchedNights(given);
    expect(found).toMatchObject({ kind: 'not-enough', reason });
    if (found.kind === 'not-enough') expect(notEnoughNights(found)).toMatch(message);
  });

  it('leave out a night of which too little is known', () => {
    const holes = outdoor(column((hour) => (nightOf(hour) === 31 && hour % 3 !== 0 ? Number.NaN : outdoorAt(hour))));
    const found = matchedNights({ ...input, places: [surface, holes, room] });
    expect(found).toMatchObject({ kind: 'matched', pairs: 17 });
  });
});
