import { spawn, spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { account, type Home, openHome } from './home.ts';
import { readReport } from './python-board.ts';
import { expectTruth, HALF_A_HUNDREDTH, truth } from './truth.ts';
import { wireThatBreaksAt } from './wire.ts';

const hasCompiler = spawnSync('g++', ['--version']).status === 0;
if (!hasCompiler) {
  console.warn('SKIPPED: the C++ core: g++ is not on PATH; on Debian: apt-get install -y g++');
}

const core = fileURLToPath(new URL('../../firmware-notes/arduino/station/', import.meta.url));
const host = fileURLToPath(new URL('./host/', import.meta.url));
const sources = readdirSync(core)
  .filter((name) => name.endsWith('.cpp'))
  .map((name) => join(core, name));

const start = Date.UTC(2026, 0, 14, 18, 0, 0) / 1000;
const HOUR = 3600;
const DAY = 86_400;

function compile(standard: string, program: string, out: string): void {
  const strict = ['-Wall', '-Wextra', '-Werror', '-Wpedantic', '-Wconversion', '-fsanitize=address,undefined'];
  const { status, stderr } = spawnSync(
    'g++',
    [`-std=${standard}`, '-O1', ...strict, '-I', core, join(host, program), ...sources, '-o', out],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(`g++ -std=${standard} ${program}: ${stderr}`);
}

describe.skipIf(!hasCompiler)('the C++ core', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-host-'));
    compile('c++11', 'host_board.cpp', join(folder, 'host_board'));
  }, 180_000);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it.each(['c++11', 'c++14'])(
    'compiles as %s without a warning, and its checks hold',
    { timeout: 180_000 },
    (standard) => {
      const program = join(folder, `host_test_${standard}`);
      compile(standard, 'host_test.cpp', program);
      const { status, stdout, stderr } = spawnSync(program, { encoding: 'utf8' });
      expect(`${stdout}${stderr}`).toBe('all hold\n');
      expect(status).toBe(0);
    },
  );

  it('is all a sketch for ESP32 needs, as far as a compiler without that chip can tell', () => {
    copyFileSync(join(core, 'settings_example.h'), join(folder, 'settings.h'));
    const { status, stderr } = spawnSync(
      'g++',
      '-std=c++11 -fsyntax-only -Wall -Wextra -Werror -x c++'
        .split(' ')
        .concat('-I', join(host, 'arduino'), '-I', core, '-I', folder, join(core, 'station.ino')),
      { encoding: 'utf8' },
    );
    expect(stderr).toBe('');
    expect(status).toBe(0);
  });

  describe('on a simulated board, against the broker', () => {
    let home: Home;
    beforeEach(async () => {
      home = await openHome((start + 3 * HOUR) * 1000);
    });
    afterEach(() => home.close());

    interface Life {
      readonly flash: string;
      readonly start?: number;
      readonly wakes?: number;
      readonly seconds?: number;
      readonly sendEvery?: number;
      readonly password?: string;
      readonly cutAt?: number;
      readonly port?: number;
      readonly wifiAway?: readonly [number, number];
      readonly timeAway?: readonly [number, number];
    }

    const flash = (): string => mkdtempSync(join(home.folder, 'flash-'));

    async function powerUp(life: Life) {
      const words = [
        life.port ?? home.broker.port,
        life.flash,
        life.start ?? start,
        life.wakes ?? 7,
        life.seconds ?? 300,
        life.sendEvery ?? 6,
        life.password ?? account.password,
        life.cutAt ?? 0,
        ...(life.wifiAway ?? [0, 0]),
        ...(life.timeAway ?? [0, 0]),
      ].map(String);
      const child = spawn(join(folder, 'host_board'), words);
      let out = '';
      for (const stream of [child.stdout, child.stderr]) {
        stream.setEncoding('utf8').on('data', (chunk: string) => {
          out += chunk;
        });
      }
      const code = await new Promise<number | null>((resolve, reject) => {
        child.on('error', reject);
        child.on('close', resolve);
      });
      if (code !== 0 && code !== 9) throw new Error(`the simulated board failed (${code}): ${out}`);
      return readReport(`${out}${JSON.stringify({ life: 0, code })}`)[0]!;
    }

    it('delivers every reading once, with the instant it was taken', async () => {
      const { wakes, said, joins } = await powerUp({ flash: flash(), wakes: 13 });
      expect(said).toEqual([]);
      expect(joins).toEqual([wakes[0], wakes[6], wakes[12]]);
      await expectTruth(home, wakes, start + 3 * HOUR);
    });

    it.each([
      ['publish', 'never reached the broker'],
      ['acknowledgement', 'the broker stored but could not acknowledge'],
    ] as const)(
      'when the wire breaks at the %s, sends again what %s, and stores nothing twice',
      async (kind, _what) => {
        const wire = await wireThatBreaksAt(kind, 3, home.broker.port);
        const { wakes, said } = await powerUp({ flash: flash(), port: wire.port, sendEvery: 2, wakes: 9 });
        await wire.close();
        expect(said).toEqual(['the connection broke before everything was acknowledged']);
        await expectTruth(home, wakes, start + 3 * HOUR);
      },
    );

    it('loses no kept reading and doubles none wherever the power is cut', { timeout: 180_000 }, async () => {
      const scenario = { wakes: 6, sendEvery: 2 };
      const { moments } = await powerUp({ ...scenario, flash: flash(), start: start - DAY });
      expect(moments).toBeGreaterThan(25);
      home.setTime((start + 100 * DAY) * 1000);
      for (let cutAt = 1; cutAt <= moments!; cutAt++) {
        const life = { ...scenario, flash: flash(), start: start + cutAt * DAY };
        const { wakes, cutInWake } = await powerUp({ ...life, cutAt });
        await powerUp({ ...life, start: life.start + HOUR, wakes: 1 });
        const kept = [...wakes.filter((wake) => wake !== cutInWake), life.start + HOUR];
        const readings = await home.readings('slope-surface', 'temperature');
        const times = [...readings.keys()]
          .map((time) => time / 1000)
          .filter((time) => time >= life.start && time < life.start + DAY);
        // The measurement during which the power failed may or may not have reached the flash.
        expect(times.filter((time) => time !== cutInWake)).toEqual(kept);
        for (const time of times) {
          expect(Math.abs(readings.get(time * 1000)! - truth(time).surface)).toBeLessThanOrEqual(HALF_A_HUNDREDTH);
        }
      }
      expect(await home.trouble()).toEqual([]);
    });

    it('loses nothing in a day without Wi-Fi, and tries ever more rarely while it is away', async () => {
      home.setTime((start + 2 * DAY) * 1000);
      const wifiAway = [start + 900, start + 900 + DAY] as const;
      const { wakes, joins } = await powerUp({ flash: flash(), wakes: 150, seconds: 900, wifiAway });
      const gaps = joins.slice(1).map((join, i) => (join - joins[i]!) / 900);
      expect(gaps).toEqual([6, 12, 24, 48, 48, 6]);
      const sent = wakes.filter((wake) => wake <= joins.at(-1)!);
      await expectTruth(home, sent, start + 2 * DAY);
    });

    it('marks nothing with a time while its clock is not set, and dates what waited once it is', async () => {
      const { wakes } = await powerUp({ flash: flash(), sendEvery: 3, timeAway: [start, start + 1500] });
      const waited = [1, 2, 4, 5, 6].map((wake) => wakes[wake]!);
      await expectTruth(home, waited, start + 3 * HOUR);
      const received = [...(await home.readings('slope-surface', 'temperature'))].filter(
        ([time]) => time >= (start + 3 * HOUR) * 1000,
      );
      expect(received.map(([, value]) => value)).toEqual(
        [0, 3].map((i) => expect.closeTo(truth(wakes[i]!).surface, 1)),
      );
    });

    it('never sends readings of a clock that stopped before it was set', async () => {
      const place = flash();
      await powerUp({ flash: place, wakes: 3, wifiAway: [start, start + HOUR] });
      const { wakes } = await powerUp({ flash: place, start: start + HOUR, wakes: 1 });
      await expectTruth(home, wakes, start + 3 * HOUR);
    });

    it('says that the password is wrong and keeps its readings until it is right', async () => {
      const place = flash();
      const { wakes, said } = await powerUp({ flash: place, password: 'not this one' });
      expect(said).toContain('wrong user name or password');
      expect(await home.store.countReadings(1)).toBe(0);
      const right = await powerUp({ flash: place, start: start + HOUR, wakes: 1 });
      // Its clock was set by the first try, so everything could be dated.
      await expectTruth(home, [...wakes, ...right.wakes], start + 3 * HOUR);
    });
  });
});
