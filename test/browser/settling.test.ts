import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Dwelling, Phase } from '../../server/api/contract/dwelling.ts';
import { usualSection } from '../../web/src/settling/usual-section.ts';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty } from './demo-home.ts';
import { newReader, type Reader, settled, still } from './reader.ts';
import { beyond } from './what-is-said.ts';

/** What a new home is asked on its first screen, and the example beside it, answered by mouse and by keyboard alone. */
const hands = ['mouse', 'keyboard'] as const;
type Hand = (typeof hands)[number];

const hasFocus = (what: Locator): Promise<boolean> => what.evaluate((one) => one.matches(':focus'));

async function tabTo(page: Page, what: Locator): Promise<void> {
  for (let i = 0; i < 150; i++) {
    if (await hasFocus(what)) return;
    await page.keyboard.press('Tab');
  }
  throw new Error('Tab never came there');
}

/** Presses what a reader means: with a click, or by going there with Tab and pressing Enter. */
async function press(page: Page, what: Locator, hand: Hand): Promise<void> {
  await what.waitFor({ timeout: 150_000 });
  if (hand === 'mouse') return what.click();
  await tabTo(page, what);
  await page.keyboard.press('Enter');
}

/** Fills in a day as its people do: picked, or typed figure by figure. */
async function fillDay(page: Page, field: Locator, day: string, hand: Hand): Promise<void> {
  if (hand === 'mouse') return field.fill(day);
  await tabTo(page, field);
  const [year, month, date] = day.split('-') as [string, string, string];
  // the order of the parts is that of the browser's own language, English as in the US, whatever the page's
  await page.keyboard.type(`${month}${date}${year}`);
  expect(await field.inputValue()).toBe(day);
}

describe.skipIf(chromiumPath === null)('what a new home is asked', () => {
  let browser: Browser;
  let home: EmptyHome;
  let reader: Reader;

  const ask = async <T>(path: string): Promise<T> => (await (await fetch(`${home.address}/api/v1${path}`)).json()) as T;

  /** A home whose roof nobody has measured yet, as the first form leaves it when only a name is given. */
  async function newHome(slug: string): Promise<string> {
    const added = await fetch(`${home.address}/api/v1/dwellings`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ slug, name: slug, zone: 'Europe/London', section: usualSection }),
    });
    expect(added.status).toBe(201);
    return `/?dwelling=${slug}`;
  }

  const clean = async (page: Page): Promise<void> => {
    for (const width of [1280, 360]) {
      await page.setViewportSize({ width, height: 800 });
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
      await expect.poll(() => page.evaluate(beyond)).toEqual([]);
    }
    await page.setViewportSize({ width: 1280, height: 800 });
  };

  beforeAll(async () => {
    [home, browser] = await Promise.all([startEmpty(), openBrowser()]);
    reader = newReader(browser, home.address);
  });
  afterEach(async () => {
    await reader.leave();
    expect(reader.troubles()).toEqual([]);
  });
  afterAll(async () => {
    await browser?.close();
    await home?.close();
  });

  it.each(hands)(
    'takes the measures as they are for its own, by %s',
    async (hand) => {
      const slug = `measures-${hand}`;
      const page = await reader.open(await newHome(slug));
      const steps = page.locator('.next-steps');
      await steps.getByText('The drawing still has the measures of a common house.').waitFor();
      await clean(page);
      const measured = async () =>
        (await ask<Dwelling[]>('/dwellings')).find((one) => one.slug === slug)!.sectionConfirmed;
      expect(await measured()).toBe(false);
      await press(page, steps.getByRole('button', { name: 'These are my measures' }), hand);
      await steps.getByText('1 of 7 done').waitFor();
      await expect.poll(() => steps.getByRole('button', { name: 'These are my measures' }).count()).toBe(0);
      expect(await measured()).toBe(true);
      await page.reload();
      await settled(page);
      await steps.getByText('1 of 7 done').waitFor();
    },
    240_000,
  );

  it.each(hands)(
    'is told the days of the works on one sheet, by %s',
    async (hand) => {
      const slug = `phases-${hand}`;
      const page = await reader.open(await newHome(slug));
      const known = page.locator('.next-steps').getByRole('button', { name: 'The days of the works are known' });
      await press(page, known, hand);
      const sheet = page.getByRole('dialog', { name: 'Before, works, after' });
      await sheet.waitFor();
      await clean(page);
      // left without a trace, and back where one was
      await press(page, sheet.getByRole('button', { name: 'Cancel' }), hand);
      await sheet.waitFor({ state: 'detached' });
      await expect.poll(() => hasFocus(known)).toBe(true);
      expect(await ask<Phase[]>(`/dwellings/${slug}/phases`)).toEqual([]);

      await press(page, known, hand);
      await fillDay(page, sheet.getByLabel('Before: first day'), '2025-11-03', hand);
      // works that begin before the days before them are not taken
      await fillDay(page, sheet.getByLabel('Works: first day'), '2025-10-01', hand);
      await press(page, sheet.getByRole('button', { name: 'Save' }), hand);
      expect(await sheet.getByLabel('Works: first day').evaluate((one) => one.matches(':invalid'))).toBe(true);
      expect(await ask<Phase[]>(`/dwellings/${slug}/phases`)).toEqual([]);
      await fillDay(page, sheet.getByLabel('Works: first day'), '2026-03-20', hand);
      await fillDay(page, sheet.getByLabel('Works: last day'), '2026-03-28', hand);
      await press(page, sheet.getByRole('button', { name: 'Save' }), hand);
      await sheet.waitFor({ state: 'detached' });
      // the clocks go forward on 29 March 2026: the day after the last begins while it is still winter time
      const phases = await ask<Phase[]>(`/dwellings/${slug}/phases`);
      expect(phases.map(({ kind, from, to }) => [kind, from, to])).toEqual([
        ['before', '2025-11-03T00:00:00.000Z', '2026-03-20T00:00:00.000Z'],
        ['works', '2026-03-20T00:00:00.000Z', '2026-03-29T00:00:00.000Z'],
        ['after', '2026-03-29T00:00:00.000Z', null],
      ]);
      await expect.poll(() => known.count()).toBe(0);
    },
    240_000,
  );

  it.each(hands)(
    'is told on every screen of an example that it is one, and the mark leads to where it is removed, by %s',
    async (hand) => {
      await newHome(`own-${hand}`);
      const page = await reader.open(`/settings?dwelling=own-${hand}`);
      const mark = page.locator('.masthead .example-tag');
      expect(await mark.count()).toBe(0);
      await press(page, page.getByRole('button', { name: 'Try the example' }), hand);
      await press(page, page.getByRole('link', { name: 'Look at it' }), hand);
      await settled(page);
      const { dwelling } = await ask<{ dwelling: string }>('/example');
      for (const path of ['/', '/tonight', '/diary', '/settings/people', '/notices/rules']) {
        await page.goto(`${home.address}${path}?dwelling=${dwelling}`);
        await settled(page);
        expect(await mark.allTextContents()).toEqual(['example, invented data']);
      }
      await clean(page);
      await press(page, mark, hand);
      await expect.poll(() => page.url()).toContain(`/settings?dwelling=${dwelling}#example`);
      const remove = page.getByRole('button', { name: 'Remove the example' });
      // led there, not only to the top of the screen
      await expect.poll(async () => (await remove.boundingBox())?.y ?? 9999).toBeLessThan(800);
      await press(page, remove, hand);
      expect(reader.troubles()).toEqual([]);
      const sheet = page.getByRole('dialog', { name: 'Remove the example' });
      await press(page, sheet.getByRole('button', { name: 'Keep it' }), hand);
      await sheet.waitFor({ state: 'detached' });
      expect(await ask<{ state: string }>('/example')).toMatchObject({ state: 'there' });
      await press(page, remove, hand);
      await press(page, sheet.getByRole('button', { name: 'Remove it for good' }), hand);
      await page.getByText('The example was removed.').waitFor({ timeout: 90_000 });
      await expect.poll(() => mark.count()).toBe(0);
      // what the page was asking of it just then is not found any more
      await still(page);
      expect(reader.troubles().filter((text) => !text.includes('404'))).toEqual([]);
      expect((await ask<Dwelling[]>('/dwellings')).map(({ slug }) => slug)).not.toContain(dwelling);
    },
    240_000,
  );
});
