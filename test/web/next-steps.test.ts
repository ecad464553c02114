import { describe, expect, it } from 'vitest';
import { nextSteps, type Settling } from '../../web/src/settling/next-steps.ts';
import { isUnmeasured, usualSection } from '../../web/src/settling/usual-section.ts';

const reading = { time: '2026-01-14T22:10:00.000Z', value: 12, asSent: 12 };
const sensorAt = (...stands: readonly (readonly [placeId: number, to: string | null])[]) => ({
  placements: stands.map(([placeId, to]) => ({ placeId, to })),
  series: [{ last: reading }],
});
const empty: Settling = { section: usualSection, sectionConfirmed: false, places: [], sensors: [], phases: [] };
const open = (settling: Settling): string[] => nextSteps(settling).flatMap(({ kind, done }) => (done ? [] : [kind]));

const settledHome: Settling = {
  section: { ...usualSection, pitchDeg: 41 },
  sectionConfirmed: false,
  places: [
    { id: 1, kind: 'room-air' },
    { id: 2, kind: 'ceiling-surface' },
    { id: 3, kind: 'outdoor-air' },
  ],
  sensors: [sensorAt([1, null]), sensorAt([2, null]), sensorAt([3, null])],
  phases: [{ kind: 'before' }],
};

describe('what is next', () => {
  it('is everything in a home that has just been added, and nothing in one that is settled', () => {
    expect(open(empty)).toEqual(['section', 'sensor', 'place', 'room', 'surface', 'outdoors', 'phase']);
    expect(open(settledHome)).toEqual([]);
  });

  it('is a place for every sensor that was heard, and not for one that was taken away', () => {
    expect(open({ ...settledHome, sensors: [...settledHome.sensors, sensorAt()] })).toEqual(['place']);
    const away = sensorAt([1, '2026-01-01T00:00:00.000Z']);
    expect(open({ ...settledHome, sensors: [...settledHome.sensors, away] })).toEqual([]);
  });

  it('is a sensor where one that stands there was never heard, or stands there no more', () => {
    const silent = { ...sensorAt([3, null]), series: [{ last: null }] };
    const moved = sensorAt([3, '2026-01-01T00:00:00.000Z'], [1, null]);
    for (const third of [silent, moved]) {
      expect(open({ ...settledHome, sensors: [...settledHome.sensors.slice(0, 2), third] })).toEqual(['outdoors']);
    }
  });

  it('is a phase before the works where only later ones are named', () => {
    expect(open({ ...settledHome, phases: [{ kind: 'works' }, { kind: 'after' }] })).toEqual(['phase']);
  });

  it('is no longer the drawing once its people said that the usual measures are theirs', () => {
    expect(open({ ...settledHome, section: usualSection })).toEqual(['section']);
    expect(open({ ...settledHome, section: usualSection, sectionConfirmed: true })).toEqual([]);
  });

  it('takes any measure that somebody changed for a measured section', () => {
    expect(isUnmeasured(usualSection)).toBe(true);
    for (const key of Object.keys(usualSection) as (keyof typeof usualSection)[]) {
      expect(isUnmeasured({ ...usualSection, [key]: usualSection[key] + 1 })).toBe(false);
    }
  });
});
