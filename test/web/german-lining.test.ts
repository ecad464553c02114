import { describe, expect, it } from 'vitest';
import { assessLining } from '../../server/analysis/lining.ts';
import type { LiningInput, LoggedHours } from '../../server/analysis/lining-input.ts';
import { type LiningNotice, liningNoticeCodes } from '../../server/analysis/lining-notices.ts';
import type { Bridge, Layer } from '../../server/physics/build-up.ts';
import { materials } from '../../server/physics/material.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { deSaid } from '../../web/src/words/de-said.ts';
import { estimate, number, plusMinus, quantity, when } from '../../web/src/words/format.ts';

const board: Layer = { kind: 'solid', name: 'Platte', thickness: 0.0125, material: materials.plasterboard };
const openFoam: Layer = { kind: 'solid', name: 'Schaum', thickness: 0.07, material: materials['rigid-polyurethane'] };
const foam: Layer = { ...openFoam, sd: 100 };
const gloss: Layer = { kind: 'declared', name: 'Lack', resistance: 0, sd: 3 };
const cavity: Layer = { kind: 'air', name: 'Hohlraum', thickness: 0.1, openingMm2: 25_000 };
const steel: Bridge = { name: 'Stahl', material: materials.steel, share: 0.03 };

/** A year of a room at 20 °C, with so much more vapour than outdoors in winter, Pa. */
function logged(excess: number, hours = 8760): LoggedHours {
  const fill = (value: (hour: number) => number) => Float64Array.from({ length: hours }, (_, i) => value(i));
  const season = (hour: number) => 9 - 7 * Math.cos((2 * Math.PI * (hour - 480)) / 8760);
  const outdoor = (hour: number) => season(hour) - 3 * Math.cos((2 * Math.PI * (hour - 3)) / 24);
  const pressure = (hour: number) => 0.75 * saturationPressureOverWater(season(hour));
  return {
    start: Date.UTC(2025, 0, 1),
    zone: 'UTC',
    air: {
      roomTemperature: fill(() => 20),
      outdoorTemperature: fill(outdoor),
      outdoorVapourPressure: fill(pressure),
      roomVapourPressure: fill((hour) => pressure(hour) + excess * Math.min(1, Math.max(0, (20 - outdoor(hour)) / 20))),
    },
  };
}

const noticesOf = (over: Partial<LiningInput>): readonly LiningNotice[] =>
  assessLining({
    before: { pitch: 40, layers: [board, cavity] },
    after: { pitch: 40, layers: [board, foam, board, cavity] },
    oldSurface: 2,
    vapourControl: [1],
    design: { roomTemperature: 20, roomHumidity: 50, outdoorTemperature: -5, outdoorHumidity: 80 },
    climate: null,
    logged: null,
    airLeak: 0,
    mould: {},
    cup: 'dry',
    ...over,
  }).notices;

const damp = { roomTemperature: 20, roomHumidity: 70, outdoorTemperature: -5, outdoorHumidity: 80 };
const shut: Partial<LiningInput> = {
  before: { pitch: 40, layers: [gloss, board, cavity] },
  after: { pitch: 40, layers: [board, openFoam, gloss, board, cavity] },
  vapourControl: [],
};
/** Twelve months of winter: what settles never dries. */
const winter = Array.from({ length: 12 }, (_, i) => ({
  name: `${i + 1}`,
  days: 30,
  roomTemperature: 20,
  outdoorTemperature: -5,
  roomVapourPressure: 1400,
  outdoorVapourPressure: 300,
}));
const lined = (...layers: Layer[]) => ({ after: { pitch: 40, layers } });

const notices = [
  {},
  { logged: logged(300) },
  { logged: logged(300, 2000), airLeak: 0.5 },
  { logged: logged(300), airLeak: 0.5 },
  { design: { ...damp, roomHumidity: 60 }, airLeak: 0.2 },
  { ...shut, logged: logged(500) },
  { ...shut, logged: logged(1100) },
  { ...shut, design: damp },
  { ...shut, climate: winter },
  { ...lined(board, { ...foam, thickness: 0.01 } as Layer, board, cavity), design: damp },
  lined({ ...board, thickness: 0.006 } as Layer, foam, board, cavity),
  lined(board, { ...foam, bridge: steel } as Layer, board, cavity),
  lined(board, foam, board, cavity, openFoam),
].flatMap(noticesOf);

const said = deSaid({ number, quantity, estimate, plusMinus, when });

describe('what a check of a lining says, in German', () => {
  it('comes from real checks that find every code there is', () => {
    expect([...new Set(notices.map(({ code }) => code))].sort()).toEqual([...liningNoticeCodes].sort());
  });

  it.each(liningNoticeCodes)('has a sentence with the figures for %s', (code) => {
    for (const notice of notices.filter((one) => one.code === code)) {
      const text = said.lining(notice);
      expect(text).not.toBe(notice.message);
      expect(text).not.toMatch(/undefined|NaN|null|January|March|design-|month-|water-held|risk-hours|mould-index/);
      expect(text).not.toMatch(/\b(the|of|and|is|are|with|at|instead|settles)\b/);
    }
  });
});
