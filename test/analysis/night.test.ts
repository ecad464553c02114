import { describe, expect, it } from 'vitest';
import { nightFromNoonOf, nightSpan, type PlayedPlace, playHours } from '../../server/analysis/night.ts';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { dewPoint } from '../../server/physics/saturation.ts';
import { standardFromLimit } from '../../server/physics/uncertainty.ts';
import { vapourPressure } from '../../server/physics/vapour.ts';

const HOUR = 3_600_000;
const zone = 'Europe/London';

describe('a night from noon to noon', () => {
  // Clocks changed on 29 March and 25 October 2026 at 01:00 UTC (tz database).
  it.each([
    ['2026-01-14', 24, '2026-01-14T12:00:00.000Z'],
    ['2026-03-28', 23, '2026-03-28T12:00:00.000Z'],
    ['2026-10-24', 25, '2026-10-24T11:00:00.000Z'],
  ])('that begins on %s has %i hours', (night, hours, from) => {
    const span = nightSpan(night, zone);
    expect((span.to - span.from) / HOUR).toBe(hours);
    expect(new Date(span.from).toISOString()).toBe(from);
    expect((span.nightTo - span.nightFrom) / HOUR).toBe(hours - 10);
    for (let at = span.from; at < span.to; at += HOUR) expect(nightFromNoonOf(at, zone)).toBe(night);
    expect(nightFromNoonOf(span.to, zone)).not.toBe(night);
  });

  it('is refused where the date or the zone does not exist', () => {
    expect(() => nightSpan('2026-02-30', zone)).toThrow(RangeError);
    expect(() => nightSpan('2026-02-20', 'Europe/Nowhere')).toThrow(RangeError);
  });
});

describe('hours that are played', () => {
  const columns = (values: Partial<Record<keyof PlayedPlace['columns'], number[]>>): PlayedPlace['columns'] => {
    const of = (name: keyof PlayedPlace['columns']) => Float64Array.from(values[name] ?? [Number.NaN, Number.NaN]);
    return {
      temperature: of('temperature'),
      humidity: of('humidity'),
      vapourPressure: of('vapourPressure'),
      dewPoint: of('dewPoint'),
      margin: of('margin'),
      surfaceHumidity: of('surfaceHumidity'),
      timberMoisture: of('timberMoisture'),
    };
  };
  const place = (placeId: number, kind: PlaceKind, own: PlayedPlace['columns']): PlayedPlace => ({
    placeId,
    name: kind,
    kind,
    facesPlaceId: null,
    columns: own,
    errors: {
      temperature: [{ source: `${placeId} t`, contribution: standardFromLimit(0.2) }],
      humidity: [{ source: `${placeId} h`, contribution: standardFromLimit(1.8) }],
      timberMoisture: [],
    },
  });
  const dew = dewPoint(vapourPressure(20, 50));
  const room = place(
    1,
    'room-air',
    columns({ temperature: [20, 20], humidity: [50, 50], vapourPressure: [1168.5, 1168.5], dewPoint: [dew, dew] }),
  );

  it('show the record of the hour and not what its means would give', () => {
    // The mean margin of an hour is not the margin of its means: the record knows better.
    const surface = place(
      2,
      'ceiling-surface',
      columns({
        temperature: [12.6, 12.6],
        margin: [-0.2, 4],
        surfaceHumidity: [101, 76],
        vapourPressure: [1170, 1170],
      }),
    );
    const [first, second] = playHours([room, surface], 0, 2);
    expect(first!.places[1]!.margin!.value).toBe(-0.2);
    expect(first!.places[1]!.state.code).toBe('condensing');
    expect(first!.headline).toBe('Moisture settled: ceiling-surface.');
    expect(second!.places[1]!.state.code).toBe('close');
    expect(second!.headline).toBe('Dry, but ceiling-surface is close.');
    // its doubt comes from the sensors: see the margin in now.test.ts, the same case
    const expected = 2 * Math.hypot((0.2967 * 1.8) / Math.sqrt(3), (0.918 * 0.2) / Math.sqrt(3), 0.2 / Math.sqrt(3));
    expect(second!.places[1]!.margin!.plusMinus).toBeCloseTo(expected, 2);
  });

  it('that were not measured are a gap, and no value is made up', () => {
    const surface = place(2, 'ceiling-surface', columns({ temperature: [Number.NaN, 12.6] }));
    const [first, second] = playHours([room, surface], 0, 2);
    expect(first!.places[1]!.state).toMatchObject({ code: 'gap', tone: 'unknown' });
    expect(first!.places[1]!.temperature).toBeNull();
    // A temperature whose hour has no margin is shown, and not judged.
    expect(second!.places[1]!.margin).toBeNull();
    expect(second!.places[1]!.state.code).toBe('as-measured');
    expect(second!.headline).toBe('No surface can be judged in this hour.');
  });

  it('have the excess over outdoors of the records themselves', () => {
    const outdoors = place(
      3,
      'outdoor-air',
      columns({ temperature: [0, 0], humidity: [80, 80], vapourPressure: [489, Number.NaN] }),
    );
    const [first, second] = playHours([room, outdoors], 0, 2);
    expect(first!.places[0]!.vapourExcess!.value).toBeCloseTo(1168.5 - 489, 9);
    expect(second!.places[0]!.vapourExcess).toBeNull();
  });
});
