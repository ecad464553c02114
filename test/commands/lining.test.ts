import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import { afterAll, describe, expect, test } from 'vitest';
import { type LiningFile, liningFileSchema, readLiningFile } from '../../server/api/contract/lining-file.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const example = join(root, 'sample-data/lining-example.json');
const folder = mkdtempSync(join(tmpdir(), 'coomb-lining-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Ended {
  readonly code: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs the command as a user would, in a process of its own. */
function lining(...parameters: string[]): Promise<Ended> {
  const script = join(root, 'server/cli.ts');
  const parts = ['--import', 'tsx', script, 'lining', ...parameters];
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

const exampleFile = (): LiningFile => JSON.parse(readFileSync(example, 'utf8'));

/** The example with one change, as JSON in a file. */
function changed(name: string, change: (file: LiningFile) => void): string {
  const file = exampleFile();
  change(file);
  return write(name, JSON.stringify(file));
}

describe('coomb lining with a good file', () => {
  test('prints for people: U before and after, the hidden layer, the month table and the cautions', async () => {
    const { code, stdout, stderr } = await lining(example);
    expect([code, stderr]).toEqual([0, '']);
    // Plasterboard alone under a ventilated void: 0.10 + 0.0125/0.25 + 0.10 = 0.25 m2K/W, by hand.
    expect(stdout).toMatch(/before\s+0\.10\s+0\.25\s+4\.00\s+0\.600/);
    for (const words of [
      'Behind the lining',
      'Condensation month by month',
      'licensed electrician',
      'asbestos',
      'eaves',
    ]) {
      expect(stdout).toContain(words);
    }
  });

  test('prints JSON that holds the same figures and no NaN', async () => {
    const { code, stdout } = await lining(example, '--json');
    expect(code).toBe(0);
    const result = JSON.parse(stdout);
    expect(result.before.by_surface_resistance.map((one: { rsi_m2k_per_w: number }) => one.rsi_m2k_per_w)).toEqual([
      0.1, 0.13, 0.25,
    ]);
    expect(result.before.u_value_w_per_m2k).toBeCloseTo(4, 10);
    expect(result.hidden_layer.after).toHaveLength(4);
    expect(result.after.condensation.months).toHaveLength(12);
    expect(result.after.condensation.limits.length).toBeGreaterThan(4);
    expect(result.cautions.map((caution: { code: string }) => caution.code)).toContain('foam-fire');
    expect(result.coldest_night).toBeNull();
  });

  test('a lining that traps vapour behind it is warned of, for people and for programs', async () => {
    const trap = changed('trap.json', (file) => {
      const gloss = { kind: 'sheet', name: 'old gloss paint', sheet: 'gloss-paint' } as const;
      const openFoam = file.after.layers[2] as { sd_m?: number; vapour_control?: true };
      delete openFoam.sd_m;
      delete openFoam.vapour_control;
      file.before.layers[0] = gloss;
      file.after.layers[3] = gloss;
      file.air_leak_m3_per_h_m2 = 0.2;
      file.design = { room_c: 20, room_humidity_pct: 45, outdoor_c: 0, outdoor_humidity_pct: 80 };
    });
    const people = await lining(trap);
    expect(people.code).toBe(0);
    expect(people.stdout).toMatch(/WARNING: This lining makes the hidden layer worse/);
    const programs = JSON.parse((await lining(trap, '--json')).stdout);
    expect(programs.notices[0]).toMatchObject({ code: 'hidden-layer-worse', severity: 'warning' });
  });
});

describe('coomb lining with a bad file', () => {
  test.each([
    ['a file that is not there', () => join(folder, 'none.json'), /none\.json cannot be read: ENOENT/],
    ['a file that is not JSON', () => write('broken.json', '{ "pitch_deg": 40,'), /broken\.json is not JSON/],
    [
      'an unknown key',
      () => write('key.json', JSON.stringify({ ...exampleFile(), pitch: 40 })),
      /\/: Unrecognized key: "pitch"/,
    ],
  ])('%s ends with 1 and says what is wrong, on stderr alone', async (_, path, message) => {
    const { code, stdout, stderr } = await lining(path());
    expect(code).toBe(1);
    expect(stdout).toBe('');
    expect(stderr).toMatch(message);
  });

  const faults: [string, (file: LiningFile) => void, string, RegExp][] = [
    [
      'an unknown material',
      (file) => Object.assign(file.before.layers[1]!, { material: 'cheese' }),
      '/before/layers/1/material',
      /plasterboard/,
    ],
    [
      'a kind that does not exist',
      (file) => Object.assign(file.before.layers[1]!, { kind: 'solid' }),
      '/before/layers/1/kind',
      /"material", "sheet", "declared" or "air"/,
    ],
    [
      'a thickness of nothing',
      (file) => Object.assign(file.after.layers[2]!, { thickness_mm: 0 }),
      '/after/layers/2/thickness_mm',
      />0/,
    ],
    [
      'a material without table or values',
      (file) => delete (file.before.layers[1] as { material?: string }).material,
      '/before/layers/1/conductivity_w_per_mk',
      /is needed where no "material"/,
    ],
    [
      'a bridge without share or spacing',
      (file) => delete (file.after.layers[2] as { bridge: { width_mm?: number } }).bridge.width_mm,
      '/after/layers/2/bridge',
      /either "share", or "width_mm" and "spacing_mm"/,
    ],
    [
      'an after that has lost the old ceiling',
      (file) => file.after.layers.splice(3, 1),
      '/after/layers',
      /no layer named "old wall paint"/,
    ],
    [
      'an after without a lining',
      (file) => file.after.layers.splice(0, 3),
      '/after/layers/0',
      /needs the lining's layers before/,
    ],
    [
      'vapour control behind the old ceiling',
      (file) => Object.assign(file.after.layers[4]!, { vapour_control: true }),
      '/after/layers/4/vapour_control',
      /belongs on its room side/,
    ],
    [
      'a ventilated void on the room side of the old ceiling',
      (file) => file.after.layers.splice(1, 0, file.after.layers[5]!),
      '/after/layers/1',
      /lies on the room side of the old surface/,
    ],
    ['eleven months', (file) => file.climate!.months.pop(), '/climate/months', /12/],
    [
      'months without room humidity or class',
      (file) => delete file.climate!.humidity_class,
      '/climate/months/0/room_humidity_pct',
      /"humidity_class"/,
    ],
    ['a zone that is none', (file) => Object.assign(file, { time_zone: 'Larch/Rise' }), '/time_zone', /IANA/],
  ];
  test.each(faults)('%s is named by its place in the JSON', (_, change, at, message) => {
    const file = exampleFile();
    change(file);
    const read = readLiningFile(JSON.parse(JSON.stringify(file)));
    if (read.kind === 'usable') throw new Error('it was taken as usable');
    const problem = read.problems.find((one) => one.at === at);
    expect(problem, JSON.stringify(read.problems)).toBeDefined();
    expect(problem!.message).toMatch(message);
  });

  test('every key of the file has a description or is a plain name', () => {
    const json = JSON.stringify(liningFileSchema.toJSONSchema({ io: 'input' }));
    expect(json.match(/"description"/g)!.length).toBeGreaterThan(30);
  });
});

describe('climate typed in', () => {
  test('a humidity class gives the room its upper limit of vapour excess with a tenth added', () => {
    const read = readLiningFile(exampleFile());
    if (read.kind !== 'usable') throw new Error(JSON.stringify(read.problems));
    // Computed independently, check-values/frsi-min-example.csv: January 686.97 + 1.10 * 696.60, July 1278.18 + 1.10 * 243.00,
    // printed with two decimals.
    const pressures = read.input.climate!.map((month) => month.roomVapourPressure);
    expect(pressures[0]).toBeCloseTo(1453.23, 1);
    expect(pressures[6]).toBeCloseTo(1545.48, 1);
  });
});

describe('declared values', () => {
  test('win over the table, bridge by width and spacing is a share', () => {
    const file = exampleFile();
    Object.assign(file.before.layers[1]!, {
      conductivity_w_per_mk: 0.19,
      vapour_resistance_factor: { dry: 9, wet: 5 },
    });
    const read = readLiningFile(file);
    if (read.kind !== 'usable') throw new Error(JSON.stringify(read.problems));
    const [, plasterboard] = read.input.before.layers;
    expect(plasterboard).toMatchObject({
      material: { conductivity: 0.19, density: 900, vapourResistance: { dry: 9 } },
    });
    expect(read.input.after.layers[2]).toMatchObject({ bridge: { share: 38 / 600 } });
  });
});

describe('coomb lining with logs', () => {
  const header = 'time,temperature_c,humidity_pct';
  /** Two days of readings every half hour: one whole night. */
  const days = (temperature: number, humidity: number): string =>
    Array.from({ length: 96 }, (_, half) => {
      const time = new Date(Date.UTC(2026, 0, 10) + half * 1_800_000).toISOString();
      return `${time},${temperature},${humidity}`;
    }).join('\n');

  test('the coldest night is predicted, bad lines are set aside and told, hours are written', async () => {
    const room = write('room.csv', `${header}\n${days(20, 55)}\n2026-01-10 25:00,20,55\n2026-01-10T12:10:00Z,n/a,55\n`);
    const outdoor = write('outdoor.csv', `${header}\n${days(-3, 85)}\n2026-01-10T12:00:00,0,50\n`);
    const hours = join(folder, 'hours.csv');
    const { code, stdout, stderr } = await lining(
      example,
      '--json',
      '--room',
      room,
      '--outdoor',
      outdoor,
      '--hours',
      hours,
    );
    expect(code).toBe(0);
    expect(stderr).toContain('room.csv: 2 lines set aside');
    expect(stderr).toContain('line 98 has the time "2026-01-10 25:00"');
    expect(stderr).toContain('line 99 has temperature_c "n/a"; it must be a number from -60 to 100 °C');
    expect(stderr).toContain('outdoor.csv: 1 lines set aside');
    const result = JSON.parse(stdout);
    // Room 20, outdoors -3, plasterboard under a ventilated void: 20 - 23 * 0.10/0.25 = 10.8 °C, by hand.
    expect(result.coldest_night.outdoor_c).toBeCloseTo(-3, 10);
    expect(result.before.surface_in_coldest_night[0].lowest_temperature_c).toBeCloseTo(10.8, 10);
    expect(result.hidden_layer.as_described.logged.known_hours).toBe(48);
    const rows: Record<string, string>[] = parse(readFileSync(hours), { columns: true });
    expect(rows).toHaveLength(48);
    expect(rows[0]).toMatchObject({ time: '2026-01-10T00:00:00.000Z', before_temperature_c: '10.80' });
    const again = await lining(example, '--room', room, '--outdoor', outdoor, '--hours', hours);
    expect([again.code, again.stderr]).toEqual([1, expect.stringContaining('hours.csv cannot be written: EEXIST')]);
  });

  test('a log alone, a log without its columns and logs that never meet are refused', async () => {
    const room = write('alone.csv', `${header}\n${days(20, 55)}\n`);
    const nameless = write('nameless.csv', `${days(20, 55)}\n`);
    const other = write('other.csv', `${header}\n2024-07-01T00:00:00Z,15,70\n`);
    const [alone, columns, apart] = await Promise.all([
      lining(example, '--room', room),
      lining(example, '--room', nameless, '--outdoor', room),
      lining(example, '--room', room, '--outdoor', other),
    ]);
    expect([alone.code, columns.code, apart.code]).toEqual([1, 1, 1]);
    expect(alone.stderr).toContain('give both --room and --outdoor');
    expect(columns.stderr).toContain('nameless.csv has no column time, temperature_c, humidity_pct');
    expect(apart.stderr).toContain('no hour in common');
  });

  // Measured room and outdoor air of two real houses (CC BY 4.0; see the data's own readme).
  const open = fileURLToPath(new URL('../../../shared/open-data/house-a', import.meta.url));
  const haveOpen = existsSync(open);
  if (!haveOpen) console.warn('skipped: ../shared/open-data (hourly room and outdoor air of a house) is missing');

  test.skipIf(!haveOpen)(
    'twenty months of a real house give a month table, a coldest night and mould index',
    async () => {
      const convert = (name: string, temperature: string, humidity: string): string => {
        const rows: Record<string, string>[] = parse(readFileSync(join(open, `${name}.csv`)), { columns: true });
        const lines = rows.map((row) => {
          const values = [row[temperature], row[humidity]].map((value) => (value === 'nan' ? '' : value));
          return `${row['t_UTC+2']}+02:00,${values.join(',')}`;
        });
        return write(`${name}.csv`, `${header}\n${lines.join('\n')}\n`);
      };
      const room = convert('indoor1', 'T', 'RH');
      const outdoor = convert('fmi', 'Te', 'RHe');
      const { code, stdout } = await lining(example, '--json', '--room', room, '--outdoor', outdoor);
      expect(code).toBe(0);
      const result = JSON.parse(stdout);
      const { known_hours, mean_temperature_c, mould_index_highest } = result.hidden_layer.as_described.logged;
      expect(known_hours).toBeGreaterThan(10_000);
      expect(mean_temperature_c).toBeLessThan(result.hidden_layer.before.logged.mean_temperature_c);
      expect(mould_index_highest).toBeGreaterThanOrEqual(0);
      expect(mould_index_highest).toBeLessThanOrEqual(6);
      // The coldest night of the log, found here without the program: a night's mean is at least its coldest hour.
      const temperatures = (parse(readFileSync(join(open, 'fmi.csv')), { columns: true }) as { Te: string }[])
        .map(({ Te }) => Number(Te))
        .filter(Number.isFinite);
      expect(result.coldest_night.outdoor_c).toBeGreaterThanOrEqual(Math.min(...temperatures));
      expect(result.coldest_night.outdoor_c).toBeLessThan(Math.min(...temperatures) + 5);
    },
  );
});
