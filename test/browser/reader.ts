import type { Browser, BrowserContext, Page, Request } from 'playwright-core';
import { expect } from 'vitest';

/** How a reader looks at the page. */
export interface Look {
  readonly width: number;
  readonly scheme: 'light' | 'dark';
}

/**
 * A number as a British reader is shown it. Rounded as people do, halves away from nought, on the decimal that was
 * measured: 17.15 to 17.2, where toFixed takes the binary number just below it to 17.1.
 */
export const asRead = (value: number, digits: number): string =>
  new Intl.NumberFormat('en-GB', {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
    useGrouping: false,
    signDisplay: 'negative',
  })
    .format(value)
    .replace('-', '−');

export const desk: Look = { width: 1280, scheme: 'light' };

/** Someone who reads the page in another time zone than the home, so that the page must be telling the home's time. */
export interface Reader {
  open(path: string, look?: Look): Promise<Page>;
  /** What went wrong in the page itself: script errors, refused resources, requests to other hosts. Emptied when asked. */
  troubles(): string[];
  /** Closes every page that was opened. */
  leave(): Promise<void>;
}

export function newReader(browser: Browser, address: string): Reader {
  const contexts: BrowserContext[] = [];
  const troubles: string[] = [];
  return {
    async open(path, look = desk) {
      const context = await browser.newContext({
        viewport: { width: look.width, height: 800 },
        colorScheme: look.scheme,
        locale: 'en-GB',
        timezoneId: 'America/New_York',
        acceptDownloads: true,
      });
      contexts.push(context);
      const page = await context.newPage();
      watchTraffic(page);
      page.on('pageerror', (error) => troubles.push(error.message));
      page.on('console', (message) => {
        if (message.type() === 'error') troubles.push(message.text());
      });
      page.on('request', (request) => {
        if (!request.url().startsWith(address) && !request.url().startsWith('blob:')) {
          troubles.push(`asked ${request.url()}`);
        }
      });
      await page.goto(address + path);
      await settled(page);
      return page;
    },
    troubles: () => troubles.splice(0),
    async leave() {
      await Promise.all(contexts.splice(0).map((context) => context.close()));
    },
  };
}

interface Traffic {
  readonly open: Set<Request>;
  /** grows with every request and with every answer */
  changes: number;
}
const traffic = new WeakMap<Page, Traffic>();

/** For {@link still} and {@link answered}, where a page is opened otherwise than by a reader. */
export function watchTraffic(page: Page): void {
  const seen: Traffic = { open: new Set(), changes: 0 };
  traffic.set(page, seen);
  const ended = (request: Request): void => {
    if (seen.open.delete(request)) seen.changes += 1;
  };
  page.on('request', (request) => {
    // live updates stay open for as long as the page does
    if (request.resourceType() === 'eventsource') return;
    seen.open.add(request);
    seen.changes += 1;
  });
  page.on('requestfinished', ended);
  page.on('requestfailed', ended);
}

/**
 * Half a second of the page's own time, in which it draws: one that is busy for as long has not come to what it would do
 * then, such as asking for more.
 */
const aWhile = `(async () => {
  for (let k = 0; k < 10; k++) await new Promise((done) => setTimeout(() => requestAnimationFrame(done), 50));
  await new Promise((done) => requestAnimationFrame(done));
})()`;

/** The page has asked for nothing for half a second, has every answer, and has drawn it. */
export async function still(page: Page): Promise<void> {
  const seen = traffic.get(page)!;
  await expect
    .poll(
      async () => {
        const before = seen.changes;
        await page.evaluate(aWhile);
        return seen.open.size === 0 && seen.changes === before;
      },
      { timeout: 50_000, interval: 50 },
    )
    .toBe(true);
}

/** What the page has asked for by now has been answered. For pages on which it is never quiet, as sensors report. */
export async function answered(page: Page): Promise<void> {
  const { open } = traffic.get(page)!;
  const asked = [...open];
  await expect.poll(() => asked.filter((request) => open.has(request)).length, { timeout: 50_000 }).toBe(0);
}

/** Nothing on the screen says that it is still loading. */
export async function settled(page: Page): Promise<void> {
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 50_000, interval: 100 }).toBe(0);
}

/** Text as a reader takes it in: any white space is a space. */
export const plain = (text: string | null): string => (text ?? '').replace(/[\s\u00a0]+/g, ' ').trim();
