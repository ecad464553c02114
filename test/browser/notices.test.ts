import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import { pino } from 'pino';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { NoticesWire } from '../../server/api/contract/notices.ts';
import { loadSample } from '../../server/commands/sample.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, openStore, sampleFolder, startCoomb } from '../../server/main.ts';
import { chromiumPath, openBrowser } from './demo-home.ts';

/**
 * Notices of the invented home as its people meet them, by mouse and by keyboard, at the moment of its last reading: how
 * many go on depends on the season.
 */
let folder: string;
let home: Coomb;
let browser: Browser;
let moment: number;
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
  await page.clock.setFixedTime(moment);
  await page.goto(home.address + path);
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 30_000 }).toBe(0);
  return page;
}

const notices = async (): Promise<NoticesWire> =>
  (await (await fetch(`${home.address}/api/v1/dwellings/thrimble-cottage/notices`)).json()) as NoticesWire;

const focused = async (page: Page): Promise<string> =>
  ((await page.evaluate(
    `document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent`,
  )) as string) ?? '';

async function tabTo(page: Page, name: string | RegExp): Promise<void> {
  for (let i = 0; i < 150; i++) {
    await page.keyboard.press('Tab');
    const said = (await focused(page)).trim();
    if (typeof name === 'string' ? said === name : name.test(said)) return;
  }
  throw new Error(`Tab never came to ${name}`);
}

describe.skipIf(chromiumPath === null)('notices in the browser', () => {
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-notices-'));
    const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
    const store = await openStore(config);
    const { id } = await loadSample(store, sampleFolder, () => undefined);
    moment = Math.max(...(await store.lastReadings(id)).map(({ time }) => time)) + 60_000;
    await store.close();
    home = await startCoomb(config, pino({ level: 'silent' }), () => moment);
    await home.watched();
    browser = await openBrowser();
  }, 240_000);

  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
    expect(troubles.splice(0)).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await home?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('are counted beside their screen, listed with what to do, and say where they are', async () => {
    const { current, past } = await notices();
    const page = await open('/');
    const link = page.getByRole('navigation', { name: 'Screens' }).getByRole('link', { name: /^Notices/ });
    await expect.poll(() => link.textContent()).toBe(`Notices${current.length} going on`);
    await link.click();
    await page.getByRole('heading', { level: 1, name: 'Notices' }).waitFor();
    await page.locator('.notice-entry').first().waitFor();
    expect(await page.locator('.notice-entry').count()).toBe(current.length);
    const text = (await page.locator('.notice-entry').first().textContent()) ?? '';
    expect(text).toContain(current[0]!.title);
    expect(text).toContain(current[0]!.howSure);
    expect(text).toContain(current[0]!.whatToDo[0]!);
    // what is over opens by a click
    await page.locator('.is-past summary').first().click();
    await page.getByText(past[0]!.what).waitFor();
    await page.locator('.notice-entry').first().getByRole('link', { name: 'Look at the place' }).click();
    await page.waitForURL(`**/place/${current[0]!.placeId}`);
  });

  it('can be seen to and put off by keyboard alone, and the count follows', async () => {
    const before = await notices();
    const [first, second] = before.current as [NoticesWire['current'][0], NoticesWire['current'][0]];
    const page = await open('/notices');
    await tabTo(page, `I have seen it: ${first.title}`);
    await page.keyboard.press('Enter');
    await page
      .getByText(/^Seen .*: no reminders\.$/)
      .first()
      .waitFor();
    await tabTo(page, `Remind me later: ${second.title}`);
    await page.keyboard.press('Enter');
    const dialog = page.getByRole('dialog');
    await dialog.waitFor();
    await tabTo(page, 'Remind me later');
    await page.keyboard.press('Enter');
    await dialog.waitFor({ state: 'detached' });
    await page
      .getByText(/^No reminders until/)
      .first()
      .waitFor();
    const after = await notices();
    expect(after.current.find(({ id }) => id === first.id)!.acknowledgedAt).not.toBeNull();
    expect(Date.parse(after.current.find(({ id }) => id === second.id)!.snoozedUntil!)).toBeGreaterThan(moment);
    const unseen = after.current.filter(({ acknowledgedAt }) => acknowledgedAt === null).length;
    await expect
      .poll(() =>
        page
          .getByRole('link', { name: /^Notices/ })
          .first()
          .textContent(),
      )
      .toBe(`Notices${unseen} going on`);
  });

  it('has rules that can be tried on the last winter and changed, by keyboard', async () => {
    const page = await open('/notices/rules');
    await tabTo(page, 'Change A surface stays damp');
    await page.keyboard.press('Enter');
    const dialog = page.getByRole('dialog');
    await dialog.getByLabel('Limit, %').fill('95');
    await tabTo(page, 'What would last winter have given?');
    await page.keyboard.press('Enter');
    const said = dialog.getByText(/this rule would have given/);
    await said.waitFor({ timeout: 90_000 });
    const [, changed, now] = /would have given (\d+) instead of (\d+)/.exec((await said.textContent())!)!;
    expect(Number(changed)).toBeLessThan(Number(now));
    await tabTo(page, 'Save');
    await page.keyboard.press('Enter');
    await dialog.waitFor({ state: 'detached' });
    await page
      .getByText(/usually 80/)
      .first()
      .waitFor();
    expect(await page.locator('main').textContent()).toContain('A surface stays damp was changed.');
  }, 180_000);

  it.each([
    ['/notices', 1280, 'light'],
    ['/notices', 360, 'dark'],
    ['/notices/rules', 1280, 'dark'],
    ['/notices/rules', 360, 'light'],
  ] as const)(
    '%s at %i px, %s, has no fault that axe finds and nothing beyond the edge',
    async (path, width, scheme) => {
      const page = await open(path, width, scheme);
      await page.locator('.notice-entry, .rule-list li').first().waitFor();
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
      expect(await page.evaluate('document.documentElement.scrollWidth <= innerWidth')).toBe(true);
    },
  );
});
