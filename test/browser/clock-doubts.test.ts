import { AxeBuilder } from '@axe-core/playwright';
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty } from './demo-home.ts';
import { newReader, plain, type Reader, settled } from './reader.ts';

const HOUR = 3_600_000;
/** A whole minute, half a day ago. */
const then = Math.floor(Date.now() / 60_000) * 60_000 - 12 * HOUR;
const BEHIND = 5 * HOUR + 7 * 60_000;

describe.skipIf(chromiumPath === null)('messages that were set aside while the clock of the computer was slow', () => {
  let home: EmptyHome;
  let browser: Browser;
  let reader: Reader;

  beforeAll(async () => {
    home = await startEmpty();
    browser = await openBrowser();
    reader = newReader(browser, home.address);
    const store = await openSqliteStore(home.database);
    await store.addDwelling({
      slug: 'test-house',
      name: 'Test house',
      zone: 'Etc/UTC',
      section: {
        pitchDeg: 35,
        slopeLengthMm: 1200,
        roomHeightMm: 2400,
        liningThicknessMm: 0,
        loftInsulationMm: 270,
        eavesGapMm: 50,
      },
    });
    // as an earlier run of the program left them, before the computer was booted with the right time
    const sent: [sensor: string, leadMs: number][] = [
      ['loft', BEHIND],
      ['eaves', BEHIND - 2000],
      ['porch', HOUR],
    ];
    await store.append({
      receivedAt: then,
      readings: [],
      quarantined: sent.map(([sensor, leadMs]) => ({
        receivedAt: then,
        source: 'mqtt',
        topic: `coomb/test-house/${sensor}`,
        payload: Buffer.from(JSON.stringify({ time: then + leadMs, temperature_c: 3 })),
        code: 'clock-ahead',
        message: "the device's clock is ahead of this computer's",
      })),
    });
    await store.close();
  });

  afterEach(async () => {
    await reader.leave();
    expect(reader.troubles()).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await home?.close();
  });

  const ask = 'Was the clock of this computer wrong?';

  it.each([360, 1280])('are offered with the error of the clock at %i px', async (width) => {
    const page = await reader.open('/sensors', { width, scheme: width === 360 ? 'dark' : 'light' });
    await page.getByRole('button', { name: ask }).click();
    const sheet = page.getByRole('dialog', { name: ask });
    await sheet.locator('form').first().waitFor();
    const offers = (await sheet.locator('form').allTextContents()).map(plain);
    expect(offers).toHaveLength(2);
    expect(offers[0]).toContain('Messages: 2.');
    expect(offers[0]).toContain('5 h 7 min ahead');
    expect(offers[0]).toContain('2 senders agree');
    expect(offers[0]).not.toContain('local time');
    expect(offers[1]).toContain('1 h ahead');
    expect(offers[1]).toContain('Only one sender says so.');
    expect(offers[1]).toContain('sends local time and calls it UTC');
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    const beyond = await page.evaluate(`(() => {
      const sheet = document.querySelector('dialog');
      return [document.documentElement, sheet].map((one) => Math.max(0, one.scrollWidth - one.clientWidth));
    })()`);
    expect(beyond).toEqual([0, 0]);
    await page.keyboard.press('Escape');
    await sheet.waitFor({ state: 'detached' });
  });

  it('are read in when the owner says so, and those of a device that was ahead by itself stay', async () => {
    const page = await reader.open('/sensors');
    await page.getByRole('button', { name: ask }).click();
    await page.getByRole('button', { name: 'This computer was 5 h 7 min slow: read them in' }).click();
    const sheet = page.getByRole('dialog', { name: ask });
    await sheet.getByText('Read in: 2 readings in 2 messages.').waitFor();
    await expect.poll(() => sheet.locator('form').count()).toBe(1);
    await sheet.getByRole('button', { name: 'Close' }).click();
    await settled(page);
    await expect.poll(() => page.getByRole('rowheader', { name: 'coomb/test-house/loft' }).count()).toBe(0);
    await expect.poll(() => page.getByRole('rowheader', { name: 'coomb/test-house/porch' }).count()).toBe(1);
    const store = await openSqliteStore(home.database);
    expect(await store.countReadings(1)).toBe(2);
    await store.close();
  });
});
