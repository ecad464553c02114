import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Canvas, createCanvas, loadImage } from '@napi-rs/canvas';
import { parse } from 'csv-parse/sync';
import jsQR from 'jsqr';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { digestOf } from '../../server/api/access/token.ts';
import { labelsHtml, labelsPdf, placingAddress, type SensorLabel } from '../../server/evidence/labels.ts';
import { addHomes, lookThrough } from '../../server/ingest/onboarding.ts';
import { readHomes } from '../../server/ingest/onboarding-file.ts';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { startServer, type TestServer } from '../api/server.ts';

/** An independent decoder; its types speak of a module that its file is not. */
const readCode = jsQR as unknown as typeof jsQR.default;
const AT = Date.UTC(2026, 0, 10);
const header =
  'dwelling,name,zone,area,build_type,group,place,place_kind,faces,sensor,sensor_name,model,topic,reads,account';
const good = `${header}
mill-row-1,"1 Mill Row, front",Europe/London,Mill row,solid wall,Terrace,Bedroom,room-air,,room,Bedroom air,SHT31,,,yes
mill-row-1,,,,,,Slope,ceiling-surface,Bedroom,slope,,DS18B20,attic/1/state,/t=temperature_c; /h=humidity_pct,yes
mill-row-1,,,,,,,,,loft,,,,,yes
mill-row-2,2 Mill Row,Europe/Berlin,,,,Outdoors,outdoor-air,,out,,,,,no
`;

let store: Store;
beforeEach(async () => {
  store = await openSqliteStore(':memory:');
});
afterEach(() => store.close());

let counter = 0;
const makePassword = () => {
  const password = `secret-${++counter}`;
  return { password, hash: digestOf(password) };
};
const add = async (text: string) => {
  const found = await lookThrough(store, text);
  return { found, ...(await addHomes({ store, clock: () => AT, makePassword }, found.homes)) };
};

describe('a file of homes', () => {
  it('looked through changes nothing; added, everything is there, with digests of the passwords alone', async () => {
    const looked = await lookThrough(store, good);
    expect(looked.faults).toEqual([]);
    expect(looked.lacking).toEqual({ dwellings: 2, places: 3, sensors: 4, mappings: 1, accounts: 3 });
    expect(await store.dwellings()).toEqual([]);

    const { added, passwords } = await add(good);
    expect(added).toEqual(looked.lacking);
    const home = (await store.findDwelling('mill-row-1'))!;
    expect(home).toMatchObject({ name: '1 Mill Row, front', zone: 'Europe/London', sectionConfirmed: false });
    const places = await store.places(home.id);
    const [bedroom, slope] = places;
    expect(places).toMatchObject([{ name: 'Bedroom' }, { name: 'Slope', facesPlaceId: bedroom!.id }]);
    const sensors = await store.sensors(home.id);
    expect(sensors.map(({ key, name, model }) => [key, name, model])).toEqual([
      ['room', 'Bedroom air', 'SHT31'],
      ['slope', 'slope', 'DS18B20'],
      ['loft', 'loft', null],
    ]);
    expect((await store.placements(home.id)).map(({ placeId, from, to }) => [placeId, from, to])).toEqual([
      [bedroom!.id, AT, null],
      [slope!.id, AT, null],
    ]);
    expect(await store.mappings()).toMatchObject([
      {
        topicPattern: 'attic/1/state',
        sensorKey: 'slope',
        values: [
          { pointer: '/t', quantity: 'temperature', unit: 'C' },
          { pointer: '/h', quantity: 'humidity', unit: '%' },
        ],
      },
    ]);
    const groups = await store.groups();
    expect(await store.attributes(home.id)).toEqual({
      area: 'Mill row',
      buildType: 'solid wall',
      groupIds: [groups.find(({ name }) => name === 'Terrace')!.id],
    });
    const accounts = await store.deviceAccounts();
    expect(passwords.map(({ username }) => username)).toEqual(accounts.map(({ username }) => username));
    for (const { username, password } of passwords) {
      const account = accounts.find((one) => one.username === username)!;
      expect(account.passwordHash).toBe(digestOf(password));
      expect(JSON.stringify(accounts)).not.toContain(password);
    }
  });

  it('added twice adds nothing the second time, gives no password, and leaves a sensor that was moved where it is', async () => {
    await add(good);
    const { id } = (await store.findDwelling('mill-row-1'))!;
    const [bedroom] = await store.places(id);
    const slope = (await store.sensors(id)).find(({ key }) => key === 'slope')!;
    await store.placeSensor(id, slope.id, bedroom!.id, AT + 1000);
    const all = async () =>
      JSON.stringify([
        await store.places(id),
        await store.sensors(id),
        await store.placements(id),
        await store.mappings(),
        await store.deviceAccounts(),
      ]);
    const before = await all();
    const { found, added, passwords } = await add(good);
    expect(found).toMatchObject({ faults: [], homes: [], named: ['mill-row-1', 'mill-row-2'] });
    expect(added).toEqual({ dwellings: 0, places: 0, sensors: 0, mappings: 0, accounts: 0 });
    expect(passwords).toEqual([]);
    expect(await all()).toBe(before);
    // a row more is all that is added
    const more = await add(`${good}mill-row-1,,,,,,,,,eaves,,,,,yes\n`);
    expect(more.added).toEqual({ dwellings: 0, places: 0, sensors: 1, mappings: 0, accounts: 1 });
  });

  it('tells every fault with its row, column and what to do, and leaves such homes out whole', async () => {
    const text = `${header}
Mill Row,x,Europe/London,,,,,,,a,,,,,
bad-zone,Bad,Europe/Nowhere,,,,,,,a,,,,,
bad-kind,Bad,Europe/London,,,,Attic,attic,,a,,,,,maybe
bad-face,Bad,Europe/London,,,,Slope,ceiling-surface,Parlour,a,,,,,
bad-reads,Bad,Europe/London,,,,,,,a,,,x/y,/t=warmth,
bad-twice,Bad,Europe/London,,,,,,,a,,,,,
bad-twice,Worse,,,,,,,,a,,,,,
fine,Fine,Europe/London,,,,,,,a,,,,,yes
`;
    const { faults, lacking, named } = await lookThrough(store, text);
    expect(faults.map(({ row, column }) => [row, column])).toEqual([
      [2, 'dwelling'],
      [3, 'zone'],
      [4, 'place_kind'],
      [4, 'account'],
      [5, 'faces'],
      [6, 'reads'],
      [8, 'name'],
      [8, 'sensor'],
    ]);
    for (const { message, whatToDo } of faults) {
      expect(message).not.toBe('');
      expect(whatToDo).toMatch(/^[A-Z].*\.$/);
    }
    // what the words are made of, for other languages
    expect(faults.map(({ code, data }) => [code, data])).toEqual([
      ['bad-slug', { text: 'Mill Row' }],
      ['bad-zone', { zone: 'Europe/Nowhere' }],
      ['bad-kind', { kind: 'attic', kinds: expect.stringContaining('room-air') }],
      ['neither-yes-nor-no', { text: 'maybe' }],
      ['no-such-room', { room: 'Parlour', dwelling: 'bad-face' }],
      ['no-quantity', { part: '/t=warmth', quantities: expect.stringContaining('temperature_c') }],
      ['said-otherwise', { dwelling: 'bad-twice', before: 'Bad', here: 'Worse' }],
      ['sensor-twice', { key: 'a', row: 7 }],
    ]);
    expect(named).toEqual(['fine']);
    expect(lacking).toMatchObject({ dwellings: 1, sensors: 1, accounts: 1 });
    await add(text);
    expect((await store.dwellings()).map(({ slug }) => slug)).toEqual(['fine']);
  });

  it.each([
    ['', 'no rows'],
    ['dwelling,name\n', 'no rows'],
    ['a,b\n1,2\n', 'not known'],
    ['dwelling,name\nx,"y\n', 'cannot be read as a table'],
  ])('that is none is refused with what to do: %j', (text, why) => {
    const { homes, faults } = readHomes(text);
    expect(homes).toEqual([]);
    expect(faults.map(({ message }) => message).join()).toContain(why);
  });

  it('from a spreadsheet with semicolons and a byte order mark is understood', () => {
    const { homes, faults } = readHomes('\ufeffdwelling;name;zone;sensor\r\nmill;Mühle;Europe/Berlin;außen\r\n');
    expect(faults).toEqual([]);
    expect(homes).toMatchObject([{ dwelling: { slug: 'mill', name: 'Mühle' }, sensors: [{ key: 'außen' }] }]);
  });

  it('beside what is there already finds what does not go with it', async () => {
    await add(good);
    const other = `${header}
mill-row-1,1 Mill Row,Europe/Berlin,,,,Bedroom,loft-air,,x,,,,,
mill-row-3,3,Europe/London,,,,,,,slope,,,attic/1/state,,
`;
    const { faults, named } = await lookThrough(store, other);
    expect(faults.map(({ row, column }) => [row, column])).toEqual([
      [2, 'zone'],
      [2, 'place_kind'],
      [3, 'topic'],
    ]);
    expect(named).toEqual([]);
  });

  it('a home is added whole or not at all', async () => {
    const { homes } = await lookThrough(store, good);
    const taken = { ...homes[0]!, sensors: homes[0]!.sensors.map((one) => ({ ...one, username: 'same' })) };
    await expect(addHomes({ store, clock: () => AT, makePassword }, [taken])).rejects.toMatchObject({
      fault: 'already-there',
    });
    expect(await store.dwellings()).toEqual([]);
    expect(await store.groups()).toEqual([]);
    expect(await store.deviceAccounts()).toEqual([]);
  });
});

describe('labels', () => {
  const labels: SensorLabel[] = Array.from({ length: 30 }, (_, k) => ({
    home: `${k} Mill Row <& "Gärtnerei">`,
    sensor: `slope ${k}`,
    key: `slope-${k}`,
    place: k % 2 === 0 ? 'Sloping ceiling' : null,
    address: placingAddress('https://homes.example:8420', `mill-row-${k}`, `sensor ${k}/ü&x`),
  }));

  /** What a camera would read where a label is, from a sheet drawn at so many dots a millimetre. */
  function decoded(canvas: Canvas, k: number, dots: number): string | undefined {
    const x = Math.round(((k % 3) * 70 + 2) * dots);
    const y = Math.round((0.5 + Math.floor(k / 3) * 37 + 2) * dots);
    const size = Math.round(34 * dots);
    const { data, width, height } = canvas.getContext('2d').getImageData(x, y, size, size);
    return readCode(data, width, height)?.data;
  }

  it('in a page to print lead each to where its sensor is placed, as a decoder reads them', async () => {
    const html = labelsHtml(labels, 'Labels');
    const sheets = html.match(/<svg.*?<\/svg>/gs)!;
    expect(sheets).toHaveLength(2);
    expect(html).not.toContain('<& "');
    const dots = 8;
    for (const [page, svg] of sheets.entries()) {
      const image = await loadImage(Buffer.from(svg));
      const canvas = createCanvas(210 * dots, 297 * dots);
      const context = canvas.getContext('2d');
      context.fillStyle = '#fff';
      context.fillRect(0, 0, canvas.width, canvas.height);
      context.drawImage(image, 0, 0, canvas.width, canvas.height);
      const own = labels.slice(page * 24, page * 24 + 24);
      for (const [k, label] of own.entries()) expect(decoded(canvas, k, dots)).toBe(label.address);
    }
    const address = new URL(labels[7]!.address);
    expect(address.pathname).toBe('/sensors/stand');
    expect(address.searchParams.get('sensor')).toBe('sensor 7/ü&x');
    expect([...address.searchParams.keys()]).toEqual(['dwelling', 'sensor']);
  });

  const pdftoppm = spawnSync('pdftoppm', ['-v']).error === undefined;
  it.skipIf(!pdftoppm)('as a PDF are of A4, and are read as well', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'coomb-labels-'));
    try {
      const file = join(folder, 'labels.pdf');
      writeFileSync(file, await labelsPdf(labels, 'Labels'));
      execFileSync('pdftoppm', ['-r', '203.2', '-png', file, join(folder, 'sheet')]);
      const image = await loadImage(readFileSync(join(folder, 'sheet-1.png')));
      // ISO 216: 210 mm by 297 mm, here at 8 dots a millimetre
      expect(Math.abs(image.width - 1680)).toBeLessThanOrEqual(2);
      expect(Math.abs(image.height - 2376)).toBeLessThanOrEqual(2);
      const canvas = createCanvas(image.width, image.height);
      canvas.getContext('2d').drawImage(image, 0, 0);
      for (let k = 0; k < 24; k++) expect(decoded(canvas, k, 8)).toBe(labels[k]!.address);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});

describe('by the API', () => {
  let server: TestServer;
  beforeAll(async () => {
    server = await startServer(() => AT);
  }, 60_000);
  afterAll(() => server.close());

  it('a file is looked through, added, and its labels come; what a new device sends is let in at once', async () => {
    const bytes = new TextEncoder().encode(good);
    const looked = await server.operate('checkOnboarding', '/portfolio/onboarding-check', { bytes });
    expect(looked.body.lacking.dwellings).toBe(2);
    expect((await server.operate('getPortfolio', '/portfolio')).body.counts.homes).toBe(0);
    const done = await server.operate('onboardHomes', '/portfolio/onboarding', { bytes });
    expect(done.body).toMatchObject({ faults: [], added: { dwellings: 2, accounts: 3 } });
    expect((await server.operate('getPortfolio', '/portfolio')).body.counts.homes).toBe(2);
    const { username, password } = done.body.passwords[0];
    const sent = await fetch(`${server.coomb.address}/api/v1/dwellings/mill-row-1/readings/room`, {
      method: 'POST',
      headers: { authorization: `Basic ${Buffer.from(`${username}:${password}`).toString('base64')}` },
      body: '{"temperature_c": 12.5}',
    });
    expect(sent.status).toBe(200);
    const query = `dwellings=mill-row-1,mill-row-2&base=${encodeURIComponent('http://192.168.1.9:8420')}`;
    const pdf = await fetch(`${server.coomb.address}/api/v1/portfolio/labels?${query}`);
    expect([pdf.status, pdf.headers.get('content-type')]).toEqual([200, 'application/pdf']);
    const none = await server.operate('getLabels', '/portfolio/labels?dwellings=x&base=javascript:alert(1)');
    expect(none.status).toBe(400);
  });
});

describe('coomb onboard', () => {
  it('tells faults, keeps passwords in a file of its owner alone, and says what it added', () => {
    const folder = mkdtempSync(join(tmpdir(), 'coomb-onboard-'));
    const file = join(folder, 'homes.csv');
    const run = (...more: string[]) =>
      spawnSync(
        process.execPath,
        ['--import', 'tsx', 'server/cli.ts', 'onboard', '--file', file, '--data', folder, ...more],
        {
          encoding: 'utf8',
        },
      );
    try {
      writeFileSync(file, `${good}worse,Worse,Nowhere,,,,,,,a,,,,,\n`);
      const dry = run('--dry-run');
      expect(dry.stdout).toContain('Would add: homes 2, places 3, sensors 4, mappings 1, accounts 3.');
      expect(dry.stderr).toContain('row 6, zone:');
      expect(dry.status).toBe(1);
      const needs = run();
      expect(needs.stderr).toContain('--passwords');
      const passwords = join(folder, 'passwords.csv');
      const labels = join(folder, 'labels.pdf');
      const done = run('--passwords', passwords, '--labels', labels, '--address', 'https://homes.example');
      expect(done.stdout).toContain('Added: homes 2');
      const rows: { username: string; password: string }[] = parse(readFileSync(passwords, 'utf8'), { columns: true });
      expect(rows.map(({ username }) => username)).toEqual(['mill-row-1-room', 'mill-row-1-slope', 'mill-row-1-loft']);
      expect(new Set(rows.map(({ password }) => password)).size).toBe(3);
      expect(readFileSync(labels).subarray(0, 5).toString()).toBe('%PDF-');
      expect(run('--passwords', join(folder, 'again.csv')).stdout).toContain('Added: homes 0, places 0, sensors 0');
    } finally {
      rmSync(folder, { recursive: true });
    }
  }, 120_000);
});
