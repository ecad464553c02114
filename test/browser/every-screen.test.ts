import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Dwelling, Place } from '../../server/api/contract/dwelling.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';
import { englishTexts } from './english-texts.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { settled } from './reader.ts';
import { beyond, slips } from './what-is-said.ts';

/**
 * Every screen there is, on the demo: in German without a sentence of English, in both colours on the desk, the tablet and
 * the telephone without what axe finds, and with letters of twice the size (WCAG 2.2, 1.4.4) without anything cut off.
 */
let demo: DemoHome;
let browser: Browser;
let places: Place[];
let context: BrowserContext | null = null;
const troubles: string[] = [];

async function open(path: string, locale: string, width = 1280): Promise<Page> {
  context = await browser.newContext({
    locale,
    viewport: { width, height: 800 },
    timezoneId: 'Europe/London',
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(message.text());
  });
  await page.goto(demo.address + path);
  await settled(page);
  return page;
}

/** What folds away is part of the screen. */
const unfold = (page: Page): Promise<unknown> =>
  page.evaluate('for (const folded of document.querySelectorAll("details")) folded.open = true');

/** Long tables behind charts are all alike: one stays open. */
const foldTables = (page: Page): Promise<unknown> =>
  page.evaluate(
    '[...document.querySelectorAll("details.behind")].slice(1).forEach((folded) => { folded.open = false })',
  );

/** Nothing reaches beyond the edge, once charts have taken on the width. */
const expectWithin = (page: Page, when: string): Promise<void> =>
  expect.poll(() => page.evaluate(beyond), { message: when }).toEqual([]);

async function expectNoViolations(page: Page): Promise<void> {
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(
    violations.map(({ id, nodes }) => ({
      id,
      nodes: nodes.map(({ failureSummary, html }) => ({ html, failureSummary })),
    })),
  ).toEqual([]);
}

describe.skipIf(chromiumPath === null)('every screen', () => {
  let english: readonly string[];

  beforeAll(async () => {
    demo = await startDemo();
    browser = await openBrowser();
    const home = ((await (await fetch(`${demo.address}/api/v1/dwellings`)).json()) as Dwelling[])[0]!;
    places = (await (await fetch(`${demo.address}/api/v1/dwellings/${home.slug}/places`)).json()) as Place[];
    english = englishTexts();
  });

  afterEach(async () => {
    await context?.close();
    context = null;
    expect(troubles.splice(0)).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it.each(everyScreen)(
    '%s: speaks German alone, on the desk and the telephone, in light and dark',
    async (screen) => {
      const path = addressOf(screen, places);
      if (path === null) return;
      const page = await open(path, 'de-DE');
      expect(await page.locator('html').getAttribute('lang')).toBe('de-DE');
      await unfold(page);
      expect(await slips(page, english)).toEqual([]);
      await page.setViewportSize({ width: 360, height: 800 });
      await expectWithin(page, '360 px');
      await foldTables(page);
      for (const width of [360, 1280]) {
        await page.setViewportSize({ width, height: 800 });
        for (const colorScheme of ['light', 'dark'] as const) {
          await page.emulateMedia({ colorScheme });
          await expectNoViolations(page);
        }
      }
    },
    240_000,
  );

  it.each(['before-after', 'lining'])(
    '%s: answers in German how each figure was worked out',
    async (screen) => {
      const page = await open(addressOf(screen, places)!, 'de-DE');
      await unfold(page);
      const figures = await page.locator('.figure-button').all();
      expect(figures.length).toBeGreaterThan(20);
      const found = new Set<string>();
      for (const figure of figures) {
        await figure.evaluate('(button) => button.click()');
        for (const slip of await slips(page, english)) found.add(slip);
        await page.keyboard.press('Escape');
      }
      expect([...found]).toEqual([]);
    },
    240_000,
  );

  it('is turned to German and back in the settings, by keyboard alone', async () => {
    const page = await open('/settings', 'en-GB');
    expect(await page.locator('html').getAttribute('lang')).toBe('en-GB');
    // one letter chooses: the page loads anew at once, and a letter that came late would begin another choice
    const turn = async (label: string, letter: string, heading: string, lang: string) => {
      const choice = page.getByLabel(label);
      for (let i = 0; i < 60 && !(await choice.evaluate((one) => one.matches(':focus'))); i++)
        await page.keyboard.press('Tab');
      await page.keyboard.type(letter);
      await page.getByRole('heading', { level: 1, name: heading }).waitFor();
      await expect.poll(() => page.locator('html').getAttribute('lang')).toBe(lang);
      await settled(page);
    };
    await turn('Language, numbers and dates', 'D', 'Einstellungen', 'de-DE');
    expect(await slips(page, english)).toEqual([]);
    await turn('Sprache, Zahlen und Daten', 'E', 'Settings', 'en-GB');
  });

  it.each(everyScreen)(
    '%s: stands on a tablet in light and dark, and with letters of twice the size',
    async (screen) => {
      const path = addressOf(screen, places);
      if (path === null) return;
      const page = await open(path, 'en-GB', 768);
      await unfold(page);
      await expectWithin(page, '768 px');
      await page.setViewportSize({ width: 1280, height: 800 });
      // what a reader sets in the browser itself: letters of 32 px instead of 16
      const session = await page.context().newCDPSession(page);
      await session.send('Page.setFontSizes', { fontSizes: { standard: 32, fixed: 26 } });
      await expect.poll(() => page.evaluate('getComputedStyle(document.documentElement).fontSize')).toBe('32px');
      await expectWithin(page, 'letters of twice the size');
      await session.send('Page.setFontSizes', { fontSizes: { standard: 16, fixed: 13 } });
      // letters alone, as by a style of the reader's own, on a telephone
      await page.setViewportSize({ width: 360, height: 740 });
      await page.evaluate('document.documentElement.style.fontSize = "200%"');
      await expectWithin(page, 'letters alone of twice the size at 360 px');
      await page.evaluate('document.documentElement.style.fontSize = ""');
      // the page enlarged as a whole, which is then as wide as half of it
      await page.setViewportSize({ width: 640, height: 400 });
      await expectWithin(page, 'page at 200 %');
      await foldTables(page);
      await page.setViewportSize({ width: 768, height: 800 });
      for (const colorScheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme });
        await expectNoViolations(page);
      }
    },
    240_000,
  );
});
