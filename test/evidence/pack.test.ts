import { execFileSync } from 'node:child_process';
import { createHash, createPrivateKey } from 'node:crypto';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPack } from '../../server/evidence/build.ts';
import { textCell, textOfCell } from '../../server/evidence/cells.ts';
import { checkBag, checkSignature } from '../../server/evidence/check-bag.ts';
import { fingerprintOf } from '../../server/evidence/key.ts';
import type { PackScope } from '../../server/evidence/scope.ts';
import { type PackFault, unpack } from '../../server/evidence/unpack.ts';
import { type Verification, verifyPack } from '../../server/evidence/verify.ts';
import type { Dwelling, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { twoColours } from '../pictures/made.ts';
import { edited, type Members, readMembers, signedAnew, withManifests, writeMembers } from './bag.ts';
import { DAY, FROM, givenSealedHome, hostile, TO } from './home.ts';
import { checkPy, python, unpackTo as unpackIn } from './python.ts';

const folder = mkdtempSync(join(tmpdir(), 'coomb-evidence-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let store: Store;
let home: Dwelling;
let members: Members;
let pack: string;
let fingerprint: string;
const NOW = TO + 3_600_000;

const scopeOf = (change: Partial<PackScope> = {}): PackScope => ({
  dwellingId: home.id,
  from: FROM,
  to: TO,
  placeIds: null,
  words: 'with-words',
  ...change,
});
const build = (name: string, scope: PackScope, now = NOW) => {
  const file = join(folder, name);
  return buildPack({ store, openStore: openSqliteStore, dataFolder: folder, version: '0.0.0', now }, scope, file).then(
    (made) => ({ ...made, file }),
  );
};
const verify = (file: string, key: string | null = null, entries: [string, string][] = []): Promise<Verification> =>
  verifyPack(file, openSqliteStore, { fingerprint: key, entries: new Map(entries) });

let tampered = 0;
const verifyMembers = async (changed: Members, key: string | null = null, entries: [string, string][] = []) =>
  verify(await writeMembers(join(folder, `tampered-${tampered++}.zip`), changed), key, entries);

/** The first steps of verifying alone: nothing behind them is needed to see what was changed in the zip. */
async function bagFaults(changed: Members): Promise<PackFault[]> {
  const n = tampered++;
  const file = await writeMembers(join(folder, `tampered-${n}.zip`), changed);
  const faults: PackFault[] = [];
  const complain = (fault: PackFault): void => {
    faults.push(fault);
  };
  const unpacked = (await unpack(file, join(folder, `tampered-${n}`), complain))!;
  checkBag(unpacked, complain);
  checkSignature(unpacked, null, complain);
  return faults;
}

beforeAll(async () => {
  store = await openSqliteStore(join(folder, 'coomb.db'));
  home = await givenSealedHome(store);
  const { keepHours } = await import('../../server/store/hour-keeper.ts');
  await keepHours(store);
  const made = await build('pack.zip', scopeOf());
  pack = made.file;
  fingerprint = made.fingerprint;
  members = await readMembers(pack);
}, 120_000);
afterAll(() => store.close());

const unpackTo = (name: string, of: Members): string => unpackIn(join(folder, name), of);

describe('a pack that nobody touched', () => {
  it('is found whole, signed and right to the last figure, every sealed day summed up again', async () => {
    const result = await verify(pack, fingerprint);
    expect(result.faults).toEqual([]);
    expect(result.differences).toEqual([]);
    expect(result).toMatchObject({ fingerprint, days: 42, signedAt: new Date(NOW).toISOString() });
    // 8 series, 42 days
    expect(result.seriesDays).toBe(8 * 42);
    expect(result.readings).toBe(8 * 42 * 48);
    expect(result.figures).toBeGreaterThan(60);
  });

  it.skipIf(!python)('is found right by the script in it, which knows nothing of this program', async () => {
    const { code, out } = await checkPy(unpackTo('untouched', members));
    expect(out).toContain('All as stated.');
    expect(out).toContain(`${8 * 42} of ${8 * 42} days of a series`);
    expect(code).toBe(0);
  });

  it('satisfies sha256sum and OpenSSL with the commands its README gives', () => {
    const root = unpackTo('by-hand', members);
    const run = (command: string): string =>
      execFileSync('sh', ['-c', command], { cwd: root, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
    run('sha256sum -c manifest-sha256.txt && sha256sum -c tagmanifest-sha256.txt');
    const readme = members.get('README.txt')!.toString();
    const openssl = readme.split('\n').find((line) => line.includes('openssl pkeyutl'))!;
    expect(run(openssl)).toContain('Signature Verified Successfully');
    // the chain with awk, sort and sha256sum, one reading day, one whole day, one entry
    const day = '2025-11-05';
    const days = members.get('data/provenance/series-days.csv')!.toString();
    const awk = readme.slice(readme.indexOf('awk -F,'), readme.indexOf('sha256sum', readme.indexOf('awk -F,')) + 9);
    const line = days.split('\n').find((one) => one.startsWith(`${day},1,temperature_c,`))!;
    expect(run(awk.replaceAll('2026-01-14', day)).split(' ')[0]).toBe(line.split(',').at(-1));
    const chain = members.get('data/provenance/chain.csv')!.toString();
    const sealed = chain
      .split('\n')
      .find((one) => one.startsWith(day))!
      .split(',');
    expect(run(`grep '^${day},' data/provenance/series-days.csv | LC_ALL=C sort | sha256sum`).slice(0, 64)).toBe(
      sealed[2],
    );
    expect(run(`grep '^${day},' data/provenance/chain.csv | cut -d, -f1-7 | sha256sum`).slice(0, 64)).toBe(sealed[7]);
  });

  it('is the same byte for byte when it is made again, but for the signed statement', async () => {
    const again = await readMembers((await build('again.zip', scopeOf(), NOW + 5)).file);
    expect([...again.keys()]).toEqual([...members.keys()]);
    for (const [name, bytes] of again) {
      if (!name.startsWith('signature/statement')) expect(bytes.equals(members.get(name)!), name).toBe(true);
    }
    const [one, other] = await Promise.all([build('one.zip', scopeOf()), build('other.zip', scopeOf())]);
    expect(readFileSync(one.file).equals(readFileSync(other.file))).toBe(true);
  });

  it('is signed by a key that only its owner can read', () => {
    const path = join(folder, 'evidence-key.pem');
    expect(statSync(path).mode & 0o777).toBe(0o600);
    expect(fingerprintOf(createPrivateKey(readFileSync(path)))).toBe(fingerprint);
  });

  it('may be zipped again by anyone: the bag is what is signed', async () => {
    expect((await verifyMembers(members, fingerprint)).faults).toEqual([]);
  });
});

/** Rules written from RFC 8493, not from the code that writes the bag. */
describe('the bag', () => {
  const text = (name: string): string => members.get(name)!.toString('utf8');
  it('declares itself in two lines (RFC 8493, 2.1.1)', () => {
    expect(text('bagit.txt')).toBe('BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n');
  });
  it('lists every payload file once, with its digest in hexadecimal, in manifest-sha256.txt (2.1.3, 2.4)', () => {
    const lines = text('manifest-sha256.txt').trimEnd().split('\n');
    const listed = lines.map((line) => /^([0-9a-f]{64}) {2}(data\/\S+)$/.exec(line)!);
    expect(listed.map((match) => match[2]).sort()).toEqual(
      [...members.keys()].filter((name) => name.startsWith('data/')).sort(),
    );
    for (const [, digest, name] of listed) {
      expect(createHash('sha256').update(members.get(name!)!).digest('hex')).toBe(digest);
    }
    // "%", CR and LF must be percent-encoded (2.1.3): there are none
    expect(lines.join('')).not.toMatch(/[%\r]/);
  });
  it('lists tag files and the payload manifest, but not itself, in tagmanifest-sha256.txt (2.2.1)', () => {
    const names = text('tagmanifest-sha256.txt')
      .trimEnd()
      .split('\n')
      .map((line) => line.slice(66));
    expect(names).toEqual(
      expect.arrayContaining(['bagit.txt', 'bag-info.txt', 'manifest-sha256.txt', 'README.txt', 'check.py']),
    );
    expect(names.some((name) => name.startsWith('data/') || name.startsWith('tagmanifest'))).toBe(false);
  });
  it('has labels and values in bag-info.txt, and a Payload-Oxum that adds up (2.2.2)', () => {
    const info = new Map(
      text('bag-info.txt')
        .trimEnd()
        .split('\n')
        .map((line) => /^([^\s:][^:]*): (.*)$/.exec(line)!.slice(1, 3) as [string, string]),
    );
    const payload = [...members].filter(([name]) => name.startsWith('data/'));
    expect(info.get('Payload-Oxum')).toBe(
      `${payload.reduce((sum, [, bytes]) => sum + bytes.length, 0)}.${payload.length}`,
    );
    expect(info.get('Bagging-Date')).toMatch(/^\d{4}-\d\d-\d\d$/);
  });
});

/** Rules written from Table Schema and RFC 4180, with a reader of this test's own. */
describe('the tables', () => {
  const parse = (text: string): string[][] => {
    const rows: string[][] = [];
    let row: string[] = [];
    let cell = '';
    let quoted = false;
    for (let k = 0; k < text.length; k++) {
      const c = text[k]!;
      if (quoted) {
        if (c === '"' && text[k + 1] === '"') cell += text[++k];
        else if (c === '"') quoted = false;
        else cell += c;
      } else if (c === '"') quoted = true;
      else if (c === ',') {
        row.push(cell);
        cell = '';
      } else if (c === '\n') {
        rows.push([...row, cell]);
        row = [];
        cell = '';
      } else cell += c;
    }
    return rows;
  };
  const types: Record<string, RegExp> = {
    integer: /^-?\d+$/,
    number: /^-?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i,
    boolean: /^(true|false)$/,
    date: /^\d{4}-\d\d-\d\d$/,
    datetime: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/,
    array: /^\[.*\]$/s,
    string: /./s,
  };

  it('are all described by datapackage.json and hold to their schemas: names, types, constraints, keys', () => {
    const description = JSON.parse(members.get('data/datapackage.json')!.toString());
    expect(description.profile).toBe('tabular-data-package');
    const csvs = [...members.keys()].filter((name) => name.endsWith('.csv')).map((name) => name.slice(5));
    expect(description.resources.map((one: { path: string }) => one.path).sort()).toEqual(csvs.sort());
    const names = description.resources.map((one: { name: string }) => one.name);
    expect(new Set(names).size).toBe(names.length);
    for (const { path, name, schema } of description.resources) {
      expect(name).toMatch(/^[a-z0-9._-]+$/);
      const [header, ...rows] = parse(members.get(`data/${path}`)!.toString());
      expect(header, path).toEqual(schema.fields.map((field: { name: string }) => field.name));
      const keys = new Set<string>();
      for (const row of rows) {
        expect(row.length, path).toBe(header!.length);
        for (const [k, field] of schema.fields.entries()) {
          const cell = row[k]!;
          if (schema.missingValues.includes(cell)) {
            if (field.constraints.required) throw new Error(`${path}: ${field.name} is missing`);
            continue;
          }
          if (!types[field.type]!.test(cell)) throw new Error(`${path}: ${field.name} is ${cell}`);
          if (field.constraints.enum && !field.constraints.enum.includes(cell)) throw new Error(`${path}: ${cell}`);
        }
        keys.add(JSON.stringify(schema.primaryKey.map((key: string) => row[header!.indexOf(key)])));
      }
      expect(keys.size, path).toBe(rows.length);
    }
  });

  it('give names and notes back unchanged, and no cell of theirs begins as a spreadsheet formula does', () => {
    const cells = (name: string): string[][] => parse(members.get(`data/story/${name}.csv`)!.toString());
    expect(
      cells('places')
        .slice(1, 3)
        .map((row) => textOfCell(row[1]!)),
    ).toEqual([hostile.room, hostile.surface]);
    expect(textOfCell(cells('diary')[1]![3]!)).toBe(hostile.note);
    expect(textOfCell(cells('sensors')[2]![1]!)).toBe(hostile.sensor);
    expect(textOfCell(cells('dwelling')[1]![2]!)).toBe(hostile.home);
    expect(textOfCell(cells('photos')[1]![2]!)).toBe(hostile.seen);
    for (const [name, bytes] of members) {
      if (!name.startsWith('data/story/') && name !== 'data/figures.csv') continue;
      if (!name.endsWith('.csv')) continue;
      for (const cell of parse(bytes.toString()).flat()) {
        if (Number.isNaN(Number(cell))) expect(cell).not.toMatch(/^[=+\-@\t\r|]/);
      }
      // a line is a row, whatever people wrote
      expect(bytes.toString().trimEnd().split('\n').length).toBe(parse(bytes.toString()).length);
    }
  });

  it('take any text there and back', () => {
    for (const text of [
      '',
      ' =1',
      '=1',
      '+1',
      '-1',
      '@a',
      "'a",
      '"a"',
      '"',
      'a"b',
      'a,b',
      'a\nb',
      '\u0000',
      '＝1',
      '|x',
      '{}',
      'null',
      '\ud83c\udfda',
      '\u2028',
    ]) {
      expect(textOfCell(textCell(text))).toBe(text);
      expect(textCell(text)).not.toMatch(/[\n\r\u2028]/);
    }
  });

  it('stand in files whose paths no name can leave', () => {
    for (const name of members.keys()) expect(name).toMatch(/^[A-Za-z0-9][A-Za-z0-9._-]*(\/[a-z0-9][a-z0-9._-]*)*$/);
  });
});

describe('what was changed in the zip and nothing else is found and named', () => {
  const kinds: [string, string][] = [
    ['a reading', 'data/readings/series-1.csv'],
    ['a calibration', 'data/story/calibrations.csv'],
    ['a placement', 'data/story/placements.csv'],
    ['a phase', 'data/story/phases.csv'],
    ['a note', 'data/story/diary.csv'],
    ['a photo', 'data/photos/photo-1.jpg'],
    ['the list of photos', 'data/story/photos.csv'],
    ['a place', 'data/story/places.csv'],
    ['a sensor', 'data/story/sensors.csv'],
    ['a series', 'data/story/series.csv'],
    ['the home', 'data/story/dwelling.csv'],
    ['an hour', 'data/hours/place-2.csv'],
    ['a figure', 'data/figures.csv'],
    ['the assessments', 'data/assessments.json'],
    ['the method', 'data/method.txt'],
    ['the settings', 'data/settings.json'],
    ['the chain', 'data/provenance/chain.csv'],
    ['a day of a series', 'data/provenance/series-days.csv'],
    ['the journal', 'data/provenance/journal.txt'],
    ['what is said of the chain', 'data/provenance/covering.txt'],
    ['a conflict', 'data/aside/conflicts.csv'],
    ['a message in quarantine', 'data/aside/quarantine.csv'],
    ['the description of the tables', 'data/datapackage.json'],
    ['the README', 'README.txt'],
    ['the checking script', 'check.py'],
    ['bag-info.txt', 'bag-info.txt'],
    ['bagit.txt', 'bagit.txt'],
  ];
  it.each(kinds)('a flipped bit in %s (%s)', async (_, name) => {
    const bytes = Buffer.from(members.get(name)!);
    bytes[bytes.length >> 1]! ^= 1;
    const faults = await bagFaults(new Map(members).set(name, bytes));
    expect(faults).toContainEqual({
      part: 'bag',
      member: name,
      message: 'it is not what its manifest says: it was changed',
    });
  });

  it.each([
    'manifest-sha256.txt',
    'tagmanifest-sha256.txt',
    'signature/statement.txt',
    'signature/statement.sig',
    'signature/public-key.pem',
  ])('a flipped bit in %s', async (name) => {
    const bytes = Buffer.from(members.get(name)!);
    bytes[bytes.length >> 1]! ^= 1;
    const faults = await bagFaults(new Map(members).set(name, bytes));
    expect(faults.length).toBeGreaterThan(0);
    expect(JSON.stringify(faults)).toMatch(/signature|manifest/);
  });

  it.each(kinds)('a missing member: %s (%s)', async (_, name) => {
    const without = new Map(members);
    without.delete(name);
    const faults = await bagFaults(without);
    expect(faults).toContainEqual({ part: 'bag', member: name, message: 'it is listed and is not there' });
  });

  it('a member that was slipped in', async () => {
    const faults = await bagFaults(new Map(members).set('data/story/extra.csv', Buffer.from('a\n')));
    expect(faults).toContainEqual({
      part: 'bag',
      member: 'data/story/extra.csv',
      message: 'it is in no manifest: it was added',
    });
  });

  it('a manifest that was made to fit the change: it is not the one that was signed', async () => {
    const changed = withManifests(edited(members, 'data/method.txt', (text) => `${text}!`));
    const faults = await bagFaults(changed);
    expect(faults).toContainEqual({
      part: 'signature',
      member: 'tagmanifest-sha256.txt',
      message: 'it is not the one that was signed',
    });
  });

  it('a pack signed anew by another key, to whoever knows the right one', async () => {
    const changed = signedAnew(members);
    expect((await verifyMembers(changed)).faults).toEqual([]);
    const { faults } = await verifyMembers(changed, fingerprint);
    expect(faults).toMatchObject([{ part: 'signature', message: expect.stringContaining('another key') }]);
  });
});

describe('what was changed and covered up with new manifests and a new signature still shows', () => {
  const row = (text: string, n: number, change: (cells: string[]) => string[]): string => {
    const lines = text.split('\n');
    lines[n] = change(lines[n]!.split(',')).join(',');
    return lines.join('\n');
  };
  const cell =
    (n: number, value: (old: string) => string) =>
    (cells: string[]): string[] =>
      cells.map((old, k) => (k === n ? value(old) : old));
  const readings = 'data/readings/series-1.csv';
  const found = async (changed: Members): Promise<string> => {
    const { faults } = await verifyMembers(signedAnew(changed));
    expect(faults.length).toBeGreaterThan(0);
    return faults.map(({ part, member, message }) => `${part} ${member}: ${message}`).join('\n');
  };

  it('a changed reading: by its sealed day and by the hour', async () => {
    const text = await found(
      edited(members, readings, (old) =>
        row(
          old,
          300,
          cell(2, (value) => String(Number(value) + 1)),
        ),
      ),
    );
    expect(text).toContain(`chain ${readings}: what arrived on 2025-11-07 is not what was sealed`);
    expect(text).toMatch(/hours data\/hours\/place-1.csv: \d+ hours differ, the first 2025-11-07T/);
  });

  it('a dropped row: by its sealed day, with how many are missing', async () => {
    const text = await found(
      edited(members, readings, (old) =>
        old
          .split('\n')
          .filter((_, k) => k !== 300)
          .join('\n'),
      ),
    );
    expect(text).toContain('what arrived on 2025-11-07 is not what was sealed (47 readings are here, 48 were sealed)');
  });

  it('a day that was dropped altogether', async () => {
    const text = await found(
      edited(members, readings, (old) =>
        old
          .split('\n')
          .filter((line) => !line.includes(',2025-11-07'))
          .join('\n'),
      ),
    );
    expect(text).toContain('what arrived on 2025-11-07 is not what was sealed (0 readings are here, 48 were sealed)');
  });

  it('a reading that was slipped in', async () => {
    const text = await found(
      edited(members, readings, (old) => {
        const lines = old.split('\n');
        lines.splice(301, 0, lines[300]!.replace(/:\d\d\.000Z/, ':07.000Z'));
        return lines.join('\n');
      }),
    );
    expect(text).toContain('(49 readings are here, 48 were sealed)');
  });

  it('a back-dated reading, said to have arrived before sealing began', async () => {
    const text = await found(
      edited(members, readings, (old) =>
        row(
          old,
          300,
          cell(3, () => '2025-10-01'),
        ),
      ),
    );
    expect(text).toContain('what arrived on 2025-11-07 is not what was sealed');
  });

  it('two rows that changed places', async () => {
    const text = await found(
      edited(members, readings, (old) => {
        const lines = old.split('\n');
        [lines[300], lines[301]] = [lines[301]!, lines[300]!];
        return lines.join('\n');
      }),
    );
    expect(text).toContain('its time does not come after that of the line before');
  });

  it('a changed calibration: by the journal, and by every figure that rests on it', async () => {
    const text = await found(
      edited(members, 'data/story/calibrations.csv', (old) => old.replace(',0.2,0,', ',0.9,0,')),
    );
    expect(text).toContain('story data/story/calibrations.csv: calibration 1 is not what the journal says it became');
    expect(text).toMatch(/hours data\/hours\/place-1.csv/);
    expect(text).toMatch(/figures data\/figures.csv: surface-2\.before/);
  });

  it('a calibration that was left out', async () => {
    const text = await found(edited(members, 'data/story/calibrations.csv', (old) => `${old.split('\n')[0]}\n`));
    expect(text).toContain('calibration 1 is in the journal and not in the pack');
  });

  it('a changed placement', async () => {
    const text = await found(
      edited(members, 'data/story/placements.csv', (old) => old.replace('2025-10-31', '2025-11-02')),
    );
    expect(text).toContain('placement 1 is not what the journal says it became');
  });

  it('a moved phase', async () => {
    const text = await found(
      edited(members, 'data/story/phases.csv', (old) => old.replace('2025-11-22', '2025-11-20')),
    );
    expect(text).toContain('phase 1 is not what the journal says it became');
  });

  it('a reworded note', async () => {
    const text = await found(edited(members, 'data/story/diary.csv', (old) => old.replace('line two', 'line 2')));
    expect(text).toContain('diary entry 1 is not what the journal says it became');
  });

  describe('a photo', () => {
    const photo = 'data/photos/photo-1.jpg';
    const list = 'data/story/photos.csv';
    const digestOf = (bytes: Buffer): string => createHash('sha256').update(bytes).digest('hex');

    it('that was swapped for another: by the digest in its table', async () => {
      const other = await twoColours(30, 40);
      expect(await found(new Map(members).set(photo, other))).toBe(
        `table ${photo}: the picture is not the one that photos.csv gives the digest of`,
      );
    });

    it('that was swapped, with its table made to fit: by the journal', async () => {
      const other = await twoColours(30, 40);
      const digest = digestOf(members.get(photo)!);
      const changed = edited(members, list, (old) => old.replaceAll(digest, digestOf(other))).set(photo, other);
      const text = await found(changed);
      expect(text).toContain(`story ${photo}: the picture is not the one that the journal holds the digest of`);
    });

    it('that was swapped, with table and journal made to fit: by the chain', async () => {
      const other = await twoColours(30, 40);
      const digest = digestOf(members.get(photo)!);
      const fit = (old: string): string => old.replaceAll(digest, digestOf(other));
      const changed = edited(edited(members, list, fit), 'data/provenance/journal.txt', fit).set(photo, other);
      expect(await found(changed)).toBe(
        'chain data/provenance/journal.txt: its changes sealed on 2025-11-01 are not those that were sealed',
      );
    });

    it('that was left out, with its row', async () => {
      const changed = edited(members, list, (old) => `${old.split('\n')[0]}\n`);
      changed.delete(photo);
      expect(await found(changed)).toBe(`story ${list}: photo 1 is in the journal and not in the pack`);
    });

    it.each([
      ['said to show something else', (old: string) => old.replace('black strip', 'clean strip')],
      ['said to be of another day', (old: string) => old.replace('2025-11-01T23', '2025-12-01T23')],
    ])('%s', async (_, change) => {
      expect(await found(edited(members, list, change))).toBe(
        `story ${list}: photo 1 is not what the journal says it became`,
      );
    });
  });

  it('a journal that was made to fit: by the chain', async () => {
    const text = await found(
      edited(members, 'data/provenance/journal.txt', (old) => old.replace('"reading_1":0.2', '"reading_1":0.9')),
    );
    expect(text).toContain(
      'chain data/provenance/journal.txt: its changes sealed on 2025-11-01 are not those that were sealed',
    );
  });

  it('an entry of the chain', async () => {
    const text = await found(
      edited(members, 'data/provenance/chain.csv', (old) =>
        row(
          old,
          9,
          cell(1, () => '1'),
        ),
      ),
    );
    expect(text).toContain('the chain is broken at 2025-11-09');
  });

  it('a day taken out of the chain', async () => {
    const text = await found(
      edited(members, 'data/provenance/chain.csv', (old) =>
        old
          .split('\n')
          .filter((_, k) => k !== 9)
          .join('\n'),
      ),
    );
    expect(text).toContain('2025-11-10 does not follow the day before');
  });

  it('a chain made again from the beginning: to whoever received an entry of it', async () => {
    const entry = members.get('data/provenance/chain.csv')!.toString().split('\n')[9]!.split(',');
    expect((await verifyMembers(members, null, [[entry[0]!, entry[7]!]])).faults).toEqual([]);
    const { faults } = await verifyMembers(members, null, [[entry[0]!, 'ab'.repeat(32)]]);
    expect(faults).toMatchObject([
      { part: 'chain', message: expect.stringContaining('not the one that was received') },
    ]);
  });

  it('a prettier figure: against the one worked out again', async () => {
    const name = 'place-2.winter-2025/26.risk-hours';
    const changed = edited(members, 'data/figures.csv', (old) =>
      old
        .split('\n')
        .map((line) => (line.startsWith(name) ? line.replace(/,(\d+),,,,/, ',3,,,,') : line))
        .join('\n'),
    );
    const { differences } = await verifyMembers(signedAnew(changed));
    expect(differences).toEqual([{ id: name, stated: 'value 3', workedOut: expect.stringMatching(/^\d{2,}$/) }]);
  });

  it('a prettier hour', async () => {
    const text = await found(edited(members, 'data/hours/place-2.csv', (old) => old.replace(',true,', ',false,')));
    expect(text).toMatch(/hours data\/hours\/place-2.csv: 1 hours differ, the first .*_hour is false, worked out true/);
  });

  it.each([
    [
      'a cell of another type',
      (old: string) => old.replace('temperature_c,', 'warmth,'),
      'story/series.csv',
      /quantity is "warmth"; it must be one of/,
    ],
    [
      'a cell that is missing',
      (old: string) =>
        row(
          old,
          1,
          cell(2, () => ''),
        ),
      'story/placements.csv',
      /place is ""; it must be there/,
    ],
    [
      'another header',
      (old: string) => old.replace('from_utc', 'from'),
      'story/phases.csv',
      /its header is not that of the table/,
    ],
    [
      'a row that is there twice',
      (old: string) => `${old}${old.split('\n')[1]}\n`,
      'story/sensors.csv',
      /is there twice/,
    ],
  ] as const)('a table that breaks its schema: %s', async (_, change, name, message) => {
    expect(await found(edited(members, `data/${name}`, change))).toMatch(message);
  });

  it.skipIf(!python)(
    'to the script in the pack as well: a reading, a journal, an hour',
    async () => {
      const cases: [Members, RegExp][] = [
        [
          edited(members, readings, (old) =>
            row(
              old,
              300,
              cell(2, (value) => String(Number(value) + 1)),
            ),
          ),
          /readings of sensor 1 \(temperature_c\) that arrived on 2025-11-07/,
        ],
        [
          edited(members, 'data/provenance/journal.txt', (old) => old.replace('0.2', '0.9')),
          /journal.txt is not what the chain sealed on 2025-11-01/,
        ],
        [
          edited(members, 'data/hours/place-2.csv', (old) => old.replace(',true,', ',false,')),
          /place 2, .*_hour is false, worked out here True/,
        ],
        [
          edited(members, 'data/figures.csv', (old) =>
            old
              .split('\n')
              .map((line) =>
                line.startsWith('place-2.winter-2025/26.risk-hours') ? line.replace(/,(\d+),,,,/, ',3,,,,') : line,
              )
              .join('\n'),
          ),
          /figure place-2.winter-2025\/26.risk-hours is 3/,
        ],
      ];
      for (const [k, [changed, message]] of cases.entries()) {
        const { code, out } = await checkPy(unpackTo(`python-${k}`, signedAnew(changed)));
        expect(out).toMatch(message);
        expect(code).toBe(1);
      }
      const flipped = new Map(members).set('data/method.txt', Buffer.from('x'));
      const { code, out } = await checkPy(unpackTo('python-flipped', flipped));
      expect(out).toContain('data/method.txt was changed');
      expect(code).toBe(1);
    },
    60_000,
  );
});

describe('a zip that means harm', () => {
  /** A zip whose one entry has this path, whatever a careful writer would say. */
  async function withPath(path: string): Promise<string> {
    const file = await writeMembers(
      join(folder, `path-${tampered++}.zip`),
      new Map([...members, ['q'.repeat(path.length - 5), Buffer.from('x')]]),
    );
    const bytes = readFileSync(file);
    const placeholder = Buffer.from(`pack/${'q'.repeat(path.length - 5)}`);
    for (let at = bytes.indexOf(placeholder); at >= 0; at = bytes.indexOf(placeholder, at + 1))
      bytes.write(path, at, 'latin1');
    writeFileSync(file, bytes);
    return file;
  }
  it.each([
    '../../../../tmp/coomb-escaped',
    '/tmp/coomb-escaped-here',
    'C:\\coomb\\escaped',
    'pack/../../coomb-escaped',
    'pack/a\\..\\..\\escaped',
    'pack/data/./escaped',
  ])('with the path %s does not leave its folder, and the path is named', async (path) => {
    const { faults } = await verify(await withPath(path));
    expect(faults).toContainEqual({ part: 'zip', member: path, message: expect.stringContaining('not unpacked') });
    expect(existsSync('/tmp/coomb-escaped') || existsSync('/tmp/coomb-escaped-here')).toBe(false);
  });
  it('with a member twice is named', async () => {
    const file = await writeMembers(join(folder, 'twice.zip'), new Map([...members, ['chock.py', Buffer.from('x')]]));
    const bytes = readFileSync(file);
    for (let at = bytes.indexOf('pack/chock.py'); at >= 0; at = bytes.indexOf('pack/chock.py', at + 1))
      bytes.write('pack/check.py', at);
    writeFileSync(file, bytes);
    expect((await verify(file)).faults).toContainEqual({
      part: 'zip',
      member: 'check.py',
      message: 'it is in the zip twice',
    });
  });
  it.each([
    ['no zip at all', Buffer.from('a pack')],
    ['empty', Buffer.alloc(0)],
  ])('that is %s is named', async (_, bytes) => {
    const file = join(folder, 'broken.zip');
    writeFileSync(file, bytes);
    expect((await verify(file)).faults).toMatchObject([{ part: 'zip', member: null }]);
  });
  it('cut off in the middle is named', async () => {
    const file = join(folder, 'cut.zip');
    writeFileSync(file, readFileSync(pack).subarray(0, 50_000));
    expect((await verify(file)).faults[0]).toMatchObject({ part: 'zip' });
  });
});

describe('a pack of a part', () => {
  it('brings the places that its figures rest on, and no others, and holds', async () => {
    const { file } = await build('part.zip', scopeOf({ placeIds: [2], from: FROM + 5 * DAY, to: FROM + 30 * DAY }));
    const part = await readMembers(file);
    const hours = [...part.keys()].filter((name) => name.startsWith('data/hours/'));
    // surface, room, outdoors, loft: not the control
    expect(hours).toEqual([1, 2, 4, 5].map((id) => `data/hours/place-${id}.csv`));
    const result = await verify(file);
    expect(result.faults).toEqual([]);
    expect(result.seriesDays).toBe(7 * 25);
    if (!python) return;
    expect((await checkPy(unpackTo('part', part))).out).toContain('All as stated.');
  });

  it('without names has none of them anywhere, and holds', async () => {
    const { file } = await build('nameless.zip', scopeOf({ words: 'without-words' }));
    const nameless = await readMembers(file);
    for (const [name, bytes] of nameless) {
      for (const word of [
        'larch',
        'passwd',
        'DROP TABLE',
        'HYPERLINK',
        'SUM(',
        'Flat ceiling',
        'cmd|calc',
        '-2+3',
        'black strip',
      ]) {
        expect(bytes.includes(word), `${name} has ${word}`).toBe(false);
      }
    }
    expect(nameless.has('data/aside/quarantine.csv')).toBe(false);
    expect([...nameless.keys()].filter((name) => name.includes('photo'))).toEqual([]);
    expect((await verify(file)).faults).toEqual([]);
  });

  it.each([
    ['that ends before it begins', { from: TO, to: FROM }, /end after it begins/],
    ['that is cut inside an hour', { from: FROM + 1 }, /whole hours/],
    ['of a place that is not there', { placeIds: [77] }, /no place 77/],
  ])('%s is refused, with what is wrong', async (_, change, message) => {
    await expect(build('refused.zip', scopeOf(change))).rejects.toThrow(message);
    expect(existsSync(join(folder, 'refused.zip'))).toBe(false);
  });
});
