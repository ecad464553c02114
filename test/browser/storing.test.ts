import { AxeBuilder } from '@axe-core/playwright';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { addHome } from '../faults/program.ts';
import { fillDisk, mountSmallDisk, smallDisksWork } from '../faults/small-disk.ts';
import { chromiumPath, openBrowser, startOn } from './demo-home.ts';

describe.skipIf(chromiumPath === null || !smallDisksWork)('while the disk is full', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  it('every open page says so over its screen, in its own language, and takes it back when there is room', async () => {
    const disk = mountSmallDisk(12 << 10);
    await addHome(disk);
    const home = await startOn(0, disk);
    onTestFinished(() => home.close());
    const open = async (locale: string, width: number, colorScheme: 'light' | 'dark') => {
      const context = await browser.newContext({ locale, colorScheme, viewport: { width, height: 740 } });
      onTestFinished(() => context.close());
      const page = await context.newPage();
      await page.goto(home.address);
      await page.locator('.connection.is-live').waitFor();
      return page;
    };
    const english = await open('en-GB', 1280, 'light');
    const german = await open('de-DE', 360, 'dark');
    expect(await english.locator('.storing').textContent()).toBe('');

    const makeRoom = fillDisk(disk);
    const body = JSON.stringify(
      Array.from({ length: 2000 }, (_, n) => ({ time: Date.UTC(2026, 0, 5) + n * 60_000, temperature_c: 20 })),
    );
    const url = `${home.address}/api/v1/dwellings/gable-cottage/readings/attic`;
    const sent = fetch(url, { method: 'POST', body });
    await english.getByText('Readings are not being stored.').waitFor();
    await english.getByText('The disk is full.').waitFor();
    await german.getByText('Messwerte werden nicht gespeichert.').waitFor();
    await german.getByText('Die Platte ist voll.').waitFor();
    for (const page of [english, german]) {
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
      expect(await page.evaluate<number>('document.documentElement.scrollWidth - innerWidth')).toBeLessThanOrEqual(0);
    }
    // LOOK
    makeRoom();
    expect((await sent).status).toBe(200);
    for (const page of [english, german]) await page.locator('.storing .notice').waitFor({ state: 'detached' });
  }, 180_000);
});
