import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import pixelmatch from 'pixelmatch';
import type { Browser, Page } from 'playwright-core';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadSample } from '../../server/commands/sample.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, openStore, sampleFolder, startCoomb } from '../../server/main.ts';
import { chromiumPath, openBrowser } from './demo-home.ts';
import { settled, still, watchTraffic } from './reader.ts';

/**
 * The screens as they were last looked at and found good, on the sample home at one moment. A screen that is meant to look
 * different is looked at again and its picture made anew: COOMB_NEW_LOOK=1 npx vitest run … test/browser/look.test.ts
 */
const pictures = fileURLToPath(new URL('./look', import.meta.url));
/** Share of the pixels that may differ: edges of letters and lines. No source: chosen before the first picture was made. */
const MOST_DIFFERENT = 0.02;
const renewed = process.env.COOMB_NEW_LOOK === '1';

const screens = [
  ['section', '/'],
  ['tonight', '/tonight'],
  ['loft', '/loft'],
  ['diary', '/diary'],
  ['sensors', '/sensors'],
  ['evidence', '/evidence'],
  ['settings', '/settings'],
] as const;
const looks = [
  { name: 'desk-light', width: 1280, height: 900, colorScheme: 'light' },
  { name: 'phone-dark', width: 360, height: 740, colorScheme: 'dark' },
] as const;

/** Screens as they are printed from a dark page, and in colours that the reader chose for the whole system. */
const otherwise = ['section', 'loft', 'sensors'].flatMap((name) => {
  const [, path] = screens.find(([screen]) => screen === name)!;
  return [
    { name, path, look: { name: 'paper', width: 794, height: 1123, colorScheme: 'dark', media: 'print' } },
    {
      name,
      path,
      look: { name: 'forced-dark', width: 1280, height: 900, colorScheme: 'dark', forcedColors: 'active' },
    },
  ] as const;
});
interface Look {
  readonly name: string;
  readonly width: number;
  readonly height: number;
  readonly colorScheme: 'light' | 'dark';
  readonly media?: 'print';
  readonly forcedColors?: 'active';
}

const read = (file: string): PNG => PNG.sync.read(readFileSync(file));

/** Share of the pixels in which two pictures of one size differ. */
function difference(one: PNG, other: PNG): number {
  if (one.width !== other.width || one.height !== other.height) return 1;
  const { width, height } = one;
  return pixelmatch(one.data, other.data, undefined, width, height, { threshold: 0.2 }) / (width * height);
}

describe.skipIf(chromiumPath === null)('the look of the screens', () => {
  let folder: string;
  let coomb: Coomb;
  let browser: Browser;
  let moment: number;
  let sameFonts = true;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-look-'));
    const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
    const store = await openStore(config);
    const dwelling = await loadSample(store, sampleFolder, () => {});
    moment = Math.max(...(await store.lastReadings(dwelling.id)).map(({ time }) => time)) + 60_000;
    await store.close();
    coomb = await startCoomb(config, pino({ level: 'silent' }), () => moment);
    // how many notices go on is in every picture
    await coomb.watched();
    browser = await openBrowser();
    mkdirSync(pictures, { recursive: true });
    const probe = await browser.newPage({ viewport: { width: 400, height: 60 } });
    await probe.setContent(
      '<p style="font:20px Georgia,serif">Dew point <span style="font-family:sans-serif">12.5 °C</span></p>',
    );
    const seen = await probe.screenshot();
    await probe.close();
    const kept = join(pictures, 'fonts.png');
    if (renewed || !existsSync(kept)) writeFileSync(kept, seen);
    sameFonts = difference(PNG.sync.read(seen), read(kept)) === 0;
    if (!sameFonts) console.warn('LEFT OUT: comparing pictures of the screens, for this machine has other fonts');
  }, 240_000);

  afterAll(async () => {
    await browser?.close();
    await coomb?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function open(path: string, look: Look): Promise<Page> {
    const context = await browser.newContext({
      viewport: { width: look.width, height: look.height },
      colorScheme: look.colorScheme,
      forcedColors: look.forcedColors ?? 'none',
      locale: 'en-GB',
      timezoneId: 'Europe/London',
      reducedMotion: 'reduce',
      serviceWorkers: 'block',
    });
    const page = await context.newPage();
    watchTraffic(page);
    await page.clock.setFixedTime(moment);
    await page.goto(coomb.address + path);
    await settled(page);
    // charts are drawn coarsely first, and finer when more of them has come
    await still(page);
    if (look.media) await page.emulateMedia({ media: look.media });
    return page;
  }

  it.each([
    ...screens.flatMap(([name, path]) => looks.map((look) => ({ name, path, look: look as Look }))),
    ...otherwise.map(({ name, path, look }) => ({ name, path, look: look as Look })),
  ])(
    '$name, $look.name, is as it was last found good',
    async ({ name, path, look }) => {
      const page = await open(path, look);
      const file = join(pictures, `${name}-${look.name}.png`);
      // what is in sight when it opens; the rest is long, and its words are held by other tests
      let seen = await page.screenshot({ animations: 'disabled' });
      for (let last: Buffer | null = null; last === null || !last.equals(seen); ) {
        last = seen;
        await page.waitForTimeout(300);
        seen = await page.screenshot({ animations: 'disabled' });
      }
      await page.context().close();
      if (renewed) writeFileSync(file, seen);
      if (!sameFonts) return;
      const differs = difference(PNG.sync.read(seen), read(file));
      if (differs > MOST_DIFFERENT) writeFileSync(join(tmpdir(), `coomb-look-${name}-${look.name}.png`), seen);
      expect(differs, `seen now: ${join(tmpdir(), `coomb-look-${name}-${look.name}.png`)}`).toBeLessThanOrEqual(
        MOST_DIFFERENT,
      );
    },
    180_000,
  );
});
