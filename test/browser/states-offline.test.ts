import type { Browser, BrowserContext, Page, Request, Response } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Dwelling, Place } from '../../server/api/contract/dwelling.ts';
import { chromiumPath, type DemoHome, openBrowser, startStillDemo } from './demo-home.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { type Line, layLine } from './line.ts';
import { plain, settled } from './reader.ts';

/**
 * Every screen of the demo's home, whose sensors say nothing meanwhile, when the line to the program breaks: opened again
 * after it was seen, and left open. The line is a real one and is really cut.
 */
let demo: DemoHome;
let browser: Browser;
let line: Line;
let context: BrowserContext;
let page: Page;
let places: Place[];
let began: number;
let ended: number;
/** What each screen showed while there was a connection. */
const seen = new Map<string, readonly string[]>();

const screens = everyScreen.filter((screen) => screen !== 'the story of a place, supply-air');

/** What stands in for what is only good for the moment or only for who asks, and is not kept. */
interface NotKept {
  readonly alert: string;
  /** lines that are there only with a connection */
  readonly without: RegExp;
}
const unreachable = 'The program cannot be reached.';
const notKept: Readonly<Record<string, NotKept>> = {
  // a verdict that was kept says so itself, and can be asked for anew
  'before-after': { alert: unreachable, without: /^$/ },
  // what a pack would hold is counted by the program, up to this minute
  evidence: {
    alert: unreachable,
    without:
      /^(Place|Hours known|Bedroom air|Old ceiling|Loft air|Rafter|Outdoors|Sloping ceiling|Edge of|Flat ceiling|No day is|The seal|It will be|Make the pack|The pack holds|Share by|Whoever holds|Make a pack)/,
  },
  // who is signed in, and whoever else may be, is not left on the device
  people: { alert: unreachable, without: /^(?!People and devices)/ },
};
/** Lines that no alert stands in for: the broker's address is the program's, and so is whether the example is there. */
const elsewhere =
  /^(This is an address of this computer|.* is here\. Everything in it is invented\.|Look at it|Remove the example)/;

/** The lines of a screen that tell no figure and no time: what is told of the time moves with it. */
const linesOf = async (): Promise<string[]> =>
  (await page.locator('main').allInnerTexts())
    .flatMap((text) => text.split(/[\n\t]/))
    .map(plain)
    .filter((text) => text !== '' && !/\d/.test(text) && text !== 'now');

const connection = async (): Promise<string> => plain(await page.locator('.connection').textContent());
const at = (screen: string): string => line.address + addressOf(screen, places)!;
const alerts = async (): Promise<string[]> => (await page.locator('main [role=alert]').allInnerTexts()).map(plain);

/** As {@link settled}, outside of a test. */
async function loaded(): Promise<void> {
  await page.locator('h1').first().waitFor();
  await page.locator('.waiting').first().waitFor({ state: 'detached', timeout: 50_000 });
  await page.waitForLoadState('networkidle').catch(() => undefined);
}

/** What the page was answered since it was opened, by the address that it is kept under or, for a question, its beginning. */
const answeredTo = new Set<string>();

/** null: it is not kept. */
function keptUnder(request: Request): string | null {
  const { href, pathname, search } = new URL(request.url());
  const passing = /^\/api\/v1\/(?:access|example)|\/(?:imports|photos)\/|\/live$/.test(pathname);
  if (!pathname.startsWith('/api/v1/') || passing) return null;
  if (request.method() === 'GET') return href;
  return pathname.endsWith('/lining-check') ? `${href}${search === '' ? '?' : '&'}asked=` : null;
}

function noteAnswer(response: Response): void {
  const address = keptUnder(response.request());
  if (response.ok() && address !== null) answeredTo.add(address);
}

/** The page let go of it before all of it was there. */
const noteLetGo = (request: Request): void => void answeredTo.delete(keptUnder(request) ?? '');

/** Answers are put away while their screen is shown already: a page that is left sooner has not kept them. */
async function allKept(since: number): Promise<void> {
  const missing = `caches.open('coomb-answers').then(async (cache) => {
    const keys = await cache.keys();
    const isFresh = async (key) => Number((await cache.match(key))?.headers.get('x-kept-at')) >= ${since};
    const fresh = (await Promise.all(keys.map(async (key) => ((await isFresh(key)) ? [key.url] : [])))).flat();
    const has = (asked) => fresh.some((url) => (asked.endsWith('asked=') ? url.startsWith(asked) : url === asked));
    return ${JSON.stringify([...answeredTo])}.filter((asked) => !has(asked));
  })`;
  for (const from = Date.now(); ; await page.waitForTimeout(50)) {
    const left = (await page.evaluate(missing)) as string[];
    if (left.length === 0) return;
    if (Date.now() - from > 60_000) throw new Error(`not kept on the device: ${left.join(' ')}`);
  }
}

describe.skipIf(chromiumPath === null)('a screen without a connection', () => {
  beforeAll(async () => {
    [demo, browser] = await Promise.all([startStillDemo(), openBrowser()]);
    line = await layLine(demo.address);
    const [home] = (await (await fetch(`${demo.address}/api/v1/dwellings`)).json()) as Dwelling[];
    places = (await (await fetch(`${demo.address}/api/v1/dwellings/${home!.slug}/places`)).json()) as Place[];
    context = await browser.newContext({
      locale: 'en-GB',
      timezoneId: 'Europe/London',
      viewport: { width: 1280, height: 800 },
      reducedMotion: 'reduce',
    });
    page = await context.newPage();
    page.on('response', noteAnswer);
    page.on('requestfailed', noteLetGo);
    await page.goto(`${line.address}/`);
    await page.evaluate('navigator.serviceWorker.ready');
    // once more where the hour turned meanwhile, and with it the hours that screens tell of
    do {
      began = Date.now();
      for (const screen of screens) {
        answeredTo.clear();
        const opened = Date.now();
        await page.goto(at(screen));
        await loaded();
        await allKept(opened);
        seen.set(screen, await linesOf());
      }
      ended = Date.now();
    } while (Math.floor(began / 3_600_000) !== Math.floor(ended / 3_600_000));
    await line.cut();
  }, 600_000);

  afterAll(async () => {
    await browser?.close();
    await line?.cut();
    await demo?.close();
  });

  it.each(screens)(
    '%s, seen before: shows what it had, from when it is, and that there is no connection',
    async (screen) => {
      const missing = notKept[screen];
      await page.goto(at(screen));
      await settled(page);
      await expect.poll(connection).toMatch(/^No connection\. Showing what was known .*; trying again\.$/);
      const times = Array.from({ length: Math.ceil((ended - began) / 60_000) + 1 }, (_, k) =>
        new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: 'Europe/London' }).format(
          began + 60_000 * k,
        ),
      );
      const said = await connection();
      expect(times.filter((time) => said.includes(time)).length, said).toBeGreaterThan(0);
      await expect
        .poll(async () => {
          const now = new Set(await linesOf());
          return seen
            .get(screen)!
            .filter((text) => !now.has(text) && !elsewhere.test(text) && !missing?.without.test(text));
        })
        .toEqual([]);
      await expect
        .poll(async () => (await alerts()).map((text) => text.startsWith(unreachable)))
        .toEqual(missing === undefined ? [] : [true]);
    },
    180_000,
  );

  it('comes back by itself, with what could not be kept', async () => {
    for (const screen of Object.keys(notKept)) {
      await line.cut();
      await page.goto(at(screen));
      await expect.poll(alerts).toHaveLength(1);
      await line.mend();
      await expect.poll(connection, { timeout: 30_000 }).toBe('Live');
      // a comparison is worked out anew
      await expect.poll(alerts, { timeout: 60_000 }).toEqual([]);
    }
  }, 300_000);

  it('left open while the line breaks: says so on every screen, and for how long', async () => {
    await line.mend();
    await page.clock.install();
    await page.goto(at('section'));
    await expect.poll(connection, { timeout: 30_000 }).toBe('Live');
    await settled(page);
    await line.cut();
    await expect.poll(connection).toMatch(/^No connection\. Showing what was /);
    expect(await page.locator('main [role=alert]').count()).toBe(0);
    await page.clock.fastForward('02:00:00');
    await expect.poll(connection).toMatch(/^No connection\. Showing what was known 2 hours ago \(.*\)/);
    for (const screen of screens) {
      // as the page's own links do: it is not fetched again
      await page.evaluate(
        `history.pushState(null, '', '${addressOf(screen, places)}'); dispatchEvent(new PopStateEvent('popstate'))`,
      );
      await settled(page);
      await expect
        .poll(connection, { message: screen })
        .toMatch(/^No connection\. Showing what was known 2 hours ago \(.*\)/);
      const missing = notKept[screen];
      await expect.poll(async () => (await alerts()).length, { message: screen }).toBe(missing === undefined ? 0 : 1);
    }
    await page.clock.resume();
    await line.mend();
    await expect.poll(connection, { timeout: 30_000 }).toBe('Live');
    await page.close();
  }, 300_000);

  it('has nothing of what was asked for before all was forgotten and came after', async () => {
    const other = await (await browser.newContext({ locale: 'en-GB' })).newPage();
    let isForgotten = false;
    let underWay = 0;
    let release = (): void => undefined;
    const released = new Promise<void>((resolve) => {
      release = resolve;
    });
    await other.route('**/api/v1/dwellings/*/notices*', async (route) => {
      // what is asked for later may be kept, and is none of this
      if (isForgotten) return route.abort();
      underWay++;
      const response = await route.fetch();
      await released;
      await route.fulfill({ response });
    });
    await other.goto(`${demo.address}/settings`);
    await expect.poll(() => underWay).toBeGreaterThan(0);
    await other.getByRole('button', { name: 'Forget what is kept here' }).click();
    await other.getByText('What was kept on this device is gone.').waitFor();
    isForgotten = true;
    const came = other.waitForEvent('requestfinished', (request) => request.url().includes('/notices'));
    release();
    await came;
    // time to keep it
    await other.waitForTimeout(500);
    const kept = (await other.evaluate(
      `caches.open('coomb-answers').then((cache) => cache.keys()).then((keys) => keys.map(({ url }) => url))`,
    )) as string[];
    expect(kept.filter((url) => url.includes('/notices'))).toEqual([]);
    await other.context().close();
  });
});
