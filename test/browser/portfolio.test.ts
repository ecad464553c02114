import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { HomeSummary } from '../../server/analysis/portfolio/summary.ts';
import { chromiumPath, type EmptyHome, openBrowser, startOn } from './demo-home.ts';
import { givenManyHomes } from './many-homes.ts';
import { asRead } from './reader.ts';

const HOMES = 120;
const OWNER = { name: 'Maud', passphrase: 'slow otters mend slates' };
const LANDLORD = { name: 'Edda', passphrase: 'gravel under nine boots' };

describe.skipIf(chromiumPath === null)('many homes', () => {
  let home: EmptyHome;
  let browser: Browser;
  let lines: Map<string, HomeSummary>;
  let page: Page;
  const folder = mkdtempSync(join(tmpdir(), 'coomb-homes-'));

  beforeAll(async () => {
    lines = await givenManyHomes(join(folder, 'coomb.db'), HOMES);
    [home, browser] = await Promise.all([startOn(0, folder), openBrowser()]);
    page = await (await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB' })).newPage();
  }, 240_000);

  afterAll(async () => {
    await browser?.close();
    await home?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const clean = async (of: Page): Promise<void> => {
    const { violations } = await new AxeBuilder({ page: of }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    expect(await of.evaluate<number>('document.documentElement.scrollWidth - innerWidth')).toBeLessThanOrEqual(0);
  };
  const counted = (fits: (line: HomeSummary) => boolean): number => [...lines.values()].filter(fits).length;
  const rows = (of: Page) => of.locator('.homes-table tbody tr');

  it('are listed with the worst of tonight first, a page at a time', async () => {
    await page.goto(`${home.address}/portfolio`);
    await page.getByRole('heading', { name: 'Homes', level: 1 }).waitFor();
    await page.getByText('120 homes, 50 of 120 shown').waitFor();
    const worst = [...lines.values()].sort((a, b) => (b.tonight?.chance ?? -1) - (a.tonight?.chance ?? -1))[0]!;
    const first = await rows(page).first().textContent();
    expect(first).toContain(`${asRead(worst.tonight!.chance * 100, 0)}\u00a0% chance of condensation`);
    // half the width of the interval, as it was given: 1.4 K
    expect(first).toContain('±\u00a01.4\u00a0K at Sloping ceiling');
    expect(first).toContain(`${asRead(worst.works!.factor!.f, 2)}\u00a0±\u00a00.03`);
    await clean(page);
    await page.getByRole('button', { name: 'More homes' }).click();
    await page.getByText('100 of 120 shown').waitFor();
    await page.getByRole('button', { name: 'More homes' }).click();
    await expect.poll(() => rows(page).count()).toBe(HOMES);
    expect(new Set(await rows(page).locator('th a').allInnerTexts()).size).toBe(HOMES);
  });

  it('are filtered by keyboard, and the address keeps what was asked for', async () => {
    await page.getByRole('button', { name: /^Too moist/ }).focus();
    await page.keyboard.press('Enter');
    const moist = counted(({ tooMoist }) => tooMoist === true);
    await page.getByText(`${moist} homes`, { exact: true }).waitFor();
    await expect.poll(() => rows(page).count()).toBe(moist);
    expect(await rows(page).getByText('too moist').count()).toBe(moist);
    expect(page.url()).toContain('condition=too-moist');
    await page.getByLabel('Search by name or area').focus();
    await page.keyboard.type('mill row');
    await page.keyboard.press('Enter');
    await page.waitForURL(/search=mill/);
    await page.reload();
    const inRow = [...lines].filter(([slug, line]) => Number(slug.slice(5)) % 4 === 2 && line.tooMoist).length;
    await expect.poll(() => rows(page).count()).toBe(inRow);
    await page.getByLabel('Group', { exact: true }).focus();
    await page.keyboard.press('ArrowDown');
    await page.waitForURL(/group=/);
    await clean(page);
  });

  it('say what to do when none fits', async () => {
    await page.goto(`${home.address}/portfolio?search=nowhere-at-all`);
    await page.getByText('No home fits').waitFor();
    await clean(page);
    await page.getByRole('button', { name: 'Show all homes' }).click();
    await page.getByText('50 of 120 shown').waitFor();
  });

  it('are counted by area, and an area leads to its homes', async () => {
    await page.getByLabel('Count by').selectOption('area');
    const table = page.getByRole('table', { name: 'Homes by area' });
    await table.getByRole('button', { name: 'Quarry side' }).click();
    await page.waitForURL(/area=Quarry/);
    await page.getByText('30 homes', { exact: true }).waitFor();
    await clean(page);
  });

  it('open from their line, and the way back stands at the top', async () => {
    await page.getByRole('link', { name: '3 Bank Street', exact: true }).click();
    await page.waitForURL(/dwelling=home-00003/);
    await page.getByText('3 Bank Street').first().waitFor();
    // too many to choose from a list
    expect(await page.getByLabel('Dwelling').count()).toBe(0);
    await page.locator('.masthead').getByRole('link', { name: 'Homes' }).click();
    await page.getByRole('heading', { name: 'Homes', level: 1 }).waitFor();
  });

  it('fit a telephone, in German and in the dark', async () => {
    const phone = await browser.newContext({
      viewport: { width: 360, height: 740 },
      colorScheme: 'dark',
      locale: 'de-DE',
    });
    const small = await phone.newPage();
    await small.goto(`${home.address}/portfolio`);
    await small.getByRole('heading', { name: 'Wohnungen', level: 1 }).waitFor();
    await small.getByText('50 von 120 gezeigt').waitFor();
    await clean(small);
    await phone.close();
  });

  it('say that there is no connection, and keep what was last known', async () => {
    await page.getByText('50 of 120 shown').waitFor();
    // a page that listens asks for everything by itself as soon as it is told of things again: here it is asked
    await page.route('**/dwellings/*/live**', (route) => route.abort());
    await page.reload();
    await page.getByText('50 of 120 shown').waitFor();
    await page.context().setOffline(true);
    await page.getByLabel('In order of').selectOption('name');
    await page
      .getByRole('alert')
      .getByText(/cannot be reached|reached/)
      .waitFor();
    await clean(page);
    // held before the line is there again: each minute the list asks by itself, and takes the button away
    await page.getByRole('alert').getByRole('button').focus();
    await page.context().setOffline(false);
    await page.keyboard.press('Enter');
    await expect.poll(async () => rows(page).first().textContent()).toContain('1 Bank Street');
    await page.unroute('**/dwellings/*/live**');
  });

  it('are added from a file that was looked through, and a label leads a telephone to where its sensor is placed', async () => {
    const file = (zone: string) => ({
      name: 'homes.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(
        `dwelling,name,zone,place,place_kind,sensor,account\nquay-1,1 Quay,${zone},Bedroom,room-air,room,yes\nquay-1,,,,,spare,\n`,
      ),
    });
    await page.goto(`${home.address}/portfolio`);
    await page.getByLabel('The file').setInputFiles(file('Europe/Nowhere'));
    await page.getByRole('button', { name: 'Look through it' }).press('Enter');
    await page.getByText(/Row 2 zone: .*not an IANA time zone/).waitFor();
    expect(await page.getByRole('button', { name: 'Add them' }).count()).toBe(0);
    await clean(page);
    await page.getByLabel('The file').setInputFiles(file('Europe/London'));
    await page.getByRole('button', { name: 'Look through it' }).press('Enter');
    await page.getByText('To be added: homes 1, places 1, sensors 2, sign-ins of sensors 1.').waitFor();
    await page.getByRole('button', { name: 'Add them' }).press('Enter');
    await page.getByRole('button', { name: 'Save the passwords as a CSV file' }).waitFor();
    await clean(page);
    const labels = await page.getByRole('link', { name: 'Labels to print from the browser' }).getAttribute('href');
    expect(await (await fetch(`${home.address}${labels}`)).text()).toContain('1 Quay');

    const phone = await (
      await browser.newContext({ viewport: { width: 360, height: 740 }, locale: 'en-GB' })
    ).newPage();
    await phone.goto(`${home.address}/sensors/stand?dwelling=quay-1&sensor=spare`);
    await phone.getByRole('heading', { name: 'Where does spare stand?' }).waitFor();
    await clean(phone);
    await phone.getByLabel('Bedroom').check();
    await phone.getByRole('button', { name: 'It stands there now' }).press('Enter');
    await phone.getByText('Noted: it stands at Bedroom from now on.').waitFor();
    await phone.getByText('It stands at Bedroom.', { exact: true }).waitFor();
    await phone.close();
  }, 300_000);

  it('are shown to a landlord as far as their households agree, and not for a moment longer', async () => {
    const api = async (path: string, body: unknown, cookie: string): Promise<Response> =>
      fetch(`${home.address}/api/v1${path}`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', cookie },
        body: JSON.stringify(body),
      });
    const set = await api('/access/first-passphrase', OWNER, '');
    const cookie = set.headers.get('set-cookie')!.split(';')[0]!;
    await api('/access/people', { ...LANDLORD, role: 'landlord', reach: { kind: 'all' } }, cookie);

    const theirs = await (
      await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB' })
    ).newPage();
    await theirs.goto(`${home.address}/portfolio`);
    await theirs.getByRole('heading', { name: 'Sign in' }).waitFor();
    await theirs.getByLabel('Your name').fill(LANDLORD.name);
    await theirs.getByLabel('Passphrase').fill(LANDLORD.passphrase);
    await theirs.keyboard.press('Enter');
    await theirs.getByText('There is no home to see yet').waitFor();
    await theirs.getByText('121 more homes are yours to look after').waitFor();
    await clean(theirs);

    const member = await (
      await browser.newContext({ viewport: { width: 360, height: 740 }, locale: 'en-GB' })
    ).newPage();
    await member.goto(`${home.address}/settings?dwelling=home-00003`);
    await member.getByLabel('Your name').fill(OWNER.name);
    await member.getByLabel('Passphrase').fill(OWNER.passphrase);
    await member.keyboard.press('Enter');
    const sharing = member.locator('#sharing');
    await sharing.getByText('Nothing is shared.').waitFor();
    await sharing.getByLabel(/also the drawing/).check();
    await sharing.getByLabel('Who of the household agrees').fill('Ivo Bank');
    await sharing.getByRole('button', { name: 'Agree to this' }).press('Enter');
    await sharing.getByText(/agreed by Ivo Bank: also the drawing/).waitFor();
    await clean(member);

    await theirs.reload();
    await theirs.getByText('1 home', { exact: true }).waitFor();
    await theirs.getByRole('link', { name: '3 Bank Street', exact: true }).click();
    await theirs.waitForURL(/dwelling=home-00003/);
    await theirs.getByRole('link', { name: 'Tonight' }).click();
    await theirs.getByRole('heading', { level: 1 }).waitFor();
    expect(await theirs.getByRole('link', { name: 'Diary' }).count()).toBe(0);
    await clean(theirs);

    await sharing.getByRole('button', { name: 'Take it back' }).click();
    await sharing.getByText('Taken back.').waitFor();
    await theirs.goto(`${home.address}/tonight?dwelling=home-00003`);
    await theirs.getByText('There is no home to see yet').waitFor();
    await theirs.close();
    await member.close();
  }, 300_000);

  /** The owner at a desk, signed in where a path leads. */
  async function asOwner(path: string, locale: string): Promise<Page> {
    const theirs = await (await browser.newContext({ viewport: { width: 1280, height: 900 }, locale })).newPage();
    await theirs.goto(home.address + path);
    await theirs.locator('input[name=name]').fill(OWNER.name);
    await theirs.locator('input[name=passphrase]').fill(OWNER.passphrase);
    await theirs.keyboard.press('Enter');
    return theirs;
  }

  it('are grouped by an owner: a group is made, renamed and removed, by keyboard and by mouse', async () => {
    const theirs = await asOwner('/portfolio', 'en-GB');
    const groups = theirs.locator('#groups');
    await groups.getByRole('button', { name: 'Add a group' }).focus();
    await theirs.keyboard.press('Enter');
    await theirs.getByRole('dialog').getByLabel('Name').waitFor();
    await theirs.keyboard.type('Steep roofs');
    await clean(theirs);
    await theirs.keyboard.press('Enter');
    await groups.getByText('Steep roofs', { exact: true }).waitFor();

    await groups.getByRole('button', { name: 'Rename Terrace' }).click();
    await theirs.getByRole('dialog').getByLabel('Name').fill('The terrace');
    await theirs.getByRole('button', { name: 'Save', exact: true }).click();
    await groups.getByRole('button', { name: 'Homes of The terrace' }).click();
    await theirs.waitForURL(/group=/);
    await theirs.getByText(`${HOMES / 5} homes`, { exact: true }).waitFor();
    await clean(theirs);

    await groups.getByRole('button', { name: 'Remove the group The terrace?' }).press('Enter');
    await theirs.getByRole('dialog').getByText('Its homes stay.').waitFor();
    await theirs.getByRole('button', { name: 'Remove the group', exact: true }).press('Enter');
    // what was found by it is shown among all homes again
    await theirs.getByText(`50 of ${HOMES + 1} shown`).waitFor();
    expect(new URL(theirs.url()).searchParams.get('group')).toBeNull();
    // the list of groups is another answer than that of homes
    await expect
      .poll(() => groups.getByRole('listitem').allInnerTexts())
      .toEqual([expect.stringContaining('Steep roofs')]);
    await theirs.close();
  });

  it('are seen by a person as far as an owner says, who can say otherwise later', async () => {
    const theirs = await asOwner('/settings/people', 'en-GB');
    const person = theirs.getByRole('listitem').filter({ hasText: LANDLORD.name }).first();
    await person.getByRole('button', { name: `Which homes ${LANDLORD.name} sees` }).press('Enter');
    const sheet = theirs.getByRole('dialog');
    await sheet.getByLabel('Sees').selectOption('listed');
    await sheet.getByLabel('Homes', { exact: true }).fill('home-00003, home-00004');
    await sheet.getByLabel('Steep roofs').check();
    await clean(theirs);
    await sheet.getByRole('button', { name: 'Save' }).press('Enter');
    await person.getByText('Homes: home-00003, home-00004; Groups: Steep roofs').waitFor();

    // what was chosen stands there again, and saving it as it is loses nothing
    await person.getByRole('button', { name: `Which homes ${LANDLORD.name} sees` }).click();
    expect(await sheet.getByLabel('Homes', { exact: true }).inputValue()).toBe('home-00003, home-00004');
    expect(await sheet.getByLabel('Sees').inputValue()).toBe('listed');
    expect(await sheet.getByLabel('Steep roofs').isChecked()).toBe(true);
    await sheet.getByLabel('Homes', { exact: true }).fill('home-nowhere');
    await sheet.getByRole('button', { name: 'Save' }).click();
    await sheet.getByRole('alert').waitFor();
    await sheet.getByLabel('Homes', { exact: true }).fill('home-00003');
    await sheet.getByRole('button', { name: 'Save' }).click();
    await person.getByText('Homes: home-00003; Groups: Steep roofs').waitFor();
    // an owner reaches every home in any case
    expect(await theirs.getByRole('button', { name: `Which homes ${OWNER.name} sees` }).count()).toBe(0);

    const landlord = await (await browser.newContext({ locale: 'en-GB' })).newPage();
    await landlord.goto(`${home.address}/portfolio`);
    await landlord.getByLabel('Your name').fill(LANDLORD.name);
    await landlord.getByLabel('Passphrase').fill(LANDLORD.passphrase);
    await landlord.keyboard.press('Enter');
    await landlord.getByText('One more home is yours to look after').waitFor();
    await landlord.close();
    await theirs.close();
  });

  it('are told in German what is wrong with their file, and labels of more than a hundred come in batches', async () => {
    const theirs = await asOwner('/portfolio', 'de-DE');
    const many = 130;
    const rows = Array.from({ length: many }, (_, k) => `lane-${k + 1},Lane ${k + 1},Europe/London,probe-${k + 1}`);
    const wrong = ['lane-131,Lane 131,Europe/Nowhere,probe-131', 'Lane 132,Lane 132,Europe/London,probe-132'];
    await theirs.locator('input[type=file]').setInputFiles({
      name: 'homes.csv',
      mimeType: 'text/csv',
      buffer: Buffer.from(['dwelling,name,zone,sensor', ...rows, ...wrong].join('\n')),
    });
    await theirs.getByRole('button', { name: 'Durchsehen' }).press('Enter');
    const faults = theirs.getByRole('alert').filter({ hasText: '2 Dinge stimmen nicht' }).getByRole('listitem');
    await expect
      .poll(() => faults.allInnerTexts())
      .toEqual([
        'Zeile 132 zone: „Europe/Nowhere“ ist keine IANA-Zeitzone. Schreiben Sie eine wie Europe/Berlin oder Europe/London.',
        expect.stringMatching(
          /^Zeile 133 dwelling: „Lane 132“ kann kein Kurzname einer Wohnung sein\. Schreiben Sie bis zu 40/,
        ),
      ]);
    await theirs.getByRole('button', { name: 'Anlegen', exact: true }).press('Enter');
    const batches = theirs.getByLabel('Welche Wohnungen, 100 auf einmal');
    await batches.waitFor({ timeout: 60_000 });
    expect(await batches.locator('option').allInnerTexts()).toEqual([
      '1 bis 100: lane-1 … lane-100',
      '101 bis 130: lane-101 … lane-130',
    ]);
    const labelled = async (): Promise<Set<string>> => {
      const href = await theirs.getByRole('link', { name: 'Etiketten aus dem Browser drucken' }).getAttribute('href');
      const answer = await theirs.request.get(home.address + href);
      expect(answer.status()).toBe(200);
      return new Set([...(await answer.text()).matchAll(/>(probe-\d+)</g)].map(([, probe]) => probe!));
    };
    const first = await labelled();
    await batches.focus();
    await theirs.keyboard.press('ArrowDown');
    await expect.poll(labelled).not.toEqual(first);
    const second = await labelled();
    expect([first.size, second.size, new Set([...first, ...second]).size]).toEqual([100, 30, many]);
    await clean(theirs);
    await theirs.close();
  }, 240_000);
});
