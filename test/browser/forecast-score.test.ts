import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import { pino } from 'pino';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { ForecastScores } from '../../server/api/contract/tonight.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { chromiumPath, openBrowser } from './demo-home.ts';
import { keepSampleForecasts } from './kept-forecasts.ts';

/** Forecasts of six weeks of the invented home's first winter, and how good they were, in a browser. */
const FIRST = '2024-12-28';
const NIGHTS = 40;
const NOW = Date.parse('2025-02-10T15:20:00Z');

let folder: string;
let coomb: Coomb;
let browser: Browser;
let scores: ForecastScores;
const contexts: BrowserContext[] = [];
const troubles: string[] = [];

async function open(path: string, width = 1280, scheme: 'light' | 'dark' = 'light'): Promise<Page> {
  const context = await browser.newContext({ viewport: { width, height: 800 }, colorScheme: scheme, locale: 'en-GB' });
  contexts.push(context);
  const page = await context.newPage();
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (said) => {
    if (said.type() === 'error') troubles.push(said.text());
  });
  await page.goto(coomb.address + path);
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 30_000 }).toBe(0);
  return page;
}

const focused = async (page: Page): Promise<string> =>
  ((await page.evaluate(
    `[...(document.activeElement.labels ?? [])].map((one) => one.textContent).join(' ') || document.activeElement.textContent`,
  )) as string) ?? '';

async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 80; i++) {
    await page.keyboard.press('Tab');
    if (name.test((await focused(page)).trim())) return;
  }
  throw new Error(`Tab never came to ${name}`);
}

const plainly = (page: Page): Promise<string | null> => page.locator('.said-plainly').textContent();

describe.skipIf(chromiumPath === null)('how good the forecasts were', () => {
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-score-'));
    await keepSampleForecasts(folder, FIRST, NIGHTS);
    const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
    coomb = await startCoomb(config, pino({ level: 'silent' }), () => NOW);
    const answer = await fetch(`${coomb.address}/api/v1/dwellings/thrimble-cottage/forecast-score`);
    scores = (await answer.json()) as ForecastScores;
    browser = await openBrowser();
  }, 240_000);

  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
    expect(troubles.splice(0)).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await coomb?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('is said in plain words first, as the kept forecasts and the measured nights count', async () => {
    // counted here from the nights themselves
    const evening = scores.nights.filter(({ hour, outcome }) => hour === 18 && outcome !== null);
    const wet = evening.filter(({ outcome }) => outcome!.wet);
    const warned = evening.filter(({ chance }) => chance >= scores.warningChance);
    const hits = warned.filter(({ outcome }) => outcome!.wet);
    expect(wet.length).toBeGreaterThan(5);
    const page = await open('/notices');
    await page.getByRole('link', { name: 'How good the forecasts were' }).click();
    await page.locator('.said-plainly').waitFor();
    expect(await plainly(page)).toBe(
      `Of ${wet.length} nights with condensation it warned of ${hits.length}. Of ${warned.length} warnings ${hits.length} came true.`,
    );
    const drawn = scores.scores.find(({ hour }) => hour === 18)!.reliability.filter(({ nights }) => nights > 0);
    expect(await page.locator('.reliability circle').count()).toBe(drawn.length);
    expect(await page.locator('.reliability-table tbody tr').count()).toBe(drawn.length);
    await page.goBack();
    await page.getByRole('heading', { level: 1, name: 'Notices' }).waitFor();
  });

  it('is reached from Tonight and chosen by surface and hour with the keyboard alone', async () => {
    const page = await open('/tonight');
    await tabTo(page, /^How good the forecasts were$/);
    await page.keyboard.press('Enter');
    await page.locator('.said-plainly').waitFor();
    await tabTo(page, /^Surface/);
    await page.keyboard.press('ArrowDown');
    await tabTo(page, /^Forecast made at/);
    await page.keyboard.press('ArrowUp');
    const own = scores.places[0]!.scores.find(({ hour }) => hour === 12)!;
    await expect
      .poll(() => plainly(page))
      .toBe(
        `Of ${own.condensationNights} nights with condensation it warned of ${own.hits}. Of ${own.warnings} warnings ${own.hits} came true.`,
      );
    await tabTo(page, /^How was this worked out/);
    await page.keyboard.press('Enter');
    await page.getByText(/Their mean is the Brier score/).waitFor();
  });

  it('says so where too few nights had condensation to judge by', async () => {
    const few = scores.places.find(({ scores: own }) =>
      own.some(({ hour, standing }) => hour === 18 && standing === 'few-condensation-nights'),
    )!;
    const page = await open('/notices/forecast-score');
    await page.getByLabel('Surface').selectOption(String(few.placeId));
    await page.getByText(/says little about how well it warns/).waitFor();
  });

  it.each([
    [1280, 'light'],
    [1280, 'dark'],
    [360, 'light'],
    [360, 'dark'],
  ] as const)('at %i px, %s, has no fault that axe finds and nothing beyond the edge', async (width, scheme) => {
    const page = await open('/notices/forecast-score', width, scheme);
    await page.locator('.reliability').waitFor();
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    expect(await page.evaluate('document.documentElement.scrollWidth <= innerWidth')).toBe(true);
  });
});
