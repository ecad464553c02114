import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Place } from '../../server/api/contract/dwelling.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';
import { addressOf, everyScreen } from './every-screen.ts';
import { settled } from './reader.ts';

/**
 * What is printed, and what readers see who chose colours for their whole system. Widths of paper: ISO 216 (A4, 210 mm) and
 * US Letter (8.5 in), at 96 CSS px to the inch (CSS Values 4, 6.2), with the style's own margins of 14 mm.
 */
const MM = 96 / 25.4;
const papers = { A4: 210 * MM, Letter: 8.5 * 96 } as const;
const MARGIN = 14 * MM;

const printed = [
  'section',
  'tonight',
  'before-after',
  'loft',
  'lining',
  'diary',
  'notices',
  'forecast-score',
  'sensors',
  'evidence',
  'settings',
  'portfolio',
  'the story of a place, ceiling-surface',
];
const screens = everyScreen.filter((screen) => !screen.startsWith('the story') || screen.endsWith('ceiling-surface'));
const withCharts = ['before-after', 'loft', 'the story of a place, ceiling-surface'];

/** What is on the paper that should not be, by what it says. */
const pressed = `[...document.querySelectorAll('nav, button:not(.figure-button), input[type=file], dialog, .ruler')]
  .filter((one) => one.getClientRects().length > 0).map((one) => one.outerHTML.slice(0, 80))`;

/** Links that are seen as such, and text that is nothing but ways elsewhere; names and figures of places are of use on paper. */
const ways = `(() => {
  const links = [...document.querySelectorAll('a[href]')].filter((one) => one.getClientRects().length > 0 && !one.closest('.unseen'));
  const coloured = links.filter((one) => {
    const { color, textDecorationLine } = getComputedStyle(one);
    return textDecorationLine !== 'none' || color !== getComputedStyle(one.parentElement).color;
  });
  const onlyWays = links.filter((one) => !one.matches('[href*="/place/"], th a')).map((one) => one.closest('p, li, dd, td, div, section'))
    .filter((block) => {
      const rest = block.cloneNode(true);
      for (const link of rest.querySelectorAll('a')) link.remove();
      return !/[\\p{L}\\d]/u.test(rest.textContent) && !block.querySelector('img');
    });
  return [...coloured, ...onlyWays].map((one) => one.outerHTML.slice(0, 120));
})()`;

/** What reaches beyond the sheet. */
const beyond = `(() => {
  const edge = document.body.getBoundingClientRect().right;
  return [...document.querySelectorAll('body *')].filter((one) => one.getClientRects().length > 0
    && !one.closest('.unseen, [clip-path]') && one.getBoundingClientRect().right > edge + 1).map((one) => one.outerHTML.slice(0, 120));
})()`;

/** Relative luminance (WCAG 2.2) of the ink of every piece of text that is seen, with the text. */
const inks = `(() => {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const luminance = (colour) => {
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    const [r, g, b] = [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3)
      .map((part) => part / 255).map((part) => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const out = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const on = texts.currentNode.parentElement;
    if (texts.currentNode.data.trim() === '' || on.getClientRects().length === 0 || on.closest('.unseen, script')) continue;
    const style = getComputedStyle(on);
    out.push([luminance(on.closest('svg') ? style.fill : style.color), texts.currentNode.data.trim().slice(0, 40)]);
  }
  return out;
})()`;

let demo: DemoHome;
let browser: Browser;
let places: Place[];
let context: BrowserContext | null = null;

async function open(screen: string, look: Parameters<Browser['newContext']>[0]): Promise<Page> {
  context = await browser.newContext({
    locale: 'en-GB',
    timezoneId: 'Europe/London',
    reducedMotion: 'reduce',
    ...look,
  });
  const page = await context.newPage();
  await page.goto(demo.address + addressOf(screen, places));
  await settled(page);
  return page;
}

/** The page has drawn itself, and been told what changed of how it is shown. */
const twoFrames = (page: Page): Promise<unknown> =>
  page.evaluate('new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(null))))');

/** As a dark page is printed: the width of the sheet decides the layout, the margins what there is room for. */
async function onPaper(screen: string, width: number): Promise<Page> {
  const page = await open(screen, { viewport: { width: Math.round(width), height: 1100 }, colorScheme: 'dark' });
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  await page.evaluate(`document.body.style.width = '${width - 2 * MARGIN}px'`);
  // the page is told with the next picture of it that it is printed, and draws its charts then
  await twoFrames(page);
  await expect
    .poll(() => page.evaluate(`document.querySelectorAll('.over-plot:not(:has(.on-paper svg))').length`))
    .toBe(0);
  return page;
}

describe.skipIf(chromiumPath === null)('paper, and colours of the system', () => {
  beforeAll(async () => {
    demo = await startDemo();
    browser = await openBrowser();
    const [home] = (await (await fetch(`${demo.address}/api/v1/dwellings`)).json()) as { slug: string }[];
    places = (await (await fetch(`${demo.address}/api/v1/dwellings/${home!.slug}/places`)).json()) as Place[];
  });

  afterEach(async () => {
    await context?.close();
    context = null;
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it.each(printed)(
    '%s: is printed in dark ink on white, within A4 and US Letter, without anything to press',
    async (screen) => {
      const page = await onPaper(screen, papers.A4);
      expect(await page.evaluate(pressed)).toEqual([]);
      expect(await page.evaluate(beyond)).toEqual([]);
      await page.evaluate(`document.body.style.width = '${papers.Letter - 2 * MARGIN}px'`);
      expect(await page.evaluate(beyond)).toEqual([]);
      const seen = (await page.evaluate(inks)) as [number, string][];
      expect(seen.length).toBeGreaterThan(3);
      // 4.5 to 1 against white (WCAG 2.2, 1.4.3): a luminance of at most 1.05 / 4.5 - 0.05
      expect(seen.filter(([luminance]) => luminance > 1.05 / 4.5 - 0.05)).toEqual([]);
    },
  );

  it.each(screens)(
    '%s: what leads to another screen is text on paper, and nothing is there only to lead there',
    async (screen) => {
      const page = await onPaper(screen, papers.A4);
      expect(await page.evaluate(ways)).toEqual([]);
    },
  );

  it.each(withCharts)(
    '%s: every chart is drawn anew for the paper, as wide as it, its lines told apart without colour',
    async (screen) => {
      const page = await onPaper(screen, papers.A4);
      const charts = await page.locator('.over-plot').count();
      expect(charts).toBeGreaterThan(0);
      await expect.poll(() => page.locator('.on-paper svg').count()).toBe(charts);
      expect(await page.locator('.plot canvas:visible').count()).toBe(0);
      const drawn = (await page.evaluate(`[...document.querySelectorAll('.on-paper svg')].map((svg) => ({
        wide: svg.getBoundingClientRect().width / svg.parentElement.getBoundingClientRect().width,
        avoids: getComputedStyle(svg.closest('figure')).breakInside,
        lines: [...svg.querySelectorAll('path[stroke-width]')].filter((path) => Number(path.getAttribute('stroke-width')) >= 1.5)
          .map((path) => [path.getAttribute('stroke'), path.getAttribute('stroke-width') + ' ' + (path.getAttribute('stroke-dasharray') ?? '')]),
      }))`)) as { wide: number; avoids: string; lines: [string, string][] }[];
      for (const { wide, avoids, lines } of drawn) {
        expect(wide).toBeCloseTo(1, 2);
        expect(avoids).toBe('avoid');
        expect(lines.length).toBeGreaterThan(0);
        // no two colours share a width and a dash
        const byForm = new Map<string, Set<string>>();
        for (const [ink, form] of lines) byForm.set(form, (byForm.get(form) ?? new Set()).add(ink));
        expect([...byForm].filter(([, of]) => of.size > 1)).toEqual([]);
      }
      await page.emulateMedia({ media: 'screen' });
      await expect.poll(() => page.locator('.on-paper svg').count()).toBe(0);
      expect(await page.locator('.plot canvas:visible').count()).toBe(charts);
    },
  );

  it('a table repeats its head on every sheet, and a heading stays with what it heads', async () => {
    const page = await onPaper('sensors', papers.A4);
    expect(
      await page.evaluate(`[...document.querySelectorAll('thead')].map((head) => getComputedStyle(head).display)`),
    ).toEqual(['table-header-group', 'table-header-group']);
    expect(
      await page.evaluate(`[...document.querySelectorAll('main h2')].filter((one) => one.getClientRects().length > 0)
        .map((one) => getComputedStyle(one).breakAfter)`),
    ).not.toContain('auto');
  });

  it.each(['light', 'dark'] as const)(
    'in colours of the system, %s, charts and drawings are drawn in them, whatever was chosen for this page',
    async (colorScheme) => {
      // chosen for the page against what the system has: its own ink would vanish there
      const page = await open('loft', { viewport: { width: 1280, height: 1000 }, forcedColors: 'active', colorScheme });
      const other = colorScheme === 'light' ? 'dark' : 'light';
      await page.evaluate(`document.documentElement.dataset.theme = '${other}'`);
      // what changes back before the next frame is no change to the page
      await page.emulateMedia({ forcedColors: 'none' });
      await twoFrames(page);
      await page.emulateMedia({ forcedColors: 'active' });
      const named = `(() => {
        const probe = document.body.appendChild(document.createElement('i'));
        const of = (name) => { probe.style.color = name; return getComputedStyle(probe).color; };
        const out = [of('CanvasText'), of('LinkText'), of('Canvas')];
        probe.remove();
        return out.map((colour) => colour.match(/\\d+/g).slice(0, 3).join());
      })()`;
      const [ink, accent, paper] = (await page.evaluate(named)) as [string, string, string];
      const painted = `(() => {
        const canvas = document.querySelector('.plot canvas');
        const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
        const count = {};
        for (let i = 0; i < data.length; i += 4) if (data[i + 3] === 255) {
          const key = [data[i], data[i + 1], data[i + 2]].join();
          count[key] = (count[key] ?? 0) + 1;
        }
        return count;
      })()`;
      await expect
        .poll(async () => ((await page.evaluate(painted)) as Record<string, number>)[accent] ?? 0)
        .toBeGreaterThan(200);
      expect(((await page.evaluate(painted)) as Record<string, number>)[ink] ?? 0).toBeGreaterThan(200);
      expect(ink).not.toBe(paper);

      await page.goto(`${demo.address}/`);
      await settled(page);
      await page.evaluate(`document.documentElement.dataset.theme = '${other}'`);
      const stroke = `getComputedStyle(document.querySelector('.building .ink')).stroke.match(/\\d+/g).slice(0, 3).join()`;
      expect(await page.evaluate(stroke)).toBe(ink);
      // where one is, among the screens, is told by a line that the others do not have
      const borders =
        (await page.evaluate(`[...document.querySelectorAll('header nav a, .masthead nav a')].map((link) =>
        [link.hasAttribute('aria-current'), getComputedStyle(link).borderBottomColor.match(/\\d+/g).slice(0, 3).join() === '${paper}'])`)) as [
          boolean,
          boolean,
        ][];
      expect(borders.filter(([current]) => current)).toEqual([[true, false]]);
      expect(borders.filter(([current, unseen]) => !current && !unseen)).toEqual([]);

      await page.goto(`${demo.address}/portfolio`);
      await settled(page);
      const grounds = (await page.evaluate(`[...document.querySelectorAll('.conditions button')].map((button) =>
        [button.getAttribute('aria-pressed'), getComputedStyle(button).backgroundColor])`)) as [string, string][];
      const chosen = grounds.filter(([is]) => is === 'true').map(([, ground]) => ground);
      expect(chosen).toHaveLength(1);
      expect(grounds.filter(([is]) => is === 'false').map(([, ground]) => ground)).not.toContain(chosen[0]);
    },
    180_000,
  );
});
