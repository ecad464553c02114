import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import mqtt from 'mqtt';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { DiaryEntry, Dwelling, Place, Sensor } from '../../server/api/contract/dwelling.ts';
import type { Example } from '../../server/api/contract/example.ts';
import type { Now } from '../../server/api/contract/figures.ts';
import { freePort } from '../ingest/processes.ts';
import { twoColours, withExif } from '../pictures/made.ts';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty, startOn } from './demo-home.ts';
import { asRead, still, watchTraffic } from './reader.ts';

/** From an empty page to a settled home, as people do it: real program, real broker, Chromium. */
let browser: Browser;
let home: EmptyHome;

const contexts: BrowserContext[] = [];
const troubles: string[] = [];

interface Look {
  readonly width?: number;
  readonly scheme?: 'light' | 'dark';
  readonly at?: string;
}

async function open(path: string, { width = 1280, scheme = 'light', at = home.address }: Look = {}): Promise<Page> {
  const context = await browser.newContext({
    viewport: { width, height: 800 },
    colorScheme: scheme,
    locale: 'en-GB',
    timezoneId: 'Europe/London',
  });
  contexts.push(context);
  const page = await context.newPage();
  watchTraffic(page);
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (said) => {
    if (said.type() === 'error') troubles.push(said.text());
  });
  await page.goto(at + path);
  await settled(page);
  return page;
}

async function settled(page: Page): Promise<void> {
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 30_000, interval: 100 }).toBe(0);
}

const plain = (text: string | null): string => (text ?? '').replace(/[\s\u00a0]+/g, ' ').trim();
const ask = async <T>(path: string, at = home.address): Promise<T> =>
  (await (await fetch(`${at}/api/v1${path}`)).json()) as T;

const focused = async (page: Page): Promise<string> =>
  plain(
    (await page.evaluate(`(() => {
      const on = document.activeElement;
      return on.getAttribute('aria-label') ?? (on.labels?.length ? on.labels[0].textContent : on.textContent);
    })()`)) as string,
  );

async function tabTo(page: Page, name: string | RegExp): Promise<void> {
  for (let i = 0; i < 120; i++) {
    await page.keyboard.press('Tab');
    const said = await focused(page);
    if (typeof name === 'string' ? said === name : name.test(said)) return;
  }
  throw new Error(`Tab never came to ${name}`);
}

const drawing = (page: Page) => page.locator('.section-preview svg').innerHTML();
const steps = async (page: Page): Promise<string[]> =>
  (await page.locator('.next-steps li a').allTextContents()).map(plain);

describe.skipIf(chromiumPath === null)('a home', () => {
  beforeAll(async () => {
    home = await startEmpty();
    browser = await openBrowser();
  });
  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
    expect(troubles.splice(0)).toEqual([]);
  });
  afterAll(async () => {
    await browser?.close();
    await home?.close();
  });

  it('comes from an empty page to its first reading with nothing but the page and what it says', async () => {
    const begun = Date.now();
    const page = await open('/');
    await page.getByRole('heading', { level: 1, name: 'No home yet' }).waitFor();
    await page.getByLabel('Name of the home').fill('Mill House');
    const before = await drawing(page);
    await page.getByLabel('Slope of the roof, °').fill('52');
    await expect.poll(() => drawing(page)).not.toBe(before);
    await page.getByRole('button', { name: 'Add this home' }).click();
    await page.getByText('What is next').waitFor();
    const [dwelling] = await ask<Dwelling[]>('/dwellings');
    expect(dwelling).toMatchObject({ slug: 'mill-house', name: 'Mill House', zone: 'Europe/London' });
    expect(dwelling!.section.pitchDeg).toBe(52);
    // the roof was measured: it is not asked for again
    expect((await steps(page))[0]).toBe('Connect a sensor, or read in a file');

    await page.getByRole('link', { name: 'Connect a sensor, or read in a file' }).click();
    await settled(page);
    expect(new URL(page.url()).search + new URL(page.url()).hash).toBe('?dwelling=mill-house#connect');
    await page.getByLabel('Name of the sensor').fill('slope 1');
    const [broker, topic] = [home.broker, 'coomb/mill-house/slope-1'];
    // the address of the broker is asked for by itself
    await expect
      .poll(async () => (await page.locator('#connect .pairs dd').allTextContents()).map(plain))
      .toEqual([broker, topic]);
    await page.getByText('Waiting for the first message on coomb/mill-house/slope-1').waitFor();
    await page.locator('.connection.is-live').waitFor();
    const client = await mqtt.connectAsync(broker);
    await client.publishAsync(topic, JSON.stringify({ temperature_c: 14.6, humidity_pct: 63 }), { qos: 1 });
    await page.getByText('Heard slope-1: 14.6 °C · 63 %').waitFor();
    await client.publishAsync('elsewhere/thing', 'T=14', { qos: 1 });
    await page.getByText('Something came on elsewhere/thing, but was not understood').waitFor();
    await client.endAsync();

    await page.getByRole('button', { name: 'A place for slope-1' }).click();
    const sheet = page.getByRole('dialog');
    await sheet.getByLabel('Name').fill('Slope over the bed');
    await sheet.getByLabel('Kind').selectOption({ label: 'ceiling surface' });
    await sheet.getByRole('button', { name: 'Give it a place' }).click();
    await page.getByText('slope-1 now stands at Slope over the bed.').waitFor();
    await page.getByRole('link', { name: 'Section', exact: true }).click();
    const [place] = await ask<Place[]>('/dwellings/mill-house/places');
    await expect
      .poll(async () => plain(await page.locator(`.sheet-wide a[href^="/place/${place!.id}"]`).textContent()))
      .toContain('14.6');
    expect(Date.now() - begun).toBeLessThan(5 * 60_000);
    // while the page asks anew there is no list for a moment, which holds no step either
    await expect.poll(() => steps(page)).toContain('Watch the outdoors');
    await expect.poll(() => steps(page)).not.toContain('Connect a sensor, or read in a file');
  }, 300_000);

  it('comes there by keyboard alone, too', async () => {
    const empty = await startEmpty();
    try {
      const page = await open('/', { at: empty.address });
      await tabTo(page, 'Name of the home');
      await page.keyboard.type('Gate Lodge');
      await tabTo(page, 'Sloping ceiling, along the slope, mm');
      await page.keyboard.press('Control+A');
      await page.keyboard.type('1850');
      await page.keyboard.press('Enter');
      await page.getByText('What is next').waitFor();
      await tabTo(page, 'Connect a sensor, or read in a file');
      await page.keyboard.press('Enter');
      await settled(page);
      await tabTo(page, 'An example to paste (curl)');
      await page.keyboard.press('Enter');
      // the pasted example: its address and its message, sent as it says
      const example = plain(await page.locator('#connect details pre').textContent());
      const message = /-d '([^']+)'/.exec(example)![1]!;
      const address = /(http\S+)$/.exec(example)![1]!;
      await page.locator('.connection.is-live').waitFor();
      const sent = await fetch(address, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: message,
      });
      expect(sent.status).toBe(200);
      await page.getByText('Heard ceiling-1: 16.4 °C').waitFor();
      await page.getByRole('button', { name: 'A place for ceiling-1' }).waitFor();
      await page.locator('h1').click();
      await tabTo(page, 'A place for ceiling-1');
      await page.keyboard.press('Enter');
      await page.getByRole('dialog').waitFor();
      await tabTo(page, 'Name');
      await page.keyboard.type('Bedroom');
      await page.keyboard.press('Enter');
      await page.getByText('ceiling-1 now stands at Bedroom.').waitFor();
      const now = await ask<Now>('/dwellings/gate-lodge/now', empty.address);
      expect(now.places[0]).toMatchObject({ name: 'Bedroom', temperature: { value: 16.4 } });
      // a page that is left open would go on asking a program that has ended
      await page.context().close();
    } finally {
      await empty.close();
    }
  }, 240_000);

  it('takes a logger’s file in the page: shown first, told otherwise, read in, placed', async () => {
    const rows = Array.from({ length: 400 }, (_, k) => {
      const day = String(1 + Math.floor(k / 144)).padStart(2, '0');
      const minute = (k * 10) % 1440;
      const clock = `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
      return `${day}/11/2025 ${clock},${(61 + (k % 7) / 10).toFixed(1)},${55 + (k % 5)}`;
    });
    const file = `Date,Temperature,Humidity\n${rows.slice(0, 130).join('\n')}\nbattery changed\n${rows.slice(130).join('\n')}\n`;
    const page = await open('/sensors/import');
    await page
      .getByLabel('File')
      .setInputFiles({ name: 'Eaves 2.csv', mimeType: 'text/csv', buffer: Buffer.from(file) });
    await page.getByText('How Eaves 2.csv would be read').waitFor();
    expect(plain(await page.locator('.pairs').textContent())).toContain('400');
    await page.getByText('Left out: 1').click();
    await page.getByText('line 132').waitFor();
    // told that it is Fahrenheit
    await page.getByText('Read it another way').click();
    await page.getByLabel('Unit of the temperature').selectOption({ label: '°F' });
    await page.getByRole('button', { name: 'Look through it again' }).click();
    await page.getByText('Temperature, in °F').waitFor();
    expect(plain(await page.getByRole('row', { name: /^Temperature/ }).textContent())).toContain('16.1 °C to 16.4 °C');
    expect(await page.getByLabel('Sensor', { exact: true }).inputValue()).toBe('Eaves-2');
    await page.getByRole('button', { name: 'Read it in' }).click();
    await page.getByText('800 readings of Eaves-2 were read in.').waitFor();
    await page.getByLabel('Place').selectOption({ label: 'Slope over the bed' });
    await page.getByRole('button', { name: 'Give it a place' }).click();
    await page.getByText('Eaves-2 stands at Slope over the bed from its first reading on.').waitFor();
    const sensor = (await ask<Sensor[]>('/dwellings/mill-house/sensors')).find(({ key }) => key === 'Eaves-2')!;
    expect(sensor.placements).toMatchObject([{ placeName: 'Slope over the bed', from: '2025-11-01T00:00:00.000Z' }]);
    expect(sensor.series.find(({ quantity }) => quantity === 'temperature')!.last!.value).toBeCloseTo(
      (61 - 32) / 1.8,
      1,
    );
  }, 240_000);

  it('says what is wrong with a file that cannot be read, in words of the page', async () => {
    const page = await open('/sensors/import');
    const buffer = Buffer.from('Date,T\n03/04/2025 10:00,20\n03/04/2025 10:10,20\n');
    await page.getByLabel('File').setInputFiles({ name: 'odd.csv', mimeType: 'text/csv', buffer });
    await page.getByText('odd.csv cannot be read like this').waitFor();
    const said = plain(await page.locator('main').textContent());
    expect(said).toContain('either number could be the day');
    expect(said).not.toContain('--');
    await page.getByLabel('Order of the date').selectOption({ label: 'day, month, year' });
    await page.getByRole('button', { name: 'Look through it again' }).click();
    await page.getByText('3 Apr 2025').first().waitFor();
  });

  it('keeps photos in its diary, clean of where they were taken, with the time they tell', async () => {
    const page = await open('/diary');
    await page.getByRole('button', { name: 'Add a note' }).click();
    const buffer = withExif(await twoColours(1200, 900), { takenAt: '2026:01:14 21:05:00', orientation: 6 });
    expect(buffer.includes('Invented camera')).toBe(true);
    const plainPhoto = await twoColours(300, 200, 'webp');
    await page.getByLabel('Add photos').setInputFiles([
      { name: 'strip.jpg', mimeType: 'image/jpeg', buffer },
      { name: 'corner.webp', mimeType: 'image/webp', buffer: plainPhoto },
      { name: 'fake.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no picture at all') },
    ]);
    await page.getByText('fake.jpg: The picture was not taken.').waitFor();
    await page.getByText('The photo says it was taken 14 Jan 2026, 21:05').waitFor();
    await page.getByRole('button', { name: 'Take that for the time of the note' }).click();
    const alts = page.getByLabel('What is to be seen');
    await alts.nth(0).fill('black strip above the bed');
    await alts.nth(1).fill('the corner');
    await page.getByLabel('Note', { exact: true }).fill('Grown since December');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByText('The note was saved.').waitFor();
    const [note] = await ask<DiaryEntry[]>('/dwellings/mill-house/diary');
    expect(note).toMatchObject({ time: '2026-01-14T21:05:00.000Z', text: 'Grown since December' });
    // orientation 6: held upright
    expect(note!.photos).toMatchObject([
      { alt: 'black strip above the bed', width: 900, height: 1200 },
      { alt: 'the corner', width: 300, height: 200 },
    ]);
    const shown = page.locator('.photo-row img');
    await expect.poll(() => shown.count()).toBe(2);
    await expect.poll(() => page.evaluate(`document.querySelector('.photo-row img').naturalWidth`)).toBe(300);
    const link = await page.getByRole('link', { name: 'Show in full: black strip above the bed' }).getAttribute('href');
    const served = Buffer.from(await (await fetch(home.address + link!)).arrayBuffer());
    for (const trace of ['Exif', 'GPS', 'Invented', '2026:01:14']) expect(served.includes(trace)).toBe(false);

    await page.getByRole('button', { name: 'Change note: note' }).click();
    await page.getByRole('button', { name: 'Take out photo 1' }).click();
    await page.getByRole('button', { name: 'Save' }).click();
    await expect.poll(() => shown.count()).toBe(1);
    expect((await fetch(home.address + link!)).status).toBe(404);
    // the refusal of the fake is in the browser's log; it is what was wanted
    troubles.splice(0);
  }, 240_000);

  it('has an example beside it that can be tried, read in °F as in °C, looked at without a connection, and removed', async () => {
    const page = await open('/settings');
    await page.getByRole('button', { name: 'Try the example' }).click();
    await page.locator('.example progress').waitFor();
    await page.getByRole('link', { name: 'Look at it' }).click({ timeout: 150_000 });
    await settled(page);
    const slug = (await ask<Example>('/example')).dwelling!;
    const now = await ask<Now>(`/dwellings/${slug}/now`);
    const surface = now.places.find(({ kind, margin }) => kind === 'ceiling-surface' && margin !== null)!;
    const figures = page.locator(`.sheet-wide a[href^="/place/${surface.placeId}"]`);
    const said = async () => plain(await figures.textContent());
    expect(await said()).toContain(asRead(surface.temperature!.value, 1));

    await page.getByRole('link', { name: 'Settings' }).click();
    await page.getByLabel('Temperatures').selectOption({ label: '°F, differences in °F' });
    await page.getByText('So it looks: 61.5 °F, 5.8 °F above dew point').waitFor();
    await page.getByRole('link', { name: 'Section', exact: true }).click();
    const fixed = (value: number) => asRead(value, 1);
    await expect.poll(said).toContain(`${fixed(surface.temperature!.value * 1.8 + 32)}`);
    // a difference is scaled and not shifted, and so is the give
    expect(await said()).toContain(`${fixed(Math.abs(surface.margin!.value) * 1.8)} ±`);
    expect(await said()).toContain(`± ${fixed(surface.margin!.plusMinus! * 1.8)} °F`);
    expect(plain(await page.locator('main').textContent())).not.toMatch(/\d °C|\d K\b/);
    await page.goto(`${home.address}/place/${surface.placeId}?dwelling=${slug}&span=3d`);
    await settled(page);
    await page.getByText('The values as a table: Temperature').click();
    const columns = plain(await page.locator('.figures-table thead').textContent());
    expect(columns).toContain('°F');
    expect(columns).not.toContain('°C');

    // kept: the page by its service worker, the answers by the page
    await page.goto(`${home.address}/?dwelling=${slug}`);
    await settled(page);
    await page.evaluate('navigator.serviceWorker.ready');
    await page.reload();
    await settled(page);
    await still(page);
    // an answer is kept after it is shown
    const kept = `/api/v1/dwellings/${slug}/now`;
    await expect.poll(() => page.evaluate(`caches.match('${kept}').then((found) => found !== undefined)`)).toBe(true);
    const headline = plain(await page.locator('h1').textContent());
    await page.context().setOffline(true);
    await page.reload();
    await expect.poll(async () => plain(await page.locator('h1').textContent())).toBe(headline);
    await expect
      .poll(async () => plain(await page.locator('.connection').textContent()))
      .toMatch(/^No connection\. Showing what was known (at .*|\d+ .* ago \(.*\)); trying again\.$/);
    expect(await said()).toContain('°F');
    // nothing of another screen was looked at: it says so
    await page.getByRole('link', { name: 'Before & after' }).click();
    await page.getByText('cannot be reached').first().waitFor();
    await page.context().setOffline(false);
    await page.getByRole('link', { name: 'Settings' }).click();
    await expect.poll(async () => plain(await page.locator('.connection').textContent())).toBe('Live');
    troubles.splice(0);

    expect(await page.evaluate('caches.keys()')).toContain('coomb-answers');
    const addresses = (await page.evaluate(
      `caches.open('coomb-answers').then((cache) => cache.keys()).then((keys) => keys.map(({ method, url }) => method + ' ' + url))`,
    )) as string[];
    expect(addresses.every((address) => address.startsWith('GET '))).toBe(true);
    // what it asked for when it came back is kept again as it arrives
    await still(page);
    const whenKept = (): Promise<number[]> =>
      page.evaluate<number[]>(`caches.open('coomb-answers')
        .then((cache) => cache.keys().then((keys) => Promise.all(keys.map((key) => cache.match(key)))))
        .then((answers) => answers.map((answer) => Number(answer?.headers.get('x-kept-at'))))`);
    const before = await whenKept();
    expect(before.length).toBeGreaterThan(0);
    expect(before.every((time) => time > 0)).toBe(true);
    const pressed = await page.evaluate<number>('Date.now()');
    await page.getByRole('button', { name: 'Forget what is kept here' }).click();
    await page.getByText('What was kept on this device is gone.').waitFor();
    // each minute it asks how things are, and keeps that: of what was kept before nothing is left
    expect((await whenKept()).filter((time) => time <= pressed)).toEqual([]);

    await page.getByRole('button', { name: 'Remove the example' }).click();
    await page.getByRole('dialog').getByRole('button', { name: 'Remove it for good' }).click();
    await page.getByText('The example was removed.').waitFor({ timeout: 120_000 });
    expect((await ask<Dwelling[]>('/dwellings')).map((one) => one.slug)).toEqual(['mill-house']);
    expect((await ask<Sensor[]>('/dwellings/mill-house/sensors')).length).toBe(2);
    troubles.splice(0);
  }, 480_000);

  it('shows that the line is down when the program ends, and finds it again by itself', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'coomb-again-'));
    const port = await freePort();
    let program = await startOn(port, folder);
    try {
      const section = {
        pitchDeg: 41,
        slopeLengthMm: 1200,
        roomHeightMm: 2400,
        liningThicknessMm: 0,
        loftInsulationMm: 270,
        eavesGapMm: 50,
      };
      await fetch(`${program.address}/api/v1/dwellings`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ slug: 'again', name: 'Again', zone: 'Europe/London', section }),
      });
      const page = await open('/', { at: program.address });
      const line = async () => plain(await page.locator('.connection').textContent());
      await expect.poll(line).toBe('Live');
      await program.close();
      await expect.poll(line).toMatch(/^No connection\./);
      program = await startOn(port, folder);
      await expect.poll(line).toBe('Live');
      await page.context().close();
      troubles.splice(0);
    } finally {
      await program.close();
      rmSync(folder, { recursive: true, force: true });
    }
  }, 240_000);

  it('remembers what its reader chose, in this browser', async () => {
    const page = await open('/settings');
    const colour = () => page.evaluate('getComputedStyle(document.documentElement).backgroundColor');
    const light = await colour();
    await page.getByLabel('Light or dark').selectOption({ label: 'dark' });
    await expect.poll(colour).not.toBe(light);
    await page.getByLabel('Contrast').selectOption({ label: 'high' });
    await expect.poll(colour).toBe('rgb(0, 0, 0)');
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    await page.reload();
    await settled(page);
    expect(await colour()).toBe('rgb(0, 0, 0)');
    await page.getByLabel('Numbers and dates').selectOption({ label: 'English (US)' });
    await page.getByText(/So it looks: .*, (AM|PM)|So it looks: .* (AM|PM)\./).waitFor();
  });

  it.each([
    { width: 1280, scheme: 'light' },
    { width: 1280, scheme: 'dark' },
    { width: 360, scheme: 'light' },
    { width: 360, scheme: 'dark' },
  ] as const)(
    'stands still while it loads, has no violations that axe can find and nothing beyond the right edge, at $width px, $scheme',
    async (look) => {
      const empty = await startEmpty();
      try {
        const screens = [
          ...['/', '/settings', '/sensors', '/sensors/import', '/diary'].map((path) => ({ path, at: home.address })),
          { path: '/', at: empty.address },
        ];
        for (const { path, at } of screens) {
          const page = await open(path, { ...look, at });
          const shift = (await page.evaluate(`new Promise((resolve) => {
            let sum = 0;
            new PerformanceObserver((list) => {
              for (const entry of list.getEntries()) if (!entry.hadRecentInput) sum += entry.value;
            }).observe({ type: 'layout-shift', buffered: true });
            setTimeout(() => resolve(sum), 300);
          })`)) as number;
          // 0.1 is what Web Vitals calls good
          expect({ path, at, still: shift < 0.1, shift }).toMatchObject({ still: true });
          if (path === '/diary') {
            await page.getByRole('button', { name: 'Add a note' }).click();
            await page.getByRole('dialog').waitFor();
          }
          const { violations } = await new AxeBuilder({ page }).analyze();
          expect(
            violations.map(({ id, nodes }) => ({
              path,
              id,
              nodes: nodes.map(({ html, failureSummary }) => ({ html, failureSummary })),
            })),
          ).toEqual([]);
          const beyond = await page.evaluate(
            'Math.max(0, document.documentElement.scrollWidth - document.documentElement.clientWidth)',
          );
          expect({ path, beyond }).toEqual({ path, beyond: 0 });
          if (process.env.COOMB_PICTURES) {
            const name = `${at === home.address ? 'home' : 'empty'}${path.replaceAll('/', '-')}-${look.width}-${look.scheme}.png`;
            await page.screenshot({ path: join(process.env.COOMB_PICTURES, name), fullPage: path !== '/diary' });
          }
          await page.context().close();
        }
      } finally {
        await empty.close();
      }
    },
    300_000,
  );
});
