import type { AddressInfo } from 'node:net';
import express from 'express';
import { pino } from 'pino';
import type { Browser, BrowserContext, Page, Route } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { type ProblemCode, problemHandler, RequestProblem } from '../../server/api/problem.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { plain, settled, still, watchTraffic } from './reader.ts';

/**
 * What every screen shows when not all is well: while answers are on their way, when the program refuses, and when it
 * cannot be reached.
 * The answers are delayed, cut off, or what the program's own last stop for errors says, recorded from it here.
 */
let demo: DemoHome;
let browser: Browser;
let places: { id: number; kind: never }[];
let context: BrowserContext | null = null;

const kinds = everyScreen.filter((screen) => !screen.startsWith('the story') || screen.endsWith('ceiling-surface'));
/** Screens that are there without asking the home for anything: what they ask comes with what is done on them. */
const asksNothing: readonly string[] = ['nowhere', 'importing', 'placing'];
const asking = kinds.filter((screen) => !asksNothing.includes(screen));

/** Everything but which homes there are and whether a passphrase is wanted: the frame of the page stands. */
const ofTheScreen = (url: URL): boolean =>
  url.pathname.startsWith('/api/v1/') && !/^\/api\/v1\/(dwellings|access)$/.test(url.pathname);

interface Recorded {
  readonly status: number;
  readonly contentType: string;
  readonly body: string;
}
const recorded = new Map<ProblemCode, Recorded>();

/** What the program itself answers to these errors, from its own last stop for them. */
async function record(codes: Readonly<Record<string, ProblemCode>>): Promise<void> {
  const app = express();
  for (const [detail, code] of Object.entries(codes))
    app.get(`/${code}`, () => {
      throw new RequestProblem(code, detail);
    });
  app.use(problemHandler(pino({ level: 'silent' })));
  const server = app.listen(0, '127.0.0.1');
  await new Promise((resolve) => server.once('listening', resolve));
  const { port } = server.address() as AddressInfo;
  for (const code of Object.values(codes)) {
    const answer = await fetch(`http://127.0.0.1:${port}/${code}`);
    recorded.set(code, {
      status: answer.status,
      contentType: answer.headers.get('content-type')!,
      body: await answer.text(),
    });
  }
  await new Promise((resolve) => server.close(resolve));
}

const answerWith = (code: ProblemCode) => (route: Route) => route.fulfill(recorded.get(code)!);

async function newPage(): Promise<Page> {
  context = await browser.newContext({ locale: 'en-GB', timezoneId: 'Europe/London', reducedMotion: 'reduce' });
  return context.newPage();
}

const alertOf = async (page: Page): Promise<string> => {
  await page.locator('main [role=alert]').first().waitFor();
  return plain(await page.locator('main').textContent());
};

describe.skipIf(chromiumPath === null)('the states of every screen', () => {
  beforeAll(async () => {
    await record({
      'The disk is full.': 'storage-unavailable',
    });
    demo = await startDemo();
    browser = await openBrowser();
    const [home] = (await (await fetch(`${demo.address}/api/v1/dwellings`)).json()) as { slug: string }[];
    places = (await (await fetch(`${demo.address}/api/v1/dwellings/${home!.slug}/places`)).json()) as typeof places;
  }, 180_000);

  afterEach(async () => {
    await context?.close();
    context = null;
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  const at = (screen: string): string => demo.address + addressOf(screen, places)!;

  it.each(asking)('%s, loading: says so, and shows what comes in the same place', async (screen) => {
    const page = await newPage();
    let release = (): void => undefined;
    const released = new Promise<void>((resolve) => {
      release = resolve;
    });
    await page.route(ofTheScreen, async (route) => {
      await released;
      await route.continue().catch(() => undefined);
    });
    await page.goto(at(screen));
    await page.locator('main .waiting').first().waitFor();
    expect(plain(await page.locator('main .waiting').first().textContent())).not.toBe('');
    expect(await page.locator('main [role=alert]').count()).toBe(0);
    release();
    await settled(page);
    expect(await page.locator('main [role=alert]').count()).toBe(0);
  });

  it.each(asking)(
    '%s, refused: says why, and comes when it is asked again',
    async (screen) => {
      const page = await newPage();
      watchTraffic(page);
      await page.route(ofTheScreen, answerWith('storage-unavailable'));
      // a page that is told of things again asks for everything by itself: here it is asked
      await page.route('**/dwellings/*/live**', (route) => route.abort());
      await page.goto(at(screen));
      expect(await alertOf(page)).toContain('The disk is full.');
      // a refusal that came after a press would not be answered by it
      await still(page);
      await page.unroute(ofTheScreen);
      const alerts = (): Promise<number> => page.locator('main [role=alert]').count();
      for (let left = await alerts(); left > 0; left = await alerts()) {
        // one press may ask for several things: what it asked for may come while the next button is reached for
        await page
          .getByRole('button', { name: 'Try again' })
          .first()
          .click()
          .catch(async (error: unknown) => {
            if ((await alerts()) >= left) throw error;
          });
        await expect.poll(alerts).toBeLessThan(left);
        await settled(page);
      }
      expect(await page.locator('main [role=alert]').count()).toBe(0);
    },
    240_000,
  );

  it.each(asking)('%s, offline and never seen before: says that the program cannot be reached', async (screen) => {
    const page = await newPage();
    await page.route(ofTheScreen, (route) => route.abort());
    await page.goto(at(screen));
    expect(await alertOf(page)).toContain('cannot be reached');
  });

  it('a screen comes, though readings come more often than the program answers', async () => {
    const page = await newPage();
    // as on a small computer at work: an answer takes longer than the page waits between two readings
    await page.route('**/now', async (route) => {
      await new Promise((resolve) => setTimeout(resolve, 4000));
      await route.continue().catch(() => undefined);
    });
    const [home] = (await (await fetch(`${demo.address}/api/v1/dwellings`)).json()) as { slug: string }[];
    const url = `${demo.address}/api/v1/dwellings/${home!.slug}/readings/bench`;
    let isOpen = true;
    const sending = (async () => {
      for (; isOpen; await new Promise((resolve) => setTimeout(resolve, 250)))
        await fetch(url, { method: 'POST', body: JSON.stringify([{ time: Date.now(), temperature_c: 20 }]) });
    })();
    try {
      await page.goto(at('section'));
      await page.locator('.building').first().waitFor();
    } finally {
      isOpen = false;
      await sending;
    }
  });
});
