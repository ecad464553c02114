import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Dwelling, Place } from '../../server/api/contract/dwelling.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { answered, plain, settled, watchTraffic } from './reader.ts';

/** Every screen for those who may not do everything, and for those whose session ends while they look at it. */
const passphrase = 'slow otters mend slates';
const people = { owner: 'Maud', household: 'Ivo', landlord: 'Edda' } as const;
type Role = keyof typeof people;

const screens = everyScreen.filter((screen) => !screen.startsWith('the story') || screen.endsWith('ceiling-surface'));

/** What a member of the household reads where an owner finds something to do; the other screens are the same for both. */
const takesAnOwner: Readonly<Record<string, string>> = {
  section: 'Only an owner can change what is here.',
  lining: 'Only an owner can keep build-ups with the home',
  diary: 'Only an owner can change the phases.',
  'notice-rules': 'Only an owner can change what is here.',
  recipients: 'Only an owner can change who gets word.',
  sensors: 'Only an owner can move or rename sensors, and change places.',
  connect: 'Only an owner can say what messages mean.',
  importing: 'Only an owner can read in files.',
  calibrate: 'Only an owner can have sensors corrected.',
  standing: 'Only an owner can say where a sensor stands.',
  evidence: 'Only an owner can share packs by a link.',
  settings: 'Only an owner can change what is here.',
  people: 'Only an owner sees who else may come in, the devices, and who did what.',
};

/** What only an owner finds, by the names of its controls. */
const ownersControls =
  /^(Move |Name and type of|Change (?!your passphrase|note)|Remove (?!note)|Add a (?!layer|note)|Save$|Keep|Back to the usual spot|Read it in|File|Explain|Take it back:|Make a link|Try the example|Set the|Make an account|Back up)/;

/** What is the household's alone, whatever it agreed to. */
const householdsAlone = ['lining', 'diary', 'settings', 'recipients', 'connect', 'importing'];

describe.skipIf(chromiumPath === null)('a screen for those who may not do everything', () => {
  let demo: DemoHome;
  let browser: Browser;
  let home: Dwelling;
  let places: Place[];
  let owner = '';
  /** one page for each, on which they stay signed in */
  const pages = new Map<Role, Page>();
  const troubles: string[] = [];

  const ask = async (method: string, path: string, body?: unknown, cookie = owner): Promise<Response> => {
    const answer = await fetch(`${demo.address}/api/v1${path}`, {
      method,
      headers: { 'content-type': 'application/json', cookie },
      body: body === undefined ? null : JSON.stringify(body),
    });
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
    return answer;
  };
  const tokenOf = (answer: Response): string => answer.headers.get('set-cookie')!.split(';')[0]!;
  const at = (screen: string): string => demo.address + addressOf(screen, places)!;

  /** A page on which somebody is signed in already. */
  async function pageOf(role: Role): Promise<Page> {
    const there = pages.get(role);
    if (there !== undefined) return there;
    const token = tokenOf(await ask('POST', '/access/session', { name: people[role], passphrase }, ''));
    const [name, value] = token.split('=') as [string, string];
    const context = await browser.newContext({
      locale: 'en-GB',
      timezoneId: 'Europe/London',
      viewport: { width: 1280, height: 800 },
      reducedMotion: 'reduce',
    });
    await context.addCookies([{ name, value, url: demo.address }]);
    const page = await context.newPage();
    watchTraffic(page);
    pages.set(role, page);
    page.on('pageerror', (error) => troubles.push(error.message));
    page.on('console', (message) => {
      if (message.type() === 'error') troubles.push(`${message.text()} ${message.location().url}`);
    });
    return page;
  }

  async function look(page: Page, screen: string): Promise<string> {
    await page.goto(at(screen));
    await settled(page);
    // what is in them is asked for with the next picture of the page
    await page.evaluate(`new Promise((done) => {
      for (const folded of document.querySelectorAll('main details')) folded.open = true;
      requestAnimationFrame(() => requestAnimationFrame(() => done(null)));
    })`);
    await settled(page);
    await answered(page);
    await settled(page);
    expect(await page.locator('main [role=alert]').allInnerTexts()).toEqual([]);
    return plain((await page.locator('main').allInnerTexts()).join(' '));
  }

  const controls = async (page: Page): Promise<string[]> =>
    (
      (await page.evaluate(
        `[...document.querySelectorAll('main button, main input, main select')].map((one) => one.getAttribute('aria-label') ?? one.labels?.[0]?.textContent ?? one.textContent)`,
      )) as string[]
    ).map(plain);

  beforeAll(async () => {
    [demo, browser] = await Promise.all([startDemo(), openBrowser()]);
    owner = tokenOf(await ask('POST', '/access/first-passphrase', { name: people.owner, passphrase }));
    home = ((await (await ask('GET', '/dwellings')).json()) as Dwelling[])[0]!;
    places = (await (await ask('GET', `/dwellings/${home.slug}/places`)).json()) as Place[];
    await ask('POST', '/access/people', { name: people.household, passphrase, role: 'household' });
    await ask('POST', '/access/people', {
      name: people.landlord,
      passphrase,
      role: 'landlord',
      reach: { kind: 'all' },
    });
  }, 180_000);

  afterEach(() => {
    // what is refused is not to be asked for in the first place
    expect(troubles.splice(0)).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it.each(screens)(
    '%s, for the household: says in plain words what takes an owner, and offers none of it',
    async (screen) => {
      const page = await pageOf('household');
      const said = await look(page, screen);
      const note = takesAnOwner[screen];
      if (note === undefined) expect(said).not.toContain('Only an owner');
      else expect(said).toContain(note);
      const offered = (await controls(page)).filter((name) => ownersControls.test(name));
      const layers = screen === 'lining' ? /^(Change|Remove|Add a) / : /^$/;
      expect(offered.filter((name) => !layers.test(name) && !/layer/i.test(name))).toEqual([]);
    },
  );

  // nothing waits to be explained in the demo
  it.each(Object.keys(takesAnOwner).filter((screen) => screen !== 'connect'))(
    '%s, for an owner: says nothing of it, and offers something to do',
    async (screen) => {
      const page = await pageOf('owner');
      expect(await look(page, screen)).not.toContain('Only an owner');
      expect((await controls(page)).length).toBeGreaterThan(0);
    },
  );

  describe('for a landlord', () => {
    // all of them are the list of homes then
    it.each(['section', 'tonight', 'diary', 'portfolio'])(
      '%s, before the household has agreed to anything: says that it has to',
      async (screen) => {
        const page = await pageOf('landlord');
        expect(await look(page, screen)).toContain('A home appears here when its household agrees to it');
      },
    );

    it.each(screens)(
      '%s, with all agreed to that can be: shows it without anything to change, or that it is the household’s alone',
      async (screen) => {
        const consents = (await (await ask('GET', `/dwellings/${home.slug}/consents`)).json()) as unknown[];
        if (consents.length === 0)
          await ask('POST', `/dwellings/${home.slug}/consents`, { scope: 'report', agreedBy: people.household });
        const page = await pageOf('landlord');
        const said = await look(page, screen);
        if (householdsAlone.includes(screen)) {
          expect(said).toMatch(/^This is not shared with you/);
          expect(await page.getByRole('link', { name: 'All homes you see' }).count()).toBe(1);
          return;
        }
        expect(said.length).toBeGreaterThan(20);
        expect((await controls(page)).filter((name) => ownersControls.test(name))).toEqual([]);
      },
    );
  });

  it.each(screens)(
    '%s, open when the session ends: asks to sign in, and comes back to the same screen',
    async (screen) => {
      const page = await pageOf('household');
      await page.goto(at(screen));
      await settled(page);
      await expect.poll(() => page.locator('.connection').textContent()).toBe('Live');
      const heading = await page.locator('h1').textContent();
      const sessions = (await (await ask('GET', '/access/sessions')).json()) as { id: number; personName: string }[];
      for (const { id, personName } of sessions)
        if (personName === people.household) await ask('DELETE', `/access/sessions/${id}`);
      await page.getByRole('heading', { level: 1, name: 'Sign in' }).waitFor();
      await page.getByLabel('Your name').fill(people.household);
      await page.getByLabel('Passphrase').fill(passphrase);
      await page.keyboard.press('Enter');
      await page.getByLabel('Passphrase').waitFor({ state: 'detached' });
      await settled(page);
      expect(page.url()).toBe(at(screen));
      // a sentence on the state of things may have changed; what a screen is called has not
      if (!['section', 'tonight', 'before-after'].includes(screen))
        expect(await page.locator('h1').textContent()).toBe(heading);
      await expect.poll(() => page.locator('.connection').textContent()).toBe('Live');
      expect(await page.locator('main [role=alert]').count()).toBe(0);
      // that it was refused is in the browser's log
      troubles.splice(0, troubles.length, ...troubles.filter((text) => !text.includes('401')));
    },
    180_000,
  );
});
