import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { section } from '../store/contract/given.ts';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty } from './demo-home.ts';
import { englishTexts } from './english-texts.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { newReader, plain, type Reader, settled } from './reader.ts';
import { beyond, slips } from './what-is-said.ts';

/** What a screen says of a home with nothing in it, and where what to do next is done; null: here, or nothing is to be done. */
interface Nothing {
  readonly missing: string;
  readonly next: string | null;
}

const nothing: Readonly<Record<string, Nothing>> = {
  section: { missing: 'No readings yet. Connect a sensor or import a file', next: '/sensors#connect' },
  tonight: { missing: 'Nothing can be said yet: no sensor of this home has been heard.', next: '/sensors#connect' },
  'before-after': { missing: 'There is no ceiling surface to compare.', next: '/sensors' },
  loft: { missing: 'Nothing in the loft is watched.', next: '/sensors' },
  // it asks for nothing that a home would have to have
  lining: { missing: 'The new lining', next: null },
  diary: { missing: 'None yet. Begin with a phase of the kind before', next: null },
  notices: { missing: 'Nothing has been watched yet.', next: '/sensors' },
  'notice-rules': { missing: 'Moisture may settle tonight', next: null },
  'forecast-score': { missing: 'No forecast of these is over yet.', next: null },
  recipients: { missing: 'Nobody gets word yet. Add someone', next: null },
  sensors: { missing: 'No sensor has reported yet. Connect one as described below.', next: '/sensors/connect' },
  connect: { missing: 'Nothing waits. Every topic so far is explained.', next: null },
  importing: { missing: 'choose one, look at how it would be read, and read it in', next: null },
  calibrate: { missing: 'No sensor of this home measures what this method compares.', next: '/sensors/connect' },
  placing: { missing: 'The coldest corner', next: null },
  standing: { missing: 'There is no sensor slope in this home It appears', next: '/sensors' },
  evidence: { missing: 'There is nothing to hand over yet: no place is being watched.', next: '/sensors' },
  settings: { missing: 'Nothing is shared.', next: null },
  people: { missing: 'There is no passphrase yet', next: null },
  portfolio: { missing: 'no forecast', next: '/?dwelling=new' },
  nowhere: { missing: 'There is no such page', next: '/' },
};
const nowhereYet: Nothing = { missing: 'This home has no such place', next: '/' };

/** Places that are not there are all alike. */
const screens = everyScreen.filter((screen) => !screen.startsWith('the story') || screen.endsWith('ceiling-surface'));

/** A place that no home of these has. */
const addressIn = (screen: string): string => addressOf(screen, []) ?? '/place/1';

describe.skipIf(chromiumPath === null)('a program that knows nothing yet', () => {
  let home: EmptyHome;
  let browser: Browser;
  let reader: Reader;
  let german: Page;
  let page: Page;

  beforeAll(async () => {
    [home, browser] = await Promise.all([startEmpty(), openBrowser()]);
    reader = newReader(browser, home.address);
    german = await (await browser.newContext({ locale: 'de-DE', viewport: { width: 360, height: 800 } })).newPage();
  });
  afterEach(() => {
    expect(reader.troubles()).toEqual([]);
  });
  afterAll(async () => {
    await browser?.close();
    await home?.close();
  });

  const main = async (of: Page): Promise<string> => plain((await of.locator('main').allInnerTexts()).join(' '));

  async function go(path: string): Promise<void> {
    page ??= await reader.open('/');
    await page.goto(home.address + path);
    await settled(page);
  }

  async function look(screen: string): Promise<void> {
    await go(addressIn(screen));
    expect(await page.locator('main [role=alert]').count()).toBe(0);
    expect(await slips(page)).toEqual([]);
  }

  async function lookInGerman(screen: string, english: readonly string[]): Promise<void> {
    await german.goto(home.address + addressIn(screen));
    await settled(german);
    expect(await slips(german, english)).toEqual([]);
    expect(await german.evaluate(beyond)).toEqual([]);
    const { violations } = await new AxeBuilder({ page: german }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
  }

  it('without any home, begins with one on every screen', async () => {
    for (const screen of screens) {
      await look(screen);
      expect
        .soft(await page.locator('h1').textContent(), screen)
        .toBe(screen === 'portfolio' ? 'Homes' : 'No home yet');
      const next =
        screen === 'portfolio'
          ? page.getByRole('link', { name: 'Add the first home.' })
          : page.getByRole('button', { name: 'Add this home' });
      expect.soft(await next.count(), screen).toBe(1);
    }
    await page.goto(`${home.address}/portfolio`);
    await page.getByRole('link', { name: 'Add the first home.' }).press('Enter');
    await page.getByRole('heading', { level: 1, name: 'No home yet' }).waitFor();
    for (const screen of ['section', 'portfolio']) await lookInGerman(screen, englishTexts());
  }, 300_000);

  describe('with one home and nothing in it', () => {
    let english: readonly string[];
    beforeAll(async () => {
      english = englishTexts();
      const added = await fetch(`${home.address}/api/v1/dwellings`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ slug: 'new', name: 'New', zone: 'Europe/London', section }),
      });
      expect(added.status).toBe(201);
    });

    it.each(screens)('%s: says what is missing, and what to do next', async (screen) => {
      const { missing, next } = nothing[screen] ?? nowhereYet;
      await look(screen);
      await expect.poll(() => main(page)).toContain(missing);
      if (next !== null) {
        const link = page.locator(`main a[href="${next}"]`).first();
        await link.press('Enter');
        await expect.poll(() => page.url().slice(home.address.length)).toBe(next);
        await settled(page);
        expect(await page.locator('main [role=alert]').count()).toBe(0);
      }
      await lookInGerman(screen, english);
    });

    it.each(['night', 'before', 'after'])('the section of %s: says why there is none to show', async (show) => {
      await go(`/?show=${show}`);
      expect(await page.locator('main .notice.tone-unknown').count()).toBeGreaterThan(0);
      expect(await page.locator('main [role=alert]').count()).toBe(0);
      expect(await slips(page)).toEqual([]);
    });
  });
});
