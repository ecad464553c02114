import { mkdtempSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Home, openHome } from './home.ts';
import { flash, hasPython, powerUp, powerUpEach, pythonMissing } from './python-board.ts';
import { expectTruth, HALF_A_HUNDREDTH, HALF_A_MILLIVOLT, truth } from './truth.ts';
import { hasOpenssl, makeCertificates, opensslMissing, tlsFront, wireThatBreaksAt } from './wire.ts';

const start = Date.UTC(2026, 0, 14, 18, 0, 0) / 1000;
const usual = { start, wakes: 7, shtAddress: 0x44 };
const HOUR = 3600;
const DAY = 86_400;

if (!hasPython) console.warn(`SKIPPED: the MicroPython program under CPython: ${pythonMissing}`);
if (!hasOpenssl) console.warn(`SKIPPED: the MicroPython program over TLS: ${opensslMissing}`);

describe.skipIf(!hasPython)('the MicroPython program, with stand-ins for its pins, against the broker', () => {
  let home: Home;
  beforeEach(async () => {
    home = await openHome((start + 3 * HOUR) * 1000);
  });
  afterEach(() => home.close());

  const expectAll = (instants: readonly number[]): Promise<void> => expectTruth(home, instants, start + 3 * HOUR);
  const board = (settings: object = {}): string => flash(home, { port: home.broker.port, ...settings });
  const waiting = (folder: string): string[] =>
    readdirSync(join(folder, 'waiting'))
      .filter((name) => name.endsWith('.log'))
      .flatMap((name) =>
        readFileSync(join(folder, 'waiting', name), 'utf8')
          .split('\n')
          .slice(0, -1),
      );

  it('delivers every reading once, with the instant it was taken', async () => {
    const folder = board();
    const { wakes, said } = await powerUp(folder, usual);
    expect(said).toEqual([]);
    expect(wakes).toHaveLength(7);
    await expectAll(wakes);
    expect(waiting(folder)).toEqual([]);
  });

  it('works on a board that counts from 1970 too', async () => {
    const { wakes } = await powerUp(board(), { ...usual, epoch: 1970 });
    await expectAll(wakes);
  });

  it('joins the Wi-Fi at power-up and then every sixth wake only', async () => {
    const { wakes, joins } = await powerUp(board(), { ...usual, wakes: 14 });
    expect(joins).toEqual([wakes[0], wakes[6], wakes[12]]);
  });

  it.each([
    ['publish', 'never reached the broker'],
    ['acknowledgement', 'the broker stored but could not acknowledge'],
  ] as const)('when the wire breaks at the %s, sends again what %s, and stores nothing twice', async (kind, _what) => {
    const wire = await wireThatBreaksAt(kind, 3, home.broker.port);
    const { wakes, said } = await powerUp(board({ port: wire.port, sendEvery: 2 }), { ...usual, wakes: 9 });
    await wire.close();
    expect(said).toHaveLength(1);
    await expectAll(wakes);
  });

  it('leaves its battery voltage as a last will when the power fails while it sends', async () => {
    const folder = board();
    const cut = { ...usual, wakes: 1 };
    const { moments } = await powerUp(folder, cut);
    // The last moments of a wake: publish, publish, the file removed, goodbye, RTC memory.
    const run = await powerUp(board(), { ...cut, cutAt: moments! - 2 });
    expect(run.cutInWake).toBe(start);
    while ((await home.readings('slope-room', 'battery')).size < 2) await new Promise((go) => setTimeout(go, 10));
    expect((await home.readings('slope-room', 'battery')).size).toBe(2);
    const [, atReceipt] = await home.readings('slope-room', 'battery');
    expect(atReceipt![0]).toBeGreaterThan((start + 3 * HOUR) * 1000);
    expect(Math.abs(atReceipt![1] - truth(start).battery)).toBeLessThanOrEqual(HALF_A_MILLIVOLT);
  });

  it('loses no kept reading and doubles none wherever the power is cut', { timeout: 180_000 }, async () => {
    const settings = { sendEvery: 2, bufferLines: 6 };
    const scenario = { ...usual, wakes: 6 };
    const { moments } = await powerUp(board(settings), { ...scenario, start: start - DAY });
    expect(moments).toBeGreaterThan(25);
    const cuts = Array.from({ length: moments! }, (_, i) => ({ cutAt: i + 1, day: start + i * DAY }));
    const lives = cuts.flatMap(({ cutAt, day }) => {
      const folder = board(settings);
      return [
        { folder, scenario: { ...scenario, start: day, cutAt } },
        { folder, scenario: { ...scenario, start: day + HOUR, wakes: 1 } },
      ];
    });
    home.setTime((start + 100 * DAY) * 1000);
    const runs = await powerUpEach(lives);
    for (const [i, { day }] of cuts.entries()) {
      const { wakes, cutInWake } = runs[2 * i]!;
      expect(cutInWake).not.toBeNull();
      const kept = [...wakes.filter((wake) => wake !== cutInWake), day + HOUR];
      for (const [sensor, of] of [
        ['slope-room', 'air'],
        ['slope-surface', 'surface'],
      ] as const) {
        const readings = await home.readings(sensor, 'temperature');
        const times = [...readings.keys()].map((time) => time / 1000).filter((t) => t >= day && t < day + DAY);
        // The measurement during which the power failed may or may not have reached the flash.
        expect(times.filter((time) => time !== cutInWake)).toEqual(kept);
        for (const time of times) {
          expect(Math.abs(readings.get(time * 1000)! - truth(time)[of])).toBeLessThanOrEqual(HALF_A_HUNDREDTH);
        }
      }
    }
    expect(await home.trouble()).toEqual([]);
  });

  it('loses nothing in a day without Wi-Fi, and tries ever more rarely while it is away', {
    timeout: 180_000,
  }, async () => {
    home.setTime((start + 2 * DAY) * 1000);
    const away = [start + 900, start + 900 + DAY] as const;
    const { wakes, joins } = await powerUp(board({ measureEverySeconds: 900, bufferLines: 700 }), {
      ...usual,
      wakes: 150,
      wifiAway: [away],
    });
    const sent = wakes.filter((wake) => wake <= joins.at(-1)!);
    await expectTruth(home, sent, start + 2 * DAY);
    expect(joins.at(-1)).toBeGreaterThan(away[1]);
    const gaps = joins.slice(1).map((join, i) => (join - joins[i]!) / 900);
    // 6 wakes, then twice as many after each failure, up to eight times; after a success 6 again.
    expect(gaps).toEqual([6, 12, 24, 48, 48, 6]);
  });

  it('thins evenly and leaves no hole when the buffer is too small for the absence', { timeout: 180_000 }, async () => {
    home.setTime((start + 2 * DAY) * 1000);
    const small = { measureEverySeconds: 600, bufferFiles: 6, bufferLines: 12 };
    const away = [start + 300, start + 300 + DAY] as const;
    const { wakes, joins } = await powerUp(board(small), { ...usual, wakes: 200, wifiAway: [away] });
    const readings = await home.readings('slope-surface', 'temperature');
    const times = [...readings.keys()].map((time) => time / 1000).filter((t) => t < start + 2 * DAY);
    for (const time of times) {
      expect(wakes).toContain(time);
      expect(Math.abs(readings.get(time * 1000)! - truth(time).surface)).toBeLessThanOrEqual(HALF_A_HUNDREDTH);
    }
    const back = joins.find((join) => join >= away[1])!;
    const kept = times.filter((time) => time >= away[0] && time <= back);
    expect(kept.at(-1)).toBe(back);
    expect(kept.length).toBeLessThanOrEqual(6 * 6);
    // Neighbouring files differ by one step of thinning, a factor of 2; a seam between two can lose one instant more.
    const even = (back - away[0]) / kept.length;
    for (const [i, time] of kept.slice(1).entries()) expect(time - kept[i]!).toBeLessThanOrEqual(4 * even);
    expect(await home.trouble()).toEqual([]);
  });

  it('marks nothing with a time while its clock is not set, and dates what waited once it is', async () => {
    const ntpAway = [[start, start + 1500]] as const;
    const folder = board({ sendEvery: 3 });
    const { wakes } = await powerUp(folder, { ...usual, wakes: 7, ntpAway });
    // Sent live at wakes 0 and 3, dated by the home; wakes 1, 2, 4 and 5 waited for the clock, which was set at wake 6.
    await expectAll([1, 2, 4, 5, 6].map((wake) => wakes[wake]!));
    const received = [...(await home.readings('slope-surface', 'temperature'))].filter(
      ([time]) => time >= (start + 3 * HOUR) * 1000,
    );
    expect(received.map(([, value]) => value)).toEqual([0, 3].map((i) => expect.closeTo(truth(wakes[i]!).surface, 1)));
    expect(waiting(folder)).toEqual([]);
  });

  it('sets aside, and never sends, readings of a clock that stopped before it was set', async () => {
    const folder = board();
    await powerUp(folder, { ...usual, wakes: 3, wifiAway: [[start, start + HOUR]] });
    expect(waiting(folder)).toHaveLength(6);
    const { wakes } = await powerUp(folder, { ...usual, start: start + HOUR, wakes: 1 });
    await expectAll(wakes);
    expect(readFileSync(join(folder, 'waiting', 'undated.txt'), 'utf8').split('\n')).toHaveLength(7);
  });

  it('leaves out a sensor that fails and still delivers the other', async () => {
    const folder = board();
    const fault = [[start, start + HOUR]] as const;
    const { wakes } = await powerUp(folder, { ...usual, shtFaults: fault });
    expect((await home.readings('slope-surface', 'temperature')).size).toBe(wakes.length);
    expect((await home.readings('slope-room', 'temperature')).size).toBe(0);
    expect((await home.readings('slope-room', 'battery')).size).toBe(wakes.length);
    expect(readFileSync(join(folder, 'trouble.txt'), 'utf8')).toContain('19');
  });

  it('says that the password is wrong and keeps its readings until it is right', async () => {
    const folder = board({ password: 'not this one' });
    const { said } = await powerUp(folder, usual);
    expect(said).toContain('wrong user name or password');
    expect(waiting(folder)).toHaveLength(14);
    expect(await home.store.countReadings(1)).toBe(0);
  });

  describe.skipIf(!hasOpenssl)('over TLS', () => {
    it('delivers to a server whose certificate it can check', async () => {
      makeCertificates(home.folder);
      const front = await tlsFront(home.broker.port, home.folder);
      const caFile = join(home.folder, 'ca.der');
      const { wakes, said } = await powerUp(board({ port: front.port, host: 'localhost', caFile }), usual);
      await front.close();
      expect(said).toEqual([]);
      await expectAll(wakes);
    });

    it('tells its password to no server that another authority vouches for, or that has another name', async () => {
      makeCertificates(home.folder);
      const front = await tlsFront(home.broker.port, home.folder);
      const otherFolder = mkdtempSync(join(home.folder, 'other-'));
      makeCertificates(otherFolder);
      const strange = { port: front.port, host: 'localhost', caFile: join(otherFolder, 'ca.der') };
      const misnamed = { port: front.port, host: '127.0.0.1', caFile: join(home.folder, 'ca.der') };
      for (const settings of [strange, misnamed]) {
        const folder = board(settings);
        expect((await powerUp(folder, usual)).said.join()).toContain('CERTIFICATE_VERIFY_FAILED');
        expect(waiting(folder)).toHaveLength(14);
      }
      expect(await home.store.countReadings(1)).toBe(0);
      await front.close();
    });
  });
});
