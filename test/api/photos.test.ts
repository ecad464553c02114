import { createHash } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { LARGEST_PHOTO } from '../../server/api/contract/photos.ts';
import { bombPng, twoColours, withExif } from '../pictures/made.ts';
import { givenHome, startServer, type TestServer } from './server.ts';

const NOW = Date.UTC(2026, 6, 14, 22, 10);
let server: TestServer;
const home = '/dwellings/mill-cottage';

beforeAll(async () => {
  server = await startServer(() => NOW);
  await givenHome(server);
  await givenHome(server, 'other');
});
afterAll(() => server.close());

const send = (bytes: Uint8Array) => server.operate('addPhoto', `${home}/photos`, { bytes });
const image = (id: number, size: string, of = home) =>
  fetch(`${server.coomb.address}/api/v1${of}/photos/${id}/${size}`);
const entry = (photos?: { id: number; alt: string }[]) =>
  server.operate('addDiaryEntry', `${home}/diary`, {
    json: { time: '2026-07-01T10:00:00Z', kind: 'mould-seen', text: 'a black strip', ...(photos ? { photos } : {}) },
  });

describe('a photo', () => {
  it('is served clean, with strict headers, and its file’s sum is kept', async () => {
    const sent = withExif(await twoColours(900, 600), { takenAt: '2026:07:01 11:30:00' });
    const { status, body } = await send(sent);
    expect(status).toBe(201);
    // the home's clock shows summer time: an hour before what the camera shows
    expect(body).toMatchObject({ width: 900, height: 600, alt: '', takenAt: '2026-07-01T10:30:00.000Z' });
    expect(body.sha256).toBe(createHash('sha256').update(sent).digest('hex'));
    for (const size of ['full', 'thumbnail']) {
      const response = await image(body.id, size);
      expect(response.status).toBe(200);
      expect(Object.fromEntries(response.headers)).toMatchObject({
        'content-type': 'image/jpeg',
        'cache-control': 'private, no-cache',
        'x-content-type-options': 'nosniff',
        'content-security-policy': "default-src 'none'; sandbox",
        'cross-origin-resource-policy': 'same-origin',
      });
      const bytes = Buffer.from(await response.arrayBuffer());
      expect(bytes.subarray(0, 2).toString('hex')).toBe('ffd8');
      for (const trace of ['Exif', 'Invented', 'GPS']) expect(bytes.includes(trace)).toBe(false);
    }
  });

  it('has no time where its camera’s clock was wrong or said nothing', async () => {
    const jpeg = await twoColours(60, 40);
    expect((await send(jpeg)).body.takenAt).toBeNull();
    for (const takenAt of ['1980:01:01 00:00:00', '2031:01:01 12:00:00', '2026:13:45 99:00:00']) {
      expect((await send(withExif(jpeg, { takenAt }))).body.takenAt).toBeNull();
    }
    const told = await send(withExif(jpeg, { takenAt: '2026:07:01 11:30:00', offset: '+09:00' }));
    expect(told.body.takenAt).toBe('2026-07-01T02:30:00.000Z');
  });

  it('belongs to an entry with its words, is replaced with it, and goes with it', async () => {
    const jpeg = await twoColours(60, 40);
    const [a, b] = [(await send(jpeg)).body.id as number, (await send(jpeg)).body.id as number];
    const made = await entry([
      { id: a, alt: 'the strip above the bed' },
      { id: b, alt: '' },
    ]);
    expect(made.body.photos.map((photo: { id: number; alt: string }) => [photo.id, photo.alt])).toEqual([
      [a, 'the strip above the bed'],
      [b, ''],
    ]);
    const path = `${home}/diary/${made.body.id}`;
    expect((await server.operate('changeDiaryEntry', path, { json: { text: 'wider now' } })).body.photos).toHaveLength(
      2,
    );
    const fewer = await server.operate('changeDiaryEntry', path, { json: { photos: [{ id: b, alt: 'the corner' }] } });
    expect(fewer.body.photos).toMatchObject([{ id: b, alt: 'the corner' }]);
    expect((await image(a, 'full')).status).toBe(404);
    expect((await server.operate('removeDiaryEntry', path)).status).toBe(204);
    expect((await image(b, 'thumbnail')).status).toBe(404);
  });

  it('is not shown in another home, nor in a size there is none of', async () => {
    const { id } = (await send(await twoColours(60, 40))).body;
    expect((await image(id, 'full', '/dwellings/other')).status).toBe(404);
    expect((await image(id, 'huge')).status).toBe(400);
    expect((await image(0, 'full')).status).toBe(400);
  });

  it('survives a restart', async () => {
    const { id } = (await send(await twoColours(60, 40))).body;
    await entry([{ id, alt: 'kept' }]);
    await server.restart();
    expect((await image(id, 'full')).status).toBe(200);
  });
});

describe('what is no photo', () => {
  it.each([
    ['nothing', Buffer.alloc(0)],
    ['a page', Buffer.from('<!doctype html><script>alert(1)</script>')],
    ['a drawing with a script', Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>')],
    ['a GIF', Buffer.from('47494638396101000100800000000000ffffff2c00000000010001000002024401003b', 'hex')],
    ['a JPEG head and noise', Buffer.concat([Buffer.from('ffd8ffe0', 'hex'), Buffer.alloc(5000, 77)])],
    ['a PNG that would unpack to 3.6 thousand million pixels', bombPng(60_000, 60_000)],
    ['a PNG that promises more rows than it has bytes for', bombPng(5000, 9000).subarray(0, 90)],
  ])('is refused and says why: %s', async (_, bytes) => {
    const { status, body } = await send(bytes);
    expect(status).toBe(400);
    expect(body.detail).toMatch(/^The picture was not taken\. It /);
  });

  it('is refused when it breaks off, and told to be copied again', async () => {
    for (const sent of [await twoColours(900, 600), withExif(await twoColours(900, 600), {})]) {
      for (const share of [0.5, 0.9, 0.999]) {
        const { status, body } = await send(sent.subarray(0, Math.floor(sent.length * share)));
        expect(status).toBe(400);
        expect(body.detail).toBe(
          'The picture was not taken. It breaks off: the file ends before the picture does. Copy it again from the phone or camera.',
        );
      }
    }
  });

  it('is refused when it is too large, before it is looked at', async () => {
    const { status, body } = await send(Buffer.alloc(LARGEST_PHOTO + 1, 0xff));
    expect(status).toBe(413);
    expect(body.detail).toContain('20 MiB');
  });

  it('leaves readings coming in while it is being refused', async () => {
    const bomb = bombPng(7000, 7000);
    const running = Promise.all([send(bomb), send(bomb)]);
    const begun = performance.now();
    const reading = await server.operate('sendReadings', `${home}/readings/slope`, { json: { temperature_c: 14 } });
    expect(reading.status).toBe(200);
    expect(performance.now() - begun).toBeLessThan(1500);
    await running;
  });
});
