import { describe, expect, it } from 'vitest';
import { type Advice, adviceOn } from '../../server/analysis/advice.ts';
import { dwellingNow, type Latest, type LatestAtPlace } from '../../server/analysis/now.ts';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { dewPoint } from '../../server/physics/saturation.ts';
import { measured, standardFromLimit } from '../../server/physics/uncertainty.ts';
import { vapourPressure } from '../../server/physics/vapour.ts';

const NOW = Date.UTC(2026, 0, 14, 22, 10);

const latest = (value: number, source: string, limit: number, age = 60_000): Latest => ({
  time: NOW - age,
  measured: measured(value, { source, contribution: standardFromLimit(limit) }),
  intervalSeconds: 600,
});

let next = 1;
function place(
  kind: PlaceKind,
  name: string,
  values: { t?: number; rh?: number; timber?: number; age?: number },
): LatestAtPlace {
  const { t, rh, timber, age } = values;
  const placeId = next++;
  return {
    placeId,
    name,
    kind,
    facesPlaceId: null,
    temperature: t === undefined ? null : latest(t, `${name} t`, 0.2, age),
    humidity: rh === undefined ? null : latest(rh, `${name} rh`, 1.8, age),
    timberMoisture: timber === undefined ? null : latest(timber, `${name} wood`, 1, age),
  };
}

const on = (places: LatestAtPlace[], coming: LatestAtPlace[] = []): Advice[] =>
  adviceOn(dwellingNow(places, NOW).places, new Set(coming.map(({ placeId }) => placeId)));
const codes = (list: Advice[]): string[] => list.map(({ code }) => code);

// A bedroom of 16.5 °C and 70 %: dew point 11.0 °C.
const room = (t = 16.5, rh = 70) => place('room-air', 'Bedroom', { t, rh });
const cold = () => place('outdoor-air', 'Outdoors', { t: 0, rh: 85 });
const slope = (t: number) => place('ceiling-surface', 'Sloping ceiling', { t });
const dew = dewPoint(vapourPressure(16.5, 70));

describe('advice', () => {
  it('is none where nothing is wrong', () => {
    expect(on([room(19, 50), slope(16), cold()])).toEqual([]);
    expect(on([])).toEqual([]);
  });

  it('on water on a cold ceiling in a cool, moist room: wipe, air, heat, in this order', () => {
    const list = on([room(), slope(dew - 0.5), cold()]);
    expect(codes(list)).toEqual(['wipe', 'ventilate', 'heat']);
    expect(list.map(({ tone }) => tone)).toEqual(['act', 'act', 'act']);
    expect(list[0]!.message).toContain('Sloping ceiling');
    expect(list[0]!.cautions.map(({ code }) => code)).toEqual(['mould-cleaning']);
    // CO from heaters without a flue: common practice, no source
    expect(list[2]!.cautions[0]!.message).toMatch(/carbon monoxide/);
  });

  it('to air says by how much outdoors is drier', () => {
    const [advice] = on([room(), slope(dew + 1), cold()]);
    const excess = vapourPressure(16.5, 70) - vapourPressure(0, 85);
    expect(advice).toMatchObject({ code: 'ventilate', data: { room: 'Bedroom' } });
    expect((advice!.data as { excessPa: number }).excessPa).toBeCloseTo(excess, 6);
    expect(advice!.message).toContain(`${excess.toFixed(0)} Pa`);
  });

  it('never is to air with air that is no drier: on a mild, wet day it is to heat', () => {
    const mild = place('outdoor-air', 'Outdoors', { t: 15, rh: 95 });
    const list = on([room(20, 68), slope(14.5), mild]);
    expect(codes(list)).toEqual(['heat']);
  });

  it('is not to air for a difference that the sensors could have made up', () => {
    const outdoors = (rh: number) => place('outdoor-air', 'Outdoors', { t: 16.5, rh });
    expect(codes(on([room(), slope(dew + 1), outdoors(69.5)]))).not.toContain('ventilate');
    expect(codes(on([room(), slope(dew + 1), outdoors(50)]))).toContain('ventilate');
  });

  it('to air says so when outdoors is not measured', () => {
    const [advice] = on([room(), slope(dew + 1)]);
    expect(advice).toMatchObject({ code: 'ventilate', data: { excessPa: null } });
    expect(advice!.message).toMatch(/not measured/);
  });

  it('is not to air when the sensor outdoors is silent: that is a sensor to see to', () => {
    const silent = place('outdoor-air', 'Outdoors', { t: 0, rh: 85, age: 30 * 3_600_000 });
    const list = on([room(), slope(dew + 1), silent]);
    expect(codes(list)).toContain('check-sensors');
    expect(list.at(-1)!.message).toContain('Outdoors');
  });

  it('is to open a door only to a room that is warmer and no moister', () => {
    const hall = (t: number, rh: number) => place('room-air', 'Hall', { t, rh });
    expect(codes(on([room(), hall(20, 45), slope(dew + 1), cold()]))).toContain('open-door');
    // 20 °C and 60 % holds 1402 Pa, the bedroom 1313 Pa (ISO 13788:2012, E.7)
    expect(codes(on([room(), hall(20, 60), slope(dew + 1), cold()]))).not.toContain('open-door');
    expect(codes(on([room(), hall(17, 45), slope(dew + 1), cold()]))).not.toContain('open-door');
  });

  it('to heat says what the surface lacks of staying under 80 %', () => {
    const list = on([room(), slope(dew + 1), cold()]);
    const heat = list.find(({ code }) => code === 'heat')!;
    // dew point of p/0.8 less the surface's temperature (ISO 13788:2012, 5.3 c)
    const wanted = dewPoint(vapourPressure(16.5, 70) / 0.8);
    expect((heat.data as { shortOfK: number }).shortOfK).toBeCloseTo(wanted - (dew + 1), 6);
  });

  it('looks at the eaves when timber is wet, or the loft damp beyond what outdoors explains', () => {
    const timber = (moisture: number) => on([place('loft-timber', 'Rafter', { timber: moisture })]);
    expect(codes(timber(19))).toEqual([]);
    expect(timber(22)[0]).toMatchObject({ code: 'check-eaves', tone: 'act' });
    expect(
      timber(22)[0]!
        .cautions.map(({ message }) => message)
        .join(' '),
    ).toMatch(/Never fill or cover.*boards/);
    const loft = (t: number, rh: number) => codes(on([place('loft-air', 'Loft', { t, rh }), cold()]));
    expect(loft(2, 85)).toEqual([]);
    expect(loft(6, 90)).toEqual(['check-eaves']);
    // Sun on the roof drives moisture out of the timber: much vapour, and dry.
    expect(loft(20, 45)).toEqual([]);
  });

  it('watches a damp hidden layer without alarm, and repeats that vapour control is part of the job', () => {
    const [advice] = on([place('behind-lining', 'Behind', { t: 7, rh: 86 })]);
    expect(advice).toMatchObject({ code: 'check-lining', tone: 'watch' });
    expect(advice!.cautions[0]!.code).toBe('vapour-control');
  });

  it('comes before the night for a surface that is still dry', () => {
    const surface = slope(15);
    const list = on([room(16.5, 60), surface, cold()], [surface]);
    expect(codes(list)).toEqual(['ventilate', 'heat']);
    expect(list.every(({ tone }) => tone === 'watch')).toBe(true);
    expect(list[1]!.message).toMatch(/follows it/);
  });

  it('leaves a room alone whose own surfaces are dry', () => {
    const study = place('room-air', 'Study', { t: 16, rh: 60 });
    const list = on([room(), study, slope(dew + 1), cold()]);
    expect(list.filter(({ placeId }) => placeId === study.placeId)).toEqual([]);
  });
});
