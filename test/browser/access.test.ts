import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty } from './demo-home.ts';

const passphrase = 'slow otters mend slates';

describe.skipIf(chromiumPath === null)('who may see the page', () => {
  let home: EmptyHome;
  let browser: Browser;
  let page: Page;

  beforeAll(async () => {
    [home, browser] = await Promise.all([startEmpty(), openBrowser()]);
    const body = JSON.stringify({
      slug: 'cottage',
      name: 'Cottage',
      zone: 'Europe/London',
      section: {
        pitchDeg: 40,
        slopeLengthMm: 900,
        roomHeightMm: 2300,
        liningThicknessMm: 0,
        loftInsulationMm: 300,
        eavesGapMm: 50,
      },
    });
    const headers = { 'content-type': 'application/json' };
    await fetch(`${home.address}/api/v1/dwellings`, { method: 'POST', headers, body });
    page = await (await browser.newContext({ viewport: { width: 360, height: 740 } })).newPage();
  });

  afterAll(async () => {
    await browser?.close();
    await home?.close();
  });

  const clean = async (of: Page): Promise<void> => {
    const { violations } = await new AxeBuilder({ page: of }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    expect(await of.evaluate<number>('document.documentElement.scrollWidth - innerWidth')).toBeLessThanOrEqual(0);
  };

  it('is set by a first passphrase, with the keyboard alone', async () => {
    await page.goto(`${home.address}/settings/people`);
    await page.getByRole('heading', { name: 'There is no passphrase yet' }).waitFor();
    await clean(page);
    await page.getByLabel('Your name').focus();
    await page.keyboard.type('Maud');
    await page.keyboard.press('Tab');
    await page.keyboard.type(passphrase);
    await page.keyboard.press('Enter');
    await page.getByText('Signed in as Maud, owner.').waitFor();
    await clean(page);
  });

  it('another browser finds the door shut, is told when it is wrong, and comes in with the passphrase', async () => {
    const other = await (await browser.newContext({ colorScheme: 'dark' })).newPage();
    await other.goto(`${home.address}/diary`);
    await other.getByRole('heading', { name: 'Sign in' }).waitFor();
    expect(await other.content()).not.toContain('Cottage');
    await clean(other);
    await other.getByLabel('Your name').fill('Maud');
    await other.getByLabel('Passphrase').fill('quick otters mend slates');
    await other.keyboard.press('Enter');
    await other.getByRole('alert').getByText('is not right').waitFor();
    await other.getByLabel('Passphrase').fill(passphrase);
    await other.keyboard.press('Enter');
    await other.getByText('Cottage').first().waitFor();
    expect(new URL(other.url()).pathname).toBe('/diary');
    await other.context().close();
  });

  it('somebody added by the owner sees the home and is not offered what only the owner may do', async () => {
    await page.getByRole('button', { name: 'Add somebody' }).click();
    await page.getByLabel('Name', { exact: true }).fill('Ivo <b>');
    await page.getByLabel('Passphrase to begin with').fill('eleven kettles on a sill');
    await page.getByRole('button', { name: 'Add', exact: true }).click();
    await page.getByText('Ivo <b>').first().waitFor();
    const other = await (await browser.newContext()).newPage();
    await other.goto(`${home.address}/settings/people`);
    await other.getByLabel('Your name').fill('Ivo <b>');
    await other.getByLabel('Passphrase').fill('eleven kettles on a sill');
    await other.keyboard.press('Enter');
    await other.getByText('Signed in as Ivo <b>, household.').waitFor();
    expect(await other.getByRole('button', { name: 'Make an account' }).count()).toBe(0);
    // a session that the owner ends is over on the open page at its next question
    await page.reload();
    const theirs = page.getByRole('listitem').filter({ hasText: 'Ivo' }).filter({ hasText: 'Last used' });
    await theirs.getByRole('button', { name: 'Sign out there' }).click();
    await theirs.waitFor({ state: 'detached' });
    await other.goto(`${home.address}/`);
    await other.getByRole('heading', { name: 'Sign in' }).waitFor();
    await other.context().close();
  });

  it('a device gets its password once, and the trail says who made the account', async () => {
    await page.getByRole('button', { name: 'Make an account' }).click();
    await page.getByLabel('User name').fill('eaves-7');
    await page.getByRole('button', { name: 'Make it' }).click();
    await page.getByText('The account eaves-7 is ready').waitFor();
    await clean(page);
    await page.reload();
    await page.getByText('made a device account').waitFor();
    expect(await page.getByText('The account eaves-7 is ready').count()).toBe(0);
    await clean(page);
  });

  it('signing out shuts the page', async () => {
    await page.getByRole('button', { name: 'Sign out', exact: true }).click();
    await page.getByRole('heading', { name: 'Sign in' }).waitFor();
    expect(await page.content()).not.toContain('eaves-7');
  });
});
