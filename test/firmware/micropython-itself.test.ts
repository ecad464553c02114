import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Home, openHome } from './home.ts';
import { flash } from './python-board.ts';
import { expectTruth, truth } from './truth.ts';
import { powerUpMicroPython } from './webassembly-board.ts';
import { wireThatBreaksAt } from './wire.ts';

const start = Date.UTC(2026, 0, 14, 18, 0, 0) / 1000;
const HOUR = 3600;
const usual = { start, wakes: 7, shtAddress: 0x44 };

describe('the MicroPython program in MicroPython itself, in the memory of a small chip, against the broker', () => {
  let home: Home;
  beforeEach(async () => {
    home = await openHome((start + 3 * HOUR) * 1000);
  });
  afterEach(() => home.close());

  it('delivers every reading once, with the instant it was taken', async () => {
    const run = await powerUpMicroPython({ folder: flash(home, { port: home.broker.port }), scenario: usual });
    expect(run.said).toEqual([]);
    expect(run.wakes).toHaveLength(7);
    await expectTruth(home, run.wakes, start + 3 * HOUR);
  });

  it.each([
    ['publish', 'never reached the broker'],
    ['acknowledgement', 'the broker stored but could not acknowledge'],
  ] as const)('when the wire breaks at the %s, sends again what %s, and stores nothing twice', async (kind, _what) => {
    const wire = await wireThatBreaksAt(kind, 3, home.broker.port);
    const folder = flash(home, { port: wire.port, sendEvery: 2 });
    const run = await powerUpMicroPython({ folder, scenario: { ...usual, wakes: 9 } });
    await wire.close();
    expect(run.said).toHaveLength(1);
    await expectTruth(home, run.wakes, start + 3 * HOUR);
  });

  it('dates what waited once its clock is set, and thins when its buffer is full', async () => {
    const away = [start + 300, start + 300 + 6 * HOUR] as const;
    home.setTime((start + 24 * HOUR) * 1000);
    const folder = flash(home, { port: home.broker.port, bufferFiles: 4, bufferLines: 12, sendEvery: 3 });
    const scenario = { ...usual, wakes: 100, wifiAway: [away], ntpAway: [[start, start + 60]] as const };
    const run = await powerUpMicroPython({ folder, scenario });
    const readings = await home.readings('slope-surface', 'temperature');
    const dated = [...readings.keys()].map((time) => time / 1000).filter((time) => time < start + 24 * HOUR);
    const back = run.joins.find((join) => join >= away[1])!;
    const kept = dated.filter((time) => time <= back);
    expect(kept.length).toBeGreaterThan(12);
    expect(kept.length).toBeLessThanOrEqual(4 * 6);
    for (const time of dated) {
      expect(run.wakes).toContain(time);
      expect(readings.get(time * 1000)).toBeCloseTo(truth(time).surface, 1);
    }
    expect(await home.trouble()).toEqual([]);
  });
});
