import { describe, expect, test } from 'vitest';
import { coldestNight } from '../../server/analysis/coldest-night.ts';
import { assessLining } from '../../server/analysis/lining.ts';
import type { LiningInput, LoggedHours } from '../../server/analysis/lining-input.ts';
import { monthlyClimate } from '../../server/analysis/monthly-climate.ts';
import { HOUR_MS } from '../../server/analysis/vocabulary.ts';
import type { Layer } from '../../server/physics/build-up.ts';
import type { AirHours } from '../../server/physics/hidden-layer.ts';
import { materials } from '../../server/physics/material.ts';
import { mouldIndex } from '../../server/physics/mould-index.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { temperatureFactor } from '../../server/physics/surface.ts';

const board: Layer = { kind: 'solid', name: 'old plasterboard', thickness: 0.0125, material: materials.plasterboard };
const newBoard: Layer = { ...board, name: 'new plasterboard' };
const openFoam: Layer = { kind: 'solid', name: 'foam', thickness: 0.07, material: materials['rigid-polyurethane'] };
const foam: Layer = { ...openFoam, sd: 100 };
const gloss: Layer = { kind: 'declared', name: 'old gloss paint', resistance: 0, sd: 3 };
const void_: Layer = { kind: 'air', name: 'void', thickness: 0.1, openingMm2: 25_000 };

/**
 * A year with swings of temperature by day. Outdoors the vapour pressure is that of 75 % at the mean of the day; the vapour
 * excess of the room falls to nothing at 20 °C outdoors.
 */
function year(excess: number, hours = 8760): AirHours {
  const fill = (value: (hour: number) => number): Float64Array =>
    Float64Array.from({ length: hours }, (_, i) => value(i));
  const season = (hour: number): number => 9 - 7 * Math.cos((2 * Math.PI * (hour - 480)) / 8760);
  const outdoor = (hour: number): number => season(hour) - 3 * Math.cos((2 * Math.PI * (hour - 3)) / 24);
  const outdoorPressure = (hour: number): number => 0.75 * saturationPressureOverWater(season(hour));
  return {
    roomTemperature: fill(() => 20),
    outdoorTemperature: fill(outdoor),
    outdoorVapourPressure: fill(outdoorPressure),
    roomVapourPressure: fill(
      (hour) => outdoorPressure(hour) + excess * Math.min(1, Math.max(0, (20 - outdoor(hour)) / 20)),
    ),
  };
}
const START = Date.UTC(2025, 0, 1);
const logged = (excess: number): LoggedHours => ({ start: START, zone: 'UTC', air: year(excess) });

const input = (over: Partial<LiningInput> = {}): LiningInput => ({
  before: { pitch: 40, layers: [board, void_] },
  after: { pitch: 40, layers: [newBoard, foam, board, void_] },
  oldSurface: 2,
  vapourControl: [1],
  design: { roomTemperature: 20, roomHumidity: 50, outdoorTemperature: -5, outdoorHumidity: 80 },
  climate: null,
  logged: null,
  airLeak: 0,
  mould: {},
  cup: 'dry',
  ...over,
});
const codes = (over: Partial<LiningInput>): string[] => assessLining(input(over)).notices.map(({ code }) => code);

describe('heat before and after', () => {
  const result = assessLining(input());

  test('f and U are given for surface resistances 0.10, 0.13 and 0.25 and agree with the surface temperature', () => {
    for (const figures of [result.before, result.after]) {
      expect(figures.transmittances.map(({ rsi }) => rsi)).toEqual([0.1, 0.13, 0.25]);
      figures.transmittances.forEach(({ temperatureFactor: f }, index) => {
        // Without bridges, mean and lowest are the same surface.
        expect(temperatureFactor(figures.design[index]!.lowestTemperature, 20, -5)).toBeCloseTo(f, 10);
        expect(figures.design[index]!.meanTemperature).toBeCloseTo(figures.design[index]!.lowestTemperature, 10);
      });
    }
  });

  test('the surface is warmer after, and the old one behind the lining colder than before', () => {
    expect(result.after.design[0]!.lowestTemperature).toBeGreaterThan(result.before.design[0]!.lowestTemperature);
    expect(result.hidden.asDescribed.design.temperature).toBeLessThan(result.hidden.before.design.temperature);
  });

  test('before the lining, the old surface is the ceiling surface', () => {
    expect(result.hidden.before.design.temperature).toBeCloseTo(result.before.design[0]!.lowestTemperature, 10);
  });

  test('ribs are named where they are the coldest way through', () => {
    const ribs = { name: 'ribs', material: materials.softwood, share: 0.06 };
    const { after } = assessLining(
      input({ after: { pitch: 40, layers: [newBoard, { ...foam, bridge: ribs }, board, void_] } }),
    );
    expect(after.design[0]!.coldestThrough).toEqual(['ribs']);
    expect(after.design[0]!.lowestTemperature).toBeLessThan(after.design[0]!.meanTemperature);
  });

  test('the lining weighs what its board and foam weigh', () => {
    expect(result.liningMass).toBeCloseTo(0.0125 * 900 + 0.07 * 32, 10);
  });
});

describe('the hidden layer', () => {
  test('a lining that lets no vapour or air behind it is not called worse', () => {
    expect(codes({ logged: logged(500) })).not.toContain('hidden-layer-worse');
  });

  test('a hidden surface that is damper, but without a chance for mould, gets a caution and no warning', () => {
    const { notices } = assessLining(input({ logged: logged(300) }));
    expect(notices[0]).toMatchObject({ code: 'hidden-layer-damper', severity: 'caution' });
    expect(notices[0]!.data.damper_in).toEqual(['risk-hours']);
  });

  test('water behind the lining is warned of even where the ceiling was wet before', () => {
    const damp = { roomTemperature: 20, roomHumidity: 60, outdoorTemperature: -5, outdoorHumidity: 80 };
    // By hand: leak 0.2/3600/(461.5 * 293.15) = 4.1e-10, board 2e-10/0.125 = 1.6e-9; 540 Pa against 440 at saturation.
    const { notices, hidden } = assessLining(input({ design: damp, airLeak: 0.2 }));
    expect([hidden.before.design.wet, hidden.asDescribed.design.wet]).toEqual([true, true]);
    expect(notices[0]).toMatchObject({ code: 'hidden-layer-wet', severity: 'warning' });
  });

  test('open foam over gloss paint shuts vapour in behind the lining: the hidden layer is called worse', () => {
    const result = assessLining(
      input({
        before: { pitch: 40, layers: [gloss, board, void_] },
        after: { pitch: 40, layers: [newBoard, openFoam, gloss, board, void_] },
        vapourControl: [],
        logged: logged(300),
      }),
    );
    const notice = result.notices.find(({ code }) => code === 'hidden-layer-worse');
    expect(notice?.severity).toBe('warning');
    expect(notice?.message).toContain('old gloss paint');
    const { before, asDescribed } = result.hidden;
    expect(asDescribed.logged!.mouldHighest).toBeGreaterThan(before.logged!.mouldHighest);
    expect(result.notices.map(({ code }) => code)).toContain('vapour-control-decides');
  });

  test('where only the leak makes it worse, the notice says that tightness decides', () => {
    const leaky = { logged: logged(300), airLeak: 0.5 };
    expect(codes(leaky)).toEqual(expect.arrayContaining(['hidden-layer-worse', 'air-tightness-decides']));
    expect(codes({ ...leaky, airLeak: 0 })).not.toContain('hidden-layer-worse');
  });

  test('is given with and without vapour control, without and with the leak', () => {
    const { hidden } = assessLining(input({ airLeak: 0.1 }));
    expect(hidden.after.map(({ vapourControl, airLeak }) => [vapourControl, airLeak])).toEqual([
      ['with', 0],
      ['with', 0.1],
      ['without', 0],
      ['without', 0.1],
    ]);
    expect(hidden.asDescribed).toBe(hidden.after[1]);
    const [with_, , without] = hidden.after;
    expect(with_!.layer.sdToRoom).toBeCloseTo(0.125 + 100, 10);
    expect(without!.layer.sdToRoom).toBeCloseTo(0.125 + 60 * 0.07, 10);
  });

  test('a lining without vapour control is compared with one that has a film', () => {
    const { hidden } = assessLining(
      input({ after: { pitch: 40, layers: [newBoard, openFoam, board, void_] }, vapourControl: [] }),
    );
    const film = hidden.after.find(({ vapourControl }) => vapourControl === 'with')!;
    expect(film.layer.sdToRoom - hidden.asDescribed.layer.sdToRoom).toBeCloseTo(50, 10);
    expect(film.layer.resistanceToRoom).toBeCloseTo(hidden.asDescribed.layer.resistanceToRoom, 12);
  });

  test('its mould index by the log is the mould index of its hours', () => {
    const { hidden } = assessLining(input({ logged: logged(800), airLeak: 0.5 }));
    const { series, mouldHighest, mouldAtEnd } = hidden.asDescribed.logged!;
    const run = mouldIndex(series.temperature, series.humidity, undefined, hidden.mouldOptions);
    expect(mouldAtEnd).toBe(run.state.index);
    expect(mouldHighest).toBe(run.state.highest);
    expect(mouldHighest).toBeGreaterThan(0);
  });

  test('an old surface that the lining does not cover is refused', () => {
    expect(() => assessLining(input({ oldSurface: 0 }))).toThrow(RangeError);
    expect(() => assessLining(input({ oldSurface: 3 }))).toThrow(RangeError);
  });
});

describe('climate from the log', () => {
  test('monthly means of a whole year equal means worked out month by month', () => {
    const air = year(500);
    const climate = monthlyClimate(air, START, 'UTC');
    if (climate.kind !== 'year') throw new Error('the year is whole');
    const from = (Date.UTC(2025, 2, 1) - START) / HOUR_MS;
    const to = (Date.UTC(2025, 3, 1) - START) / HOUR_MS;
    const march = [...air.outdoorTemperature.slice(from, to)];
    expect(climate.months[2]!.name).toBe('March');
    expect(climate.months[2]!.days).toBe(31);
    expect(climate.months[2]!.outdoorTemperature).toBeCloseTo(
      march.reduce((sum, one) => sum + one, 0) / march.length,
      10,
    );
  });

  test('a month with a third of its hours missing is named, and there is no table', () => {
    const air = year(500);
    const from = (Date.UTC(2025, 5, 1) - START) / HOUR_MS;
    air.roomTemperature.fill(Number.NaN, from, from + 250);
    expect(monthlyClimate(air, START, 'UTC')).toEqual({ kind: 'not-enough', missing: ['June'] });
    const result = assessLining(input({ logged: { start: START, zone: 'UTC', air } }));
    expect(result.after.condensation).toBeNull();
    expect(result.notices.find(({ code }) => code === 'no-monthly-climate')?.message).toContain('June');
  });

  test('a whole logged year gives the condensation table, and what it says comes from the log', () => {
    const result = assessLining(input({ logged: logged(500) }));
    expect(result.climateFrom).toBe('the log');
    expect(result.after.condensation?.months).toHaveLength(12);
  });

  test('the coldest night is the local one', () => {
    const air = year(500, 24 * 20);
    // 20 to 21 January UTC, 18 to 07 h: the night of the 20th in London is the coldest by 8 K.
    const from = (Date.UTC(2025, 0, 10, 18) - START) / HOUR_MS;
    for (let hour = from; hour < from + 14; hour += 1) air.outdoorTemperature[hour]! -= 8;
    expect(coldestNight(air, START, 'Europe/London')?.date).toBe('2025-01-10');
    const night = coldestNight(air, START, 'Europe/London')!;
    expect(night.knownHours).toBe(14);
    const mean = [...air.outdoorTemperature.slice(from, from + 14)].reduce((sum, one) => sum + one, 0) / 14;
    expect(night.outdoorTemperature).toBeCloseTo(mean, 10);
  });

  test('a night known for half its hours is not the coldest', () => {
    const air = year(500, 24 * 20);
    const from = (Date.UTC(2025, 0, 10, 18) - START) / HOUR_MS;
    for (let hour = from; hour < from + 14; hour += 1) air.outdoorTemperature[hour]! -= 8;
    air.roomVapourPressure.fill(Number.NaN, from, from + 7);
    expect(coldestNight(air, START, 'Europe/London')?.date).not.toBe('2025-01-10');
  });

  test('a log without a single night known has none', () => {
    expect(coldestNight(year(500, 6), START + 10 * HOUR_MS, 'UTC')).toBeNull();
  });
});

describe('cautions and notices', () => {
  test('fire, vapour control, cables, eaves, old coatings and mould stand on every result', () => {
    const { cautions } = assessLining(input());
    expect(cautions.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['foam-fire', 'vapour-control', 'cables', 'eaves-gap', 'old-coatings', 'mould-first']),
    );
  });

  test('a thin board over foam is pointed out, a full plasterboard is not', () => {
    const thin: Layer = { kind: 'solid', name: 'thin panel', thickness: 0.006, material: materials['fibreboard-800'] };
    expect(codes({ after: { pitch: 40, layers: [thin, foam, board, void_] } })).toContain('thin-board-to-the-room');
    expect(codes({})).not.toContain('thin-board-to-the-room');
  });

  test('too little insulation for a damp room leaves the lined surface at risk', () => {
    const thinFoam: Layer = { ...foam, thickness: 0.01 } as Layer;
    const damp = { roomTemperature: 20, roomHumidity: 70, outdoorTemperature: -5, outdoorHumidity: 80 };
    expect(codes({ after: { pitch: 40, layers: [newBoard, thinFoam, board, void_] }, design: damp })).toContain(
      'surface-still-at-risk',
    );
    expect(codes({})).not.toContain('surface-still-at-risk');
  });
});

describe('drying behind the lining', () => {
  const drying = (after: Layer[]) =>
    assessLining(input({ after: { pitch: 40, layers: after }, vapourControl: [], logged: logged(500) })).hidden.drying;

  test('a wetting dries through bare plasterboard within months and not within ten years between foil and foil', () => {
    const open = drying([newBoard, openFoam, board, void_]);
    const foil: Layer = { kind: 'declared', name: 'foil', resistance: 0, sd: 1500 };
    const shut = assessLining(
      input({
        before: { pitch: 40, layers: [foil, board, void_] },
        after: { pitch: 40, layers: [newBoard, foil, openFoam, foil, board, void_] },
        oldSurface: 3,
        vapourControl: [1],
        logged: logged(500),
      }),
    ).hidden.drying;
    expect(open).toMatchObject({ kind: 'dries' });
    expect(open?.kind === 'dries' && open.days).toBeLessThan(365);
    expect(shut).toMatchObject({ kind: 'not-dry-in-time' });
  });
});
