import { describe, expect, it } from 'vitest';
import type { PlaceNow } from '../../server/api/contract/figures.ts';
import type { Night } from '../../server/api/contract/played-night.ts';
import { throughCeiling } from '../../web/src/drawing/through.ts';
import { dayAfter, placesInHour, tonesOf } from '../../web/src/night/view-model.ts';

const place = (kind: PlaceNow['kind'], placeId: number, t: number | null, vapour: number | null): PlaceNow => ({
  placeId,
  name: kind,
  kind,
  airPlaceId: kind === 'ceiling-surface' ? 1 : placeId,
  at: null,
  state: { code: 'as-measured', tone: 'quiet', words: '' },
  temperature: t === null ? null : { value: t, plusMinus: 0.2 },
  humidity: null,
  vapourPressure: vapour === null ? null : { value: vapour, plusMinus: 20 },
  dewPoint: kind === 'room-air' ? { value: 9.3, plusMinus: 0.5 } : null,
  margin: null,
  surfaceHumidity: null,
  vapourExcess: null,
  timberMoisture: null,
  trends: [],
  findings: [],
  position: null,
});

const all = [
  place('room-air', 1, 20, 1168),
  place('ceiling-surface', 2, 16, 1168),
  place('ceiling-surface', 3, 14, 1168),
  place('behind-lining', 4, 7, 800),
  place('outdoor-air', 5, 0, 500),
];

describe('the way through the ceiling', () => {
  it('goes from the room by the coldest surface and behind the lining to outdoors', () => {
    const { nodes, dewPoint } = throughCeiling(all, true)!;
    expect(nodes.map(({ name, placeId }) => [name, placeId])).toEqual([
      ['room', 1],
      ['surface', 3],
      ['behind', 4],
      ['outdoors', 5],
    ]);
    expect(dewPoint).toBe(9.3);
    // saturation over water at 20 °C and over ice at 0 °C: 2337 and 610.5 Pa (ISO 13788:2012, E.7 and E.8)
    expect(nodes[0]!.most).toBeCloseTo(2337, 0);
    expect(nodes[3]!.most).toBeGreaterThan(610);
    expect(nodes[3]!.most).toBeLessThan(612);
  });

  it('leaves the hidden layer out where there is no lining, and what is not measured', () => {
    expect(throughCeiling(all, false)!.nodes.map(({ name }) => name)).toEqual(['room', 'surface', 'outdoors']);
    const silent = all.map((each) => (each.kind === 'outdoor-air' ? place('outdoor-air', 5, null, null) : each));
    expect(throughCeiling(silent, true)!.nodes.map(({ name }) => name)).toEqual(['room', 'surface', 'behind']);
  });

  it('is not drawn without a surface, or with nothing beside it', () => {
    expect(throughCeiling([place('room-air', 1, 20, 1168)], true)).toBeNull();
    expect(throughCeiling([place('ceiling-surface', 2, 16, null)], true)).toBeNull();
    expect(throughCeiling([], true)).toBeNull();
  });
});

describe('a night on the page', () => {
  const column = (values: (number | null)[], half: number | null) => ({ values, plusMinus: values.map(() => half) });
  const none = column([null, null], null);
  const quiet = { code: 'clear', tone: 'quiet', words: 'clear' } as const;
  const wet = { code: 'condensing', tone: 'act', words: 'moisture settled' } as const;
  const gap = { code: 'gap', tone: 'unknown', words: 'not measured' } as const;
  const of = (placeId: number, kind: PlaceNow['kind'], states: Night['places'][number]['states']) => ({
    placeId,
    name: kind,
    kind,
    airPlaceId: 1,
    position: null,
    states,
    figures: {
      temperature: column([12.5, null], 0.3),
      humidity: none,
      vapourPressure: none,
      dewPoint: none,
      margin: column([0, null], null),
      surfaceHumidity: none,
      vapourExcess: none,
      timberMoisture: none,
    },
  });
  const night: Night = {
    night: '2026-01-14',
    start: '2026-01-14T12:00:00.000Z',
    hours: 2,
    nightFrom: '2026-01-14T18:00:00.000Z',
    nightTo: '2026-01-15T08:00:00.000Z',
    firstNight: '2026-01-14',
    lastNight: '2026-01-14',
    headlines: [],
    places: [
      of(1, 'room-air', [wet, wet]),
      of(2, 'ceiling-surface', [quiet, gap]),
      of(3, 'control-surface', [wet, gap]),
    ],
  };

  it('has the hour’s values with their ±, a margin of nought as nought, and a gap as nothing', () => {
    const [, first] = placesInHour(night, 0);
    expect(first).toMatchObject({
      at: '2026-01-14T12:00:00.000Z',
      temperature: { value: 12.5, plusMinus: 0.3 },
      margin: { value: 0, plusMinus: null },
      state: quiet,
    });
    expect(placesInHour(night, 1)[1]).toMatchObject({ temperature: null, margin: null, state: gap });
  });

  it('has in its strip the gravest state of any surface, and none of the air', () => {
    expect(tonesOf(night)).toEqual(['act', 'unknown']);
  });

  it('goes from date to date over the ends of months, years and summer time', () => {
    expect(dayAfter('2026-12-31', 1)).toBe('2027-01-01');
    expect(dayAfter('2028-03-01', -1)).toBe('2028-02-29');
    expect(dayAfter('2026-03-28', 1)).toBe('2026-03-29');
    expect(dayAfter('2026-10-26', -1)).toBe('2026-10-25');
  });
});
