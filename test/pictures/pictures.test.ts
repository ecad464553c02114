import { loadImage } from '@napi-rs/canvas';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { cleanerOptions, createPictureCleaner } from '../../server/pictures/clean.ts';
import { takenAt } from '../../server/pictures/exif.ts';
import { pictureHeader } from '../../server/pictures/header.ts';
import { bombPng, exifBlock, twoColours, withExif } from './made.ts';

describe('the head of a picture', () => {
  it.each(['jpeg', 'png', 'webp'] as const)('tells kind and size of a %s file another library wrote', async (kind) => {
    const header = pictureHeader(await twoColours(321, 123, kind));
    expect(header).toMatchObject({ kind, width: 321, height: 123, exif: null, whole: true });
  });

  it('is nothing for files that are no pictures, whatever they are called', async () => {
    const jpeg = await twoColours(64, 64);
    for (const bytes of [
      Buffer.alloc(0),
      Buffer.from('GIF89a\x01\0\x01\0'),
      Buffer.from('<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'),
      Buffer.from('<html><script>alert(1)</script></html>'),
      jpeg.subarray(0, 3),
      jpeg.subarray(1),
      Buffer.from('89504e470d0a1a0a', 'hex'),
      Buffer.from('RIFF\0\0\0\0WEBP'),
    ]) {
      expect(pictureHeader(bytes)).toBeNull();
    }
  });

  it.each(['jpeg', 'png', 'webp'] as const)('says of a %s file whether its end is there', async (kind) => {
    const bytes = await twoColours(321, 123, kind);
    for (let kept = bytes.length - 1; kept > 0; kept -= 1 + Math.floor(bytes.length / 40)) {
      expect(pictureHeader(bytes.subarray(0, kept))?.whole ?? false).toBe(false);
    }
    // a phone may write a film behind its picture
    expect(pictureHeader(Buffer.concat([bytes, Buffer.alloc(500, 7)]))).toMatchObject({ whole: true });
    // a copy that broke off may be filled up with nothing
    if (kind === 'jpeg') {
      const filled = Buffer.concat([bytes.subarray(0, -20), Buffer.alloc(20)]);
      expect(pictureHeader(filled)).toMatchObject({ width: 321, whole: false });
    }
  });

  it('holds under any bytes whatever, and so does the EXIF reader', async () => {
    const jpeg = withExif(await twoColours(16, 16), { takenAt: '2026:01:14 21:05:00' });
    const damaged = fc.array(fc.tuple(fc.nat(jpeg.length - 1), fc.nat(255)), { maxLength: 12 }).map((changes) => {
      const copy = Buffer.from(jpeg);
      for (const [at, byte] of changes) copy[at] = byte;
      return copy;
    });
    fc.assert(
      fc.property(fc.oneof(damaged, fc.uint8Array({ maxLength: 300 })), (bytes) => {
        const header = pictureHeader(bytes);
        if (header?.exif) takenAt(header.exif);
        takenAt(bytes);
      }),
      { numRuns: 3000 },
    );
  });
});

describe('the time a picture was taken', () => {
  it('is read with its offset from UTC where the camera says it', () => {
    const wall = Date.UTC(2026, 0, 14, 21, 5, 7);
    expect(takenAt(exifBlock({ takenAt: '2026:01:14 21:05:07' }))).toEqual({ wall, offsetMinutes: null });
    expect(takenAt(exifBlock({ takenAt: '2026:01:14 21:05:07', offset: '-03:30' }))).toEqual({
      wall,
      offsetMinutes: -210,
    });
  });

  it.each([
    '0000:00:00 00:00:00',
    '2026:02:30 10:00:00',
    '    :  :     :  :  ',
    '2026-01-14 21:05:07',
    '2026:01:14 24:61:00',
  ])('is not known of %s', (text) => expect(takenAt(exifBlock({ takenAt: text }))).toBeNull());
});

describe('a cleaned picture', () => {
  const cleaner = createPictureCleaner();
  afterAll(() => cleaner.close());

  it('has nothing of where, when and with what it was taken', async () => {
    const sent = withExif(await twoColours(800, 600), { takenAt: '2026:01:14 21:05:00', maker: 'Invented camera' });
    expect(sent.includes('Invented camera')).toBe(true);
    const { full, thumbnail, width, height } = await cleaner.clean(sent);
    expect([width, height]).toEqual([800, 600]);
    for (const file of [Buffer.from(full), Buffer.from(thumbnail)]) {
      for (const trace of ['Exif', 'Invented', '2026:01:14', 'http', 'XMP']) expect(file.includes(trace)).toBe(false);
      expect(pictureHeader(file)).toMatchObject({ kind: 'jpeg', exif: null });
    }
    expect(pictureHeader(thumbnail)).toMatchObject({ width: 400, height: 300 });
  });

  it.each([
    [1, [800, 400], 'left red'],
    [3, [800, 400], 'left blue'],
    [6, [400, 800], 'top red'],
    [8, [400, 800], 'top blue'],
  ] as const)(
    'stands the right way up when its camera was held so (orientation %i)',
    async (orientation, size, where) => {
      const { full, width, height } = await cleaner.clean(withExif(await twoColours(800, 400), { orientation }));
      expect([width, height]).toEqual(size);
      const { createCanvas } = await import('@napi-rs/canvas');
      const canvas = createCanvas(width, height);
      const pen = canvas.getContext('2d');
      pen.drawImage(await loadImage(Buffer.from(full)), 0, 0);
      const [red, , blue] = pen.getImageData(20, 20, 1, 1).data;
      expect(where.endsWith('red') ? red! > 150 && blue! < 60 : blue! > 150 && red! < 60).toBe(true);
    },
  );

  it('is no larger than a screen needs, and never made larger than it was', async () => {
    expect(await cleaner.clean(await twoColours(3000, 1500, 'webp'))).toMatchObject({ width: 2000, height: 1000 });
    expect(await cleaner.clean(await twoColours(5, 3, 'png'))).toMatchObject({ width: 5, height: 3 });
  });

  it('is refused before it is decoded when it has too many pixels', async () => {
    const bomb = bombPng(60_000, 60_000);
    expect(bomb.length).toBeLessThan(100_000);
    // no process of its own was even asked: there would have been no time for its answer
    const hasty = createPictureCleaner({ ...cleanerOptions, longestMs: 1 });
    await expect(hasty.clean(bomb)).rejects.toMatchObject({ fault: 'too-many-pixels' });
    await hasty.close();
  });

  it('is refused when it is damaged, and the next one is taken all the same', async () => {
    const jpeg = await twoColours(640, 480);
    await expect(cleaner.clean(jpeg.subarray(0, 400))).rejects.toMatchObject({ name: 'PictureRefused' });
    await expect(cleaner.clean(bombPng(3000, 3000).subarray(0, 60))).rejects.toMatchObject({ fault: 'broken' });
    expect(await cleaner.clean(jpeg)).toMatchObject({ width: 640 });
  });

  it('is given up when it takes too long, and the next one is taken all the same', async () => {
    const hasty = createPictureCleaner({ ...cleanerOptions, longestMs: 1 });
    const jpeg = await twoColours(640, 480);
    await expect(hasty.clean(jpeg)).rejects.toMatchObject({ fault: 'too-slow' });
    await hasty.close();
    expect(await cleaner.clean(jpeg)).toMatchObject({ width: 640 });
  });
});
