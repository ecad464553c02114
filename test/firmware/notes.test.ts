import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { readTopic } from '../../server/ingest/topic.ts';
import { quantities, quantityNames } from '../../server/physics/quantities.ts';
import { saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { surfaceHumidity, temperatureFactor } from '../../server/physics/surface.ts';
import { readPayload } from '../ingest/read-payload.ts';
import { hasPython, programFolder, pythonMissing } from './python-board.ts';

const notes = fileURLToPath(new URL('../../firmware-notes/', import.meta.url));
const saltTable = fileURLToPath(new URL('../../../shared/check-values/salts.csv', import.meta.url));
const pages = readdirSync(notes).filter((name) => name.endsWith('.md'));
/** A page, its tables without the spaces that line them up. */
const textOf = (page: string): string =>
  readFileSync(join(notes, page), 'utf8').replace(/^\|.*$/gm, (row) => row.replace(/ +/g, ' '));

interface Block {
  readonly page: string;
  /** what stands behind the opening fence */
  readonly marker: string;
  readonly text: string;
}

const blocks: readonly Block[] = pages.flatMap((page) =>
  [...textOf(page).matchAll(/^ *```([^\n]+)\n([\s\S]*?)^ *```$/gm)].map((match) => ({
    page,
    marker: match[1]!,
    text: match[2]!,
  })),
);
const marked = (marker: string): readonly Block[] => blocks.filter((block) => block.marker === marker);

/** The notes' examples are of January 2026; they were received a little later. */
const receivedAt = Date.UTC(2026, 0, 14, 18, 30, 0);
const read = (text: string) => readPayload(Buffer.from(text.trim()), receivedAt);

describe('the notes', () => {
  it('mark every payload as one that is read or one that is set aside', () => {
    const known = /^(json payload|json set-aside [a-z-]+|topic|sh|sh certificates)$/;
    expect(blocks.filter(({ marker }) => !known.test(marker))).toEqual([]);
    expect(marked('json payload').length).toBeGreaterThanOrEqual(9);
    expect(blocks.filter(({ marker }) => marker.startsWith('json set-aside')).length).toBeGreaterThanOrEqual(7);
  });

  it.each(marked('json payload'))('show in $page a payload that is read in full: $text', ({ text }) => {
    const payload = read(text);
    expect(payload.fault).toBeNull();
    expect(payload.kind === 'readings' ? payload.readings.length : 0).toBeGreaterThan(0);
  });

  it.each(blocks.filter(({ marker }) => marker.startsWith('json set-aside')))(
    'show in $page a payload that is set aside for the reason they give: $marker',
    ({ marker, text }) => {
      expect(read(text)).toMatchObject({ kind: 'rejected', fault: { code: marker.split(' ')[2] } });
    },
  );

  it('write one instant in three ways', () => {
    const instant = Date.UTC(2026, 0, 14, 18, 0, 0);
    const same = marked('json payload').filter(({ text }) =>
      /^\{ "time": \S+ "temperature_c": 12.61 \}$/.test(text.trim()),
    );
    expect(same).toHaveLength(4);
    for (const { text } of same) {
      expect(read(text)).toMatchObject({ readings: [{ quantity: 'temperature', time: instant, value: 12.61 }] });
    }
  });

  it('name topics that coomb understands', () => {
    const topics = marked('topic').flatMap(({ text }) => text.trim().split('\n'));
    expect(topics.length).toBeGreaterThan(0);
    for (const topic of topics)
      expect(readTopic(topic)).toMatchObject({ kind: 'sensor', dwellingSlug: 'larch-cottage' });
  });

  it('name every quantity with its unit and the limits that are applied', () => {
    const table = textOf('messages.md');
    for (const { wire, low, high } of quantityNames.map((name) => quantities[name])) {
      expect(table).toMatch(new RegExp(`\\| \`${wire}\` \\| [^|]+ \\| ${low} \\| ${high} \\|`));
    }
  });

  it('link only to pages, drawings and places that are there', () => {
    const links = pages.flatMap((page) => [...textOf(page).matchAll(/\]\(([^)#]+)\)/g)].map((match) => match[1]!));
    expect(links.length).toBeGreaterThan(20);
    expect(links.filter((link) => !existsSync(join(notes, link)))).toEqual([]);
    const index = textOf('README.md');
    for (const page of pages) if (page !== 'README.md') expect(index).toContain(`(${page})`);
  });

  it('work out the life of a battery without a slip', () => {
    const lines = textOf('power.md').split('\n');
    let day = 0;
    let tables = 0;
    for (const line of lines) {
      const cells = line.split('|').map((cell) => cell.trim());
      const row = cells.slice(2, 6).map(Number);
      if (cells[1] === 'together') {
        expect(Number(cells[5])).toBeCloseTo(day, 2);
      } else if (cells.length === 7 && row.every(Number.isFinite) && row[0]! > 0) {
        if (cells[1] === 'wake and measure') day = 0;
        // The table has two decimals.
        expect(Math.abs(row[3]! - (row[0]! * row[1]! * row[2]!) / 3600)).toBeLessThanOrEqual(0.005 + 1e-9);
        day += row[3]!;
      }
      const life = /(\d+) \/ ([\d.]+) = (\d+) days/.exec(line);
      if (life === null) continue;
      tables++;
      expect(Math.floor(Number(life[1]) / Number(life[2]))).toBe(Number(life[3]));
      if (life[1] === '2250') expect(Number(life[2])).toBeCloseTo(day, 2);
    }
    expect(tables).toBe(4);
  });

  it('say what an error of a surface reading does as the program would say it', () => {
    const rows = [...textOf('placing.md').matchAll(/^\| ([\d.]+) °C \([^|]+\| ([\d.]+) \| (\d+) % \|$/gm)];
    expect(rows).toHaveLength(4);
    const vapourPressure = saturationPressureOverWater(20) / 2;
    for (const [, surface, factor, humidity] of rows) {
      expect(temperatureFactor(Number(surface), 20, 0)).toBeCloseTo(Number(factor), 6);
      expect(Math.abs(surfaceHumidity(vapourPressure, Number(surface)) - Number(humidity))).toBeLessThanOrEqual(0.5);
    }
  });

  it('measure with the intervals of the example settings', () => {
    expect(readFileSync(join(programFolder, 'settings_example.py'), 'utf8')).toMatch(
      /MEASURE_EVERY_S = 300\nSEND_EVERY = 6\n/,
    );
  });

  if (!existsSync(saltTable))
    console.warn('SKIPPED: humidity of salts in the notes: ../shared/check-values is missing');
  it.skipIf(!existsSync(saltTable))('give the humidity over salts as Greenspan (1977) does', () => {
    const published = new Map(
      readFileSync(saltTable, 'utf8')
        .split('\n')
        .map((line) => line.split(','))
        .map(([salt, temperature, humidity]) => [`${salt} ${temperature}`, Number(humidity)] as const),
    );
    const names = { MgCl2: 'magnesium chloride', NaCl: 'sodium chloride', K2SO4: 'potassium sulphate' };
    for (const [salt, name] of Object.entries(names)) {
      const row = new RegExp(`\\| ${name}[^|]*\\| ([\\d.]+) \\| ([\\d.]+) \\| ([\\d.]+) \\|`).exec(
        textOf('calibrating.md'),
      );
      expect(row?.slice(1).map(Number)).toEqual(
        [15, 20, 25].map((temperature) => published.get(`${salt} ${temperature}`)),
      );
    }
  });

  it('draw in a way every reader can have: a title and a description in each drawing', () => {
    const drawings = readdirSync(join(notes, 'drawings'));
    expect(drawings.length).toBeGreaterThanOrEqual(6);
    for (const drawing of drawings) {
      expect(readFileSync(join(notes, 'drawings', drawing), 'utf8')).toMatch(/<title[^>]*>[^<]+<\/title>\s*<desc/);
    }
  });
});

if (!hasPython) console.warn(`SKIPPED: the MicroPython sensor modules: ${pythonMissing}`);

describe.skipIf(!hasPython)('the MicroPython sensor modules', () => {
  const board = fileURLToPath(new URL('./board/', import.meta.url));
  const python = (program: string): unknown =>
    JSON.parse(
      execFileSync('python3', ['-B', '-c', `import json\n${program}`], {
        encoding: 'utf8',
        env: { ...process.env, PYTHONPATH: `${programFolder}:${board}` },
      }),
    );

  it('compile', () => {
    const compiled = mkdtempSync(join(tmpdir(), 'coomb-compiled-'));
    const files = readdirSync(programFolder).filter((name) => name.endsWith('.py'));
    expect(files.length).toBeGreaterThan(8);
    execFileSync('python3', ['-m', 'py_compile', ...files], {
      cwd: programFolder,
      env: { ...process.env, PYTHONPYCACHEPREFIX: compiled },
    });
    rmSync(compiled, { recursive: true });
  });

  // Sensirion, data sheets SHT3x-DIS (4.12) and SHT4x (4.4): "CRC (0xBEEF) = 0x92". Maxim, application note 27: the ROM
  // code 02 1C B8 01 00 00 00 has the checksum A2.
  it('have the checksums of the data sheets', () => {
    expect(
      python(`import sht, ds18b20
print(json.dumps([sht.crc8(b"\\xbe\\xef"), ds18b20.crc8(b"\\x02\\x1c\\xb8\\x01\\x00\\x00\\x00")]))`),
    ).toEqual([0x92, 0xa2]);
  });

  // DS18B20 data sheet, table 1, all rows; 85 C is the power-up value and refused.
  it('read the temperatures of the DS18B20 data sheet', () => {
    const table = [
      [0x07d0, 125],
      [0x0550, null],
      [0x0191, 25.0625],
      [0x00a2, 10.125],
      [0x0008, 0.5],
      [0x0000, 0],
      [0xfff8, -0.5],
      [0xff5e, -10.125],
      [0xfe6f, -25.0625],
      [0xfc90, -55],
    ] as const;
    const got = python(`import ds18b20
def of(raw):
    head = bytes([raw & 255, raw >> 8, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10])
    try:
        return ds18b20.temperature(head + bytes([ds18b20.crc8(head)]))
    except ValueError:
        return None
print(json.dumps([of(raw) for raw in ${JSON.stringify(table.map(([raw]) => raw))}]))`);
    expect(got).toEqual(table.map(([, temperature]) => temperature));
  });

  it('refuse a bead whose data wire touches ground or hangs open', () => {
    expect(
      python(`import ds18b20
def refused(pad):
    try:
        return ds18b20.temperature(pad)
    except ValueError as error:
        return str(error)
print(json.dumps([refused(bytes(9)), refused(b"\\xff" * 9)]))`),
    ).toEqual([expect.stringContaining('touches ground'), expect.stringContaining('checksum')]);
  });

  // James, FPL-GTR-6 (1988), Douglas fir at 27 C, from memory; the correction is near nothing where meters are
  // calibrated, 20 to 25 C (common practice, no source).
  it('find the moisture of timber between the rows of the published table, wetter when the wood is cold', () => {
    const got = python(`import timber
r = timber.megohms_between(10.0, 3.3 * 2.14 / 12.14, 3.3 * 10 / 12.14, 3.3)
biased = timber.megohms_between(10.0, 3.3 * 2.14 / 12.14 + 0.02, 3.3 * 10 / 12.14 + 0.02, 3.3)
print(json.dumps([r, timber.moisture(r), timber.moisture(120), timber.moisture(1e6), timber.moisture(0.01),
  timber.corrected(15, 22), timber.corrected(15, 0), biased]))`) as number[];
    expect(got.slice(0, 5)).toEqual([2.14, 20, 12, 7, 25].map((value) => expect.closeTo(value, 9)));
    expect(Math.abs(got[5]! - 15)).toBeLessThan(0.2);
    expect(got[6]).toBeGreaterThan(17.5);
    // 20 mV of the wood's own, which one direction alone would take for 4 % of resistance.
    expect(Math.abs(got[7]! / 2.14 - 1)).toBeLessThan(0.02);
  });
});
