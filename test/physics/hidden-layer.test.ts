import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { diffusionPath, VAPOUR_PERMEABILITY_OF_AIR, vapourProfile } from '../../server/physics/diffusion.ts';
import {
  type AirHours,
  type HiddenLayer,
  hiddenLayerHours,
  hiddenLayerState,
  leakConductance,
} from '../../server/physics/hidden-layer.ts';
import { saturationPressure, saturationPressureOverWater } from '../../server/physics/saturation.ts';

const behind = (over: Partial<HiddenLayer> = {}): HiddenLayer => ({
  resistanceToRoom: 3.3,
  resistanceToOutdoor: 0.15,
  sdToRoom: 4.2,
  sdToOutdoor: 0.125,
  airLeak: 0,
  ...over,
});

/** The same air for some hours. */
function steady(hours: number, room: [number, number], outdoor: [number, number]): AirHours {
  const column = (value: number): Float64Array => new Float64Array(hours).fill(value);
  return {
    roomTemperature: column(room[0]),
    roomVapourPressure: column(room[1]),
    outdoorTemperature: column(outdoor[0]),
    outdoorVapourPressure: column(outdoor[1]),
  };
}

describe('the old surface behind a lining', () => {
  test('without a leak has the temperature and vapour pressure of the monthly method there', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 4, noNaN: true }),
        fc.double({ min: 0.5, max: 100, noNaN: true }),
        fc.double({ min: 0.05, max: 0.24, noNaN: true }),
        fc.double({ min: 0.05, max: 3, noNaN: true }),
        fc.double({ min: -10, max: 12, noNaN: true }),
        (liningResistance, liningSd, boardResistance, boardSd, outdoor) => {
          const path = diffusionPath(
            [
              { name: 'lining', resistance: liningResistance, sd: liningSd },
              { name: 'board', resistance: boardResistance, sd: boardSd },
            ],
            0.1,
            0.1,
          );
          const air = {
            roomTemperature: 20,
            outdoorTemperature: outdoor,
            roomVapourPressure: 900,
            outdoorVapourPressure: 0.6 * saturationPressure(outdoor),
          };
          const profile = vapourProfile(path, air);
          fc.pre(profile.planes.length === 0);
          const node = path.nodes.findIndex(({ name }) => name === 'lining | board');
          const state = hiddenLayerState(
            {
              resistanceToRoom: 0.1 + liningResistance,
              resistanceToOutdoor: boardResistance + 0.1,
              sdToRoom: liningSd,
              sdToOutdoor: boardSd,
              airLeak: 0,
            },
            air,
          );
          expect(state.temperature).toBeCloseTo(profile.temperatures[node]!, 9);
          expect(state.vapourPressure).toBeCloseTo(profile.pressures[node]!, 6);
        },
      ),
    );
  });

  test('is damper the more room air leaks to it, and drier the tighter the lining', () => {
    const air = { roomTemperature: 20, outdoorTemperature: 0, roomVapourPressure: 1300, outdoorVapourPressure: 480 };
    const pressure = (over: Partial<HiddenLayer>): number => hiddenLayerState(behind(over), air).vapourPressure;
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 5, noNaN: true }),
        fc.double({ min: 0.001, max: 5, noNaN: true }),
        fc.double({ min: 0.1, max: 100, noNaN: true }),
        fc.double({ min: 0.1, max: 100, noNaN: true }),
        (airLeak, more, sd, moreSd) => {
          expect(pressure({ airLeak: airLeak + more })).toBeGreaterThan(pressure({ airLeak }));
          expect(pressure({ sdToRoom: sd + moreSd })).toBeLessThan(pressure({ sdToRoom: sd }));
        },
      ),
    );
    expect(pressure({ airLeak: 1000 })).toBeCloseTo(1300, -1);
    expect(pressure({ sdToRoom: 1e7 })).toBeCloseTo(480, 1);
  });

  test('a leak of 1 m3/(h m2) at 20 °C carries as much vapour as an sd of about 0.1 m lets through', () => {
    // By hand: 1/3600 / (461.5 * 293.15) = 2.053e-9 kg/(m2 s Pa); 2e-10 / 2.053e-9 = 0.0974 m.
    expect(VAPOUR_PERMEABILITY_OF_AIR / leakConductance(1, 20)).toBeCloseTo(0.0974, 4);
  });

  test('in a steady leak, air brings in its vapour excess over the surface: q (v_room - v_here) at one temperature', () => {
    // At equal temperatures the flow is the difference of vapour concentrations p/(Rv T) times the volume flow.
    const [room, here] = [1400, 700];
    const byConcentration = (0.5 / 3600) * (room / (461.5 * 293.15) - here / (461.5 * 293.15));
    expect(leakConductance(0.5, 20) * (room - here)).toBeCloseTo(byConcentration, 18);
  });
});

describe('hour by hour', () => {
  test('humidity is what a sensor there would report: over water, below zero too', () => {
    const hours = hiddenLayerHours(behind(), steady(1, [20, 1000], [-10, 200]));
    const temperature = 20 - 30 * (3.3 / 3.45);
    expect(hours.temperature[0]).toBeCloseTo(temperature, 9);
    expect(hours.humidity[0]).toBeCloseTo(
      (100 * hours.vapourPressure[0]!) / saturationPressureOverWater(temperature),
      9,
    );
  });

  test('water that settles is what comes in less what goes out, and dries again at that balance', () => {
    const layer = behind({ sdToOutdoor: 3 });
    const wet = steady(48, [20, 1400], [-5, 320]);
    const dry = steady(2000, [20, 700], [10, 700]);
    const join = (one: Float64Array, other: Float64Array): Float64Array => Float64Array.from([...one, ...other]);
    const air: AirHours = {
      roomTemperature: join(wet.roomTemperature, dry.roomTemperature),
      roomVapourPressure: join(wet.roomVapourPressure, dry.roomVapourPressure),
      outdoorTemperature: join(wet.outdoorTemperature, dry.outdoorTemperature),
      outdoorVapourPressure: join(wet.outdoorVapourPressure, dry.outdoorVapourPressure),
    };
    const hours = hiddenLayerHours(layer, air);
    const cold = 20 - 25 * (3.3 / 3.45);
    const warm = 20 - 10 * (3.3 / 3.45);
    const gain = 2e-10 * ((1400 - saturationPressure(cold)) / 4.2 - (saturationPressure(cold) - 320) / 3) * 3600;
    const loss = 2e-10 * ((saturationPressure(warm) - 700) / 4.2 + (saturationPressure(warm) - 700) / 3) * 3600;
    expect(hours.water[47]).toBeCloseTo(48 * gain, 12);
    expect(hours.water[57]).toBeCloseTo(48 * gain - 10 * loss, 12);
    const dryAfter = Math.ceil((48 * gain) / loss);
    expect(hours.water[47 + dryAfter - 1]).toBeGreaterThan(0);
    expect(hours.water[47 + dryAfter]).toBe(0);
    expect(hours.wetHours).toBe(48 + dryAfter);
    expect(hours.vapourPressure[47 + dryAfter + 1]).toBeCloseTo(700, 9);
  });

  test('an hour not known on either side is not known there, and the water stays', () => {
    const air = steady(6, [20, 1400], [-5, 320]);
    air.roomTemperature[2] = Number.NaN;
    air.outdoorVapourPressure[3] = Number.NaN;
    const hours = hiddenLayerHours(behind({ sdToOutdoor: 3 }), air);
    expect([...hours.temperature].map(Number.isNaN)).toEqual([false, false, true, true, false, false]);
    expect(hours.water[3]).toBe(hours.water[1]);
    expect(hours.knownHours).toBe(4);
  });

  test('a surface that faces the room has the room’s vapour pressure and is wet when that is beyond saturation', () => {
    const ceiling = behind({ resistanceToRoom: 0.1, sdToRoom: 0 });
    const hours = hiddenLayerHours(ceiling, steady(3, [20, 1400], [-5, 320]));
    // 20 - 25 * 0.1/0.25 = 10 °C, saturated at 1227 Pa
    expect(hours.wetHours).toBe(3);
    expect(hours.humidity[0]).toBe(100);
    expect(hiddenLayerHours(ceiling, steady(3, [20, 1100], [-5, 320])).humidity[0]).toBeCloseTo(
      (100 * 1100) / saturationPressure(10),
      9,
    );
  });

  test('is finite and within 0 to 100 % for any air of a home', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -10, max: 40, noNaN: true }),
        fc.double({ min: -40, max: 40, noNaN: true }),
        fc.double({ min: 0, max: 100, noNaN: true }),
        fc.double({ min: 0, max: 100, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        (room, outdoor, roomHumidity, outdoorHumidity, airLeak) => {
          const hours = hiddenLayerHours(
            behind({ airLeak }),
            steady(
              5,
              [room, (roomHumidity / 100) * saturationPressureOverWater(room)],
              [outdoor, (outdoorHumidity / 100) * saturationPressureOverWater(outdoor)],
            ),
          );
          for (let hour = 0; hour < 5; hour += 1) {
            expect(hours.humidity[hour]).toBeGreaterThanOrEqual(0);
            expect(hours.humidity[hour]).toBeLessThanOrEqual(100);
            expect(hours.water[hour]).toBeGreaterThanOrEqual(0);
            expect(Number.isFinite(hours.water[hour])).toBe(true);
          }
        },
      ),
    );
  });

  test.each([
    ['no resistance behind it', { resistanceToOutdoor: 0 }, /resistanceToOutdoor is 0 m2K\/W/],
    ['a leak less than none', { airLeak: -1 }, /airLeak is -1 m3\/\(h m2\)/],
  ])('%s is refused', (_, over, message) => {
    expect(() => hiddenLayerHours(behind(over), steady(1, [20, 1000], [0, 500]))).toThrow(message);
  });

  test('columns of different length are refused', () => {
    const air = { ...steady(3, [20, 1000], [0, 500]), outdoorTemperature: new Float64Array(2) };
    expect(() => hiddenLayerHours(behind(), air)).toThrow(/outdoorTemperature.length is 2 hours/);
  });
});
