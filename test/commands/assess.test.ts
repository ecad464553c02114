import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { assess } from '../../server/analysis/assess.ts';
import type { PlaceHours } from '../../server/analysis/place-hours.ts';
import { readLoggerCsv } from '../../server/commands/logger-csv.ts';
import { HOUR_MS, madeInput } from '../analysis/made-hours.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'coomb-assess-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Ended {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs the command as a user would, in a process of its own. */
function coomb(...parameters: string[]): Promise<Ended> {
  const parts = ['--import', 'tsx', join(root, 'server/cli.ts'), 'assess', ...parameters];
  return new Promise((done) => {
    execFile(process.execPath, parts, { cwd: root, maxBuffer: 64 << 20 }, (error, stdout, stderr) => {
      done({ code: error === null ? 0 : ((error.code as number | undefined) ?? 1), stdout, stderr });
    });
  });
}

const write = (name: string, text: string): string => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};

type Stamp = (time: number) => string;
const zulu: Stamp = (time) => new Date(time).toISOString();
/** The same instants as clocks five hours east show them. */
const east: Stamp = (time) => new Date(time + 5 * HOUR_MS).toISOString().replace('.000Z', '+05:00');

/** One reading in the middle of each hour, full precision. */
function csvOf(hours: PlaceHours, stamp: Stamp, withHumidity: 'with-humidity' | 'temperature-only'): string {
  const lines = ['time,temperature_c,humidity_pct'];
  for (let i = 0; i < hours.temperature.length; i++) {
    const humidity = withHumidity === 'with-humidity' ? hours.humidity[i] : '';
    lines.push(`${stamp(hours.start + i * HOUR_MS + HOUR_MS / 2)},${hours.temperature[i]},${humidity}`);
  }
  return `${lines.join('\r\n')}\r\n`;
}

const input = madeInput();
const iso = ({ from, to }: { from: number; to: number }): string => `${zulu(from)}/${zulu(to)}`;

function files(name: string, stamp: Stamp): string[] {
  return [
    '--room',
    write(`${name}-room.csv`, csvOf(input.room.hours, stamp, 'with-humidity')),
    '--surface',
    write(`${name}-surface.csv`, csvOf(input.surface.hours, stamp, 'temperature-only')),
    '--outdoor',
    write(`${name}-outdoor.csv`, csvOf(input.outdoor!.hours, stamp, 'with-humidity')),
  ];
}

const phases = ['--before', iso(input.before!), '--after', iso(input.after!)];

describe('coomb assess', { timeout: 120_000 }, () => {
  const plain = files('plain', zulu);

  test('gives from files the figures that the analysis gives from hour records', async () => {
    const { code, stdout } = await coomb(...plain, ...phases, '--zone', 'Europe/London', '--json');
    expect(code).toBe(0);
    const result = JSON.parse(stdout);
    const direct = assess(input);
    expect(result.before.f.value).toBeCloseTo(0.55, 6);
    expect(result.after.f.value).toBeCloseTo(0.85, 6);
    expect(result.riskHours.before.value).toBe(direct.riskHours.before!.value);
    expect(result.riskHours.expectedAfterWithoutWorks.value).toBeGreaterThan(result.riskHours.after.value);
    expect(result.verdict.kind).toBe('target-met');
    expect(Object.keys(result)).toEqual(
      expect.arrayContaining(['before', 'after', 'riskHours', 'verdict', 'causes', 'conditions', 'sufficiency']),
    );
    expect(Object.keys(result.causes)).toEqual(expect.arrayContaining(['fabric', 'moisture', 'heating']));
    expect(result.uncertainties[0].sensor.source).toMatch(/^assumed/);
  });

  test('time stamps with another UTC offset are the same instants and give the same result', async () => {
    const [one, other] = await Promise.all([
      coomb(...plain, ...phases, '--json'),
      coomb(...files('east', east), ...phases, '--json'),
    ]);
    const comparable = (text: string): unknown => ({ ...JSON.parse(text), files: null });
    expect(comparable(other.stdout)).toEqual(comparable(one.stdout));
  });

  test('prints for people the verdict first, its figures and what was assumed', async () => {
    const { code, stdout } = await coomb(...plain, ...phases);
    expect(code).toBe(0);
    expect(stdout).toMatch(/^Target met\n/);
    expect(stdout).toContain('target  0.75 (BRE IP 1/06, dwellings)');
    expect(stdout).toContain('Sensor offsets, one standard uncertainty: 0.25 K and 1.5 %');
    expect(stdout).toContain('indicates; it does not certify');
  });

  test('phases that overlap or run backwards are a result, not an error', async () => {
    const backwards = `${zulu(input.before!.to)}/${zulu(input.before!.from)}`;
    const { code, stdout } = await coomb(...plain, '--before', backwards, '--after', iso(input.after!), '--json');
    expect(code).toBe(0);
    const result = JSON.parse(stdout);
    expect(result.verdict.kind).toBe('not-enough-evidence');
    expect(result.sufficiency.findings[0]).toMatchObject({ code: 'phase-reversed', severity: 'blocks' });
  });

  test.each([
    ['a missing file', ['--room', '/nowhere/room.csv', ...plain.slice(2), ...phases], /cannot be read/],
    [
      'no interval',
      [...plain, '--before', 'last winter', '--after', iso(input.after!)],
      /--before is "last winter"; it must be an ISO 8601 interval/,
    ],
    [
      'no zone',
      [...plain, ...phases, '--zone', 'Middle/Earth'],
      /--zone is "Middle\/Earth"; it must be an IANA time zone/,
    ],
    [
      'a target out of range',
      [...plain, ...phases, '--target', '75'],
      /--target is "75"; it must be a number from 0\.01 to 0\.99/,
    ],
    [
      'a file without its columns',
      ['--room', write('odd.csv', 'when,degrees\n1,2\n'), ...plain.slice(2), ...phases],
      /odd\.csv has the columns "when,degrees"; its first line must name time,temperature_c/,
    ],
  ])('%s ends with one line that says what to do', async (_, parameters, message) => {
    const { code, stdout, stderr } = await coomb(...parameters);
    expect(code).toBe(1);
    expect(stdout).toBe('');
    expect(stderr).toMatch(message);
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });
});

describe('a logger file', () => {
  test('columns may stand in any order, others are ignored, a byte order mark is no fault', () => {
    const log = readLoggerCsv(
      '\uFEFFhumidity_pct,battery,temperature_c,time\n55,3.0,19.5,2025-01-01T00:00:00Z\n',
      'a.csv',
      'UTC',
    );
    expect([...log.temperature.values]).toEqual([19.5]);
    expect([...log.humidity.values]).toEqual([55]);
  });

  test('readings come into order; one sent twice counts once; another value for the same instant is set aside', () => {
    const log = readLoggerCsv(
      'time,temperature_c\n2025-01-01T02:00Z,2\n2025-01-01T01:00Z,1\n2025-01-01T01:00Z,1\n2025-01-01T02:00+00:00,9\n',
      'a.csv',
      'UTC',
    );
    expect([...log.temperature.values]).toEqual([1, 2]);
    expect(log.setAside).toEqual([{ line: 5, message: expect.stringContaining('the first is kept') }]);
  });

  test('a time without an offset is read on the clocks of the zone and counted', () => {
    const log = readLoggerCsv('time,temperature_c\n2025-07-01 12:00,20\n', 'a.csv', 'Europe/London');
    expect(log.temperature.times[0]).toBe(Date.parse('2025-07-01T11:00:00Z'));
    expect(log.withoutOffset).toBe(1);
  });

  test('what cannot be a reading is set aside with its line and what it must be', () => {
    const log = readLoggerCsv(
      'time,temperature_c,humidity_pct\n2025-01-01T00:00Z,20,50\nyesterday,20,50\n2025-01-01T01:00Z,850,50\n2025-01-01T02:00Z,,\n',
      'a.csv',
      'UTC',
    );
    expect(log.setAside.map(({ line }) => line)).toEqual([3, 4]);
    expect(log.setAside[1]!.message).toContain('from -60 to 100');
    expect(log.temperature.values).toHaveLength(1);
    expect(log.humidity.values).toHaveLength(2);
  });
});
