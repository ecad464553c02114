import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import { pino } from 'pino';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Sensor } from '../../server/api/contract/dwelling.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { section } from '../store/contract/given.ts';
import { chromiumPath, openBrowser } from './demo-home.ts';
import { englishTexts } from './english-texts.ts';
import { answered, newReader, plain, type Reader, settled, still } from './reader.ts';
import { beyond, slips } from './what-is-said.ts';

/**
 * What the first screen says of measurements that have grown old: real readings of sensors that reported every ten minutes
 * and then fell silent, some of them or all. A dry winter's evening: nothing here is near its dew point. The program's clock
 * stands still but where it is moved on here: what is told in minutes is the same however long looking at it takes.
 */
const HOUR = 3_600_000;
const OLD = 'not heard lately';
const NOT_JUDGED = 'No surface can be judged at the moment.';

const sensors = [
  { key: 'room', place: 'Bedroom', kind: 'room-air', values: { temperature_c: 18.4, humidity_pct: 45 } },
  { key: 'slope', place: 'Slope', kind: 'ceiling-surface', values: { temperature_c: 15.2 } },
  { key: 'loft', place: 'Loft', kind: 'loft-air', values: { temperature_c: 5.6, humidity_pct: 78 } },
  { key: 'out', place: 'Yard', kind: 'outdoor-air', values: { temperature_c: 3.1, humidity_pct: 84 } },
] as const;
type Key = (typeof sensors)[number]['key'];

interface Case {
  /** hours since each sensor was heard last; left out: it still reports */
  readonly silentFor: Partial<Record<Key, number>>;
  readonly headline: string;
  readonly heard: string;
  /** what stands at a place instead of a judgement */
  readonly said: Partial<Record<Key, string>>;
}

const cases: Readonly<Record<string, Case>> = {
  'every sensor reports': {
    silentFor: {},
    headline: 'Dry now.',
    heard: 'all 4 sensors heard · last reading now',
    said: {},
  },
  'every sensor was late for less than an hour': {
    silentFor: { room: 0.8, slope: 0.8, loft: 0.8, out: 0.8 },
    headline: 'Dry now.',
    heard: 'all 4 sensors heard · last reading 48 minutes ago',
    said: {},
  },
  'the surface has been silent for five hours': {
    silentFor: { slope: 5 },
    headline: NOT_JUDGED,
    heard: '3 of 4 sensors heard · last reading now',
    said: { slope: OLD },
  },
  'the room has been silent for five hours': {
    silentFor: { room: 5 },
    headline: NOT_JUDGED,
    heard: '3 of 4 sensors heard · last reading now',
    said: { room: OLD, slope: 'no room humidity to judge it by' },
  },
  'loft and outdoors have been silent for five hours': {
    silentFor: { loft: 5, out: 5 },
    headline: 'Dry now.',
    heard: '2 of 4 sensors heard · last reading now',
    said: { loft: OLD, out: OLD },
  },
  'every sensor has been silent for five hours': {
    silentFor: { room: 5, slope: 5, loft: 5, out: 5 },
    headline: NOT_JUDGED,
    heard: '0 of 4 sensors heard · last reading 5 hours ago',
    said: { room: OLD, slope: OLD, loft: OLD, out: OLD },
  },
  'every sensor has been silent for three days': {
    silentFor: { room: 72, slope: 72, loft: 72, out: 72 },
    headline: NOT_JUDGED,
    heard: '0 of 4 sensors heard · last reading 3 days ago',
    said: { room: OLD, slope: OLD, loft: OLD, out: OLD },
  },
};
const named = Object.keys(cases);
const slugOf = (name: string): string => `home-${named.indexOf(name)}`;

describe.skipIf(chromiumPath === null)('measurements that have grown old', () => {
  let folder: string;
  let home: Coomb;
  let moment = Date.now();
  let browser: Browser;
  let reader: Reader;
  let page: Page;
  /** when a sensor was heard last, UTC ms */
  const heardAt = (key: Key, silentFor: Case['silentFor']): number => moment - (silentFor[key] ?? 0) * HOUR;

  const ask = async <T>(path: string, body?: unknown): Promise<T> => {
    const answer = await fetch(`${home.address}/api/v1/dwellings${path}`, {
      method: body === undefined ? 'GET' : 'POST',
      headers: { 'content-type': 'application/json' },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
    return (await answer.json()) as T;
  };

  async function giveHome(slug: string, name: string, silentFor: Case['silentFor']): Promise<void> {
    await ask('', { slug, name, zone: 'Etc/UTC', section });
    for (const { key, place, kind, values } of sensors) {
      const { id: placeId } = await ask<{ id: number }>(`/${slug}/places`, { name: place, kind });
      const heard = heardAt(key, silentFor);
      const readings = Array.from({ length: 24 }, (_, k) => ({ time: heard - k * 600_000, ...values }));
      await ask(`/${slug}/readings/${key}`, readings);
      const sensor = (await ask<Sensor[]>(`/${slug}/sensors`)).find((one) => one.key === key)!;
      await ask(`/${slug}/sensors/${sensor.id}/placements`, {
        placeId,
        from: new Date(heard - 240 * HOUR).toISOString(),
      });
    }
  }

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-old-'));
    const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
    home = await startCoomb(config, pino({ level: 'silent' }), () => moment);
    browser = await openBrowser();
    reader = newReader(browser, home.address);
    for (const name of named) await giveHome(slugOf(name), name, cases[name]!.silentFor);
  });
  afterEach(() => {
    expect(reader.troubles()).toEqual([]);
  });
  afterAll(async () => {
    await browser?.close();
    await home?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function go(path: string, width: number): Promise<void> {
    page ??= await reader.open('/');
    await page.setViewportSize({ width, height: 800 });
    await page.goto(home.address + path);
    await settled(page);
    await still(page);
  }
  const textsAt = async (place: string): Promise<string[]> =>
    (await page.locator('a.figures:visible').filter({ hasText: place }).allInnerTexts()).map(plain);

  it.each(named)(
    '%s: so the first screen says of the home and of each place, with figures only of what is fresh',
    async (name) => {
      const { silentFor, headline, heard, said } = cases[name]!;
      for (const width of [1280, 360]) {
        await go(`/?dwelling=${slugOf(name)}`, width);
        expect(plain(await page.locator('.headline').textContent())).toContain(headline);
        expect(plain(await page.locator('.rests-on').textContent())).toContain(heard);
        for (const { key, place, values } of sensors) {
          const texts = await textsAt(place);
          expect(texts.length, place).toBeGreaterThan(0);
          const figures = values.temperature_c.toFixed(1);
          const time = new Date(heardAt(key, silentFor)).toISOString().slice(11, 16);
          for (const text of texts) {
            const isOld = said[key] === OLD;
            expect(text.includes(OLD), text).toBe(isOld);
            // what was measured then is not shown as if it were so now, and when that was is told
            expect(text.includes(figures), text).toBe(!isOld);
            if (isOld) expect(text).toMatch(new RegExp(`no value.*${OLD}.*at .*${time}`));
            if (said[key] !== undefined) expect(text).toContain(said[key]);
          }
        }
        expect(await page.evaluate(beyond)).toEqual([]);
        expect(await slips(page)).toEqual([]);
      }
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    },
  );

  it('a page that is left open says so as well, though nothing comes that would tell it', async () => {
    // half a minute before the hour is over after which a sensor is late
    const all = 1 - 30 / 3600;
    const open = await reader.open('/');
    await open.clock.install();
    await giveHome('left-open', 'Left open', { room: all, slope: all, loft: all, out: all });
    await open.goto(`${home.address}/?dwelling=left-open`);
    await settled(open);
    await still(open);
    const headline = async (): Promise<string> => plain(await open.locator('.headline').textContent());
    // for the page, too, time passes only when it is told so
    await open.clock.pauseAt(((await open.evaluate('Date.now()')) as number) + 600_000);
    await answered(open);
    expect(await headline()).toContain('Dry now.');
    moment += 60_000;
    const { heard } = await ask<{ heard: { heard: number } }>('/left-open/now');
    expect(heard.heard).toBe(0);
    expect(await headline()).toContain('Dry now.');
    await open.clock.resume();
    await open.clock.fastForward('01:01');
    await expect.poll(headline).toContain(NOT_JUDGED);
    expect(await headline()).toContain('0 of 4 sensors heard · last reading 1 hour ago');
    expect((await open.locator('a.figures:visible').allInnerTexts()).filter((text) => text.includes(OLD))).toHaveLength(
      sensors.length,
    );
  });

  it('tonight: what was heard long ago leads to no advice but to see to the sensors', async () => {
    await go(`/tonight?dwelling=${slugOf('every sensor has been silent for five hours')}`, 360);
    const main = plain((await page.locator('main').allInnerTexts()).join(' '));
    expect(main).toContain('Too little is known to say what the night brings.');
    expect(plain(await page.locator('section:has(> h2:text-is("What to do"))').textContent())).toBe(
      'What to doSee to the sensorsSee to the sensors at these places: Bedroom, Slope, Loft, Yard. Nothing was heard from them lately, and what is not measured cannot be judged.',
    );
    await page.goto(`${home.address}/sensors?dwelling=${slugOf('every sensor has been silent for five hours')}`);
    await page.getByRole('heading', { level: 1, name: 'Sensors' }).waitFor();
    await settled(page);
    expect(plain(await page.locator('main').textContent())).toContain('5 hours ago');
  });

  it('in German: the same', async () => {
    const german = await (
      await browser.newContext({ locale: 'de-DE', viewport: { width: 360, height: 800 } })
    ).newPage();
    await german.goto(`${home.address}/?dwelling=${slugOf('every sensor has been silent for five hours')}`);
    await settled(german);
    const main = plain((await german.locator('main').allInnerTexts()).join(' '));
    expect(main).toContain('Keine Oberfläche lässt sich beurteilen.');
    expect(main).toContain('0 von 4 Sensoren melden sich · letzter Messwert vor 5 Stunden');
    expect(main.match(/kein Wert zuletzt nichts gemeldet/g)).toHaveLength(sensors.length);
    expect(await slips(german, englishTexts())).toEqual([]);
    await german.context().close();
  });
});
