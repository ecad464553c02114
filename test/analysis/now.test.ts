import { describe, expect, it } from 'vitest';
import { dwellingNow, type Latest, type LatestAtPlace } from '../../server/analysis/now.ts';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { dewPoint } from '../../server/physics/saturation.ts';
import { measured, standardFromLimit } from '../../server/physics/uncertainty.ts';
import { vapourPressure } from '../../server/physics/vapour.ts';

const NOW = Date.UTC(2026, 0, 14, 22, 10);
const HOUR = 3_600_000;

const latest = (value: number, age = 60_000): Latest => ({
  time: NOW - age,
  measured: measured(value),
  intervalSeconds: 600,
});

function place(
  kind: PlaceKind,
  values: Partial<Pick<LatestAtPlace, 'temperature' | 'humidity' | 'timberMoisture'>>,
): LatestAtPlace {
  const placeId =
    ['room-air', 'ceiling-surface', 'outdoor-air', 'behind-lining', 'loft-timber', 'loft-air'].indexOf(kind) + 1;
  return {
    placeId,
    name: kind,
    kind,
    facesPlaceId: null,
    temperature: null,
    humidity: null,
    timberMoisture: null,
    ...values,
  };
}

const room = place('room-air', { temperature: latest(20), humidity: latest(50) });
const stateAt = (surface: number): ReturnType<typeof dwellingNow> =>
  dwellingNow([room, place('ceiling-surface', { temperature: latest(surface) })], NOW);

describe('a surface now', () => {
  const dew = dewPoint(vapourPressure(20, 50));

  it.each([
    [dew - 0.1, 'condensing', 'act', /settling/],
    [dew + 1, 'risk', 'act', /damp/i],
    [17, 'clear', 'quiet', /^Dry now\.$/],
  ])('of %f °C in a room of 20 °C and 50 % is %s', (surface, code, tone, headline) => {
    const result = stateAt(surface);
    expect(result.places[1]!.state).toMatchObject({ code, tone });
    expect(result.headline).toMatch(headline);
  });

  it('is close when it lacks little to the 80 % at which mould can grow', () => {
    const result = stateAt(13.3);
    expect(result.places[1]!.surfaceHumidity!.value).toBeGreaterThan(75);
    expect(result.places[1]!.surfaceHumidity!.value).toBeLessThan(80);
    expect(result.places[1]!.state).toMatchObject({ code: 'close', tone: 'watch' });
    expect(result.headline).toMatch(/close/);
  });

  it('is not judged by a room that has not been heard for hours', () => {
    const old = place('room-air', { temperature: latest(20, 5 * HOUR), humidity: latest(50, 5 * HOUR) });
    const result = dwellingNow([old, place('ceiling-surface', { temperature: latest(8) })], NOW);
    expect(result.places[1]!.margin).toBeNull();
    expect(result.places[1]!.state).toMatchObject({ code: 'as-measured', tone: 'unknown' });
    expect(result.places[0]!.state.code).toBe('stale');
    expect(result.headline).toMatch(/cannot|No surface/);
  });
});

describe('the figures now', () => {
  it('carry the error of the sensors to the margin: 20 °C, 50 %, SHT40, a surface known to 0.2 K', () => {
    // physics: dew point moves 0.2967 K per % and 0.918 K per K at 20 °C and 50 % (computed from ISO 13788)
    const sure = (value: number, limit: number, source: string): Latest => ({
      ...latest(value),
      measured: measured(value, { source, contribution: standardFromLimit(limit) }),
    });
    const air = place('room-air', { temperature: sure(20, 0.2, 'a t'), humidity: sure(50, 1.8, 'a h') });
    const surface = place('ceiling-surface', { temperature: sure(12.6, 0.2, 's t') });
    const margin = dwellingNow([air, surface], NOW).places[1]!.margin!;
    const expected = 2 * Math.hypot((0.2967 * 1.8) / Math.sqrt(3), (0.918 * 0.2) / Math.sqrt(3), 0.2 / Math.sqrt(3));
    expect(margin.plusMinus).toBeCloseTo(expected, 2);
  });
});

describe('other places now', () => {
  it('behind the lining is judged by its own air', () => {
    const result = dwellingNow([room, place('behind-lining', { temperature: latest(7), humidity: latest(85) })], NOW);
    expect(result.places[1]!.surfaceHumidity!.value).toBeCloseTo(85, 6);
    expect(result.places[1]!.state.code).toBe('damp');
    const dry = place('ceiling-surface', { temperature: latest(17) });
    const both = dwellingNow(
      [room, dry, place('behind-lining', { temperature: latest(7), humidity: latest(85) })],
      NOW,
    );
    expect(both.headline).toBe('Dry in the room, damp out of sight: behind-lining.');
  });

  it('timber is wet over 20 %', () => {
    const at = (moisture: number) =>
      dwellingNow([place('loft-timber', { timberMoisture: latest(moisture) })], NOW).places[0]!.state.code;
    expect(at(15.8)).toBe('dry');
    expect(at(20.5)).toBe('wet');
  });

  it('rooms and lofts have an excess over outdoors once outdoors is known', () => {
    const out = place('outdoor-air', { temperature: latest(0), humidity: latest(80) });
    const excess = dwellingNow([room, out], NOW).places[0]!.vapourExcess!.value;
    expect(excess).toBeCloseTo(vapourPressure(20, 50) - vapourPressure(0, 80), 9);
    expect(dwellingNow([room], NOW).places[0]!.vapourExcess).toBeNull();
  });

  it('a home without readings says what to do', () => {
    expect(dwellingNow([place('room-air', {})], NOW)).toMatchObject({ headline: 'No readings yet.' });
  });
});
