import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { Page } from 'playwright-core';
import { chromiumPath, openBrowser, startDemo } from '../browser/demo-home.ts';
import { type BenchRow, within } from './row.ts';

const assets = new URL('../../dist/web/', import.meta.url).pathname;
const FRAME_MS = 1000 / 60;
/** How much slower than this machine the reader's is taken to be. */
const SLOW_DOWN = 4;
const PAN_STEPS = 60;

/** The page on the demo's two winters in a real browser: how fast it opens, draws and moves, and how still it stands. */
export async function benchPage(): Promise<BenchRow[]> {
  if (chromiumPath === null) return [];
  const demo = await startDemo();
  const browser = await openBrowser();
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
    const places = (await (await fetch(`${demo.address}/api/v1/dwellings/thrimble-cottage/places`)).json()) as {
      id: number;
      kind: string;
    }[];
    const loft = `${demo.address}/loft?span=all`;
    const first = await firstScreen(await browser.newPage(), demo.address);
    await page.addInitScript(watchPage);
    await page.goto(loft);
    await page.locator('canvas').nth(3).waitFor({ timeout: 60_000 });
    await page.waitForTimeout(3000);
    const traces = await page.locator('canvas').count();
    const shift = Number(await page.evaluate('window.seen.shift'));
    const draws = await drawTimes(page);
    const moving = await pan(page);
    return [
      within(
        'first screen, from address to its headline',
        first.usableMs,
        1500,
        'ms',
        `processor ${SLOW_DOWN} times slower`,
      ),
      within('first screen, scripts and styles', firstScreenBytes() / 1000, 150, 'kB', 'gzip'),
      within('first screen, layout shift', first.shift, 0.05, ''),
      within('two winters of the loft, layout shift', shift, 0.05, ''),
      within(
        `two winters, ${traces} charts drawn`,
        draws.longest,
        200,
        'ms',
        `longest from choosing a span to the second frame after it; ${places.length} places in the home`,
      ),
      {
        ...within(
          'two winters dragged, tasks of 50 ms and more',
          moving.longTasks,
          1,
          'of them',
          `${moving.frames} frames`,
        ),
        aim: 0,
      },
      {
        ...within(
          'two winters dragged, frames dropped',
          moving.dropped,
          1,
          'of them',
          `of ${moving.frames}; middle one ${moving.median.toFixed(0)} ms, longest ${moving.longest.toFixed(0)} ms`,
        ),
        aim: 0,
      },
    ];
  } finally {
    await browser.close();
    await demo.close();
  }
}

/** Notes long tasks and layout shifts from the start. */
const watchPage = `
  window.seen = { shift: 0, tasks: [] };
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.seen.shift += entry.value;
  }).observe({ type: 'layout-shift', buffered: true });
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) window.seen.tasks.push(entry.duration);
  }).observe({ type: 'longtask', buffered: true });
`;

async function firstScreen(page: Page, address: string): Promise<{ usableMs: number; shift: number }> {
  const session = await page.context().newCDPSession(page);
  await session.send('Emulation.setCPUThrottlingRate', { rate: SLOW_DOWN });
  await page.addInitScript(watchPage);
  // once for the server's own warm-up; the second opening has an empty cache of the browser again
  let usableMs = Number.POSITIVE_INFINITY;
  for (let run = 0; run < 2; run++) {
    await session.send('Network.clearBrowserCache');
    const start = performance.now();
    await page.goto(address);
    await page.locator('h1').first().waitFor();
    await page.locator('.sheet-wide a').first().waitFor();
    usableMs = Math.min(usableMs, performance.now() - start);
  }
  await page.waitForTimeout(1500);
  const shift = Number(await page.evaluate('window.seen.shift'));
  await page.close();
  return { usableMs, shift };
}

/** Scripts and styles that the first screen names or asks for at once, as they go over the wire. */
function firstScreenBytes(): number {
  const html = readFileSync(join(assets, 'index.html'), 'utf8');
  const named = [...html.matchAll(/(?:src|href)="\/(assets\/[^"]+)"/g)].map(([, path]) => path!);
  if (named.length === 0 || readdirSync(join(assets, 'assets')).length === 0) throw new Error('the page is not built');
  return [...named.map((path) => readFileSync(join(assets, path))), Buffer.from(html)]
    .map((file) => gzipSync(file, { level: 9 }).length)
    .reduce((sum, size) => sum + size, 0);
}

/** The longest time from a choice to the second frame after it, while all charts are drawn anew: a span is chosen, with everything loaded already. */
async function drawTimes(page: Page): Promise<{ longest: number }> {
  let longest = 0;
  for (const span of ['this winter', 'all', 'this winter', 'all']) {
    const ms = Number(
      await page.evaluate(`(async () => {
        const label = [...document.querySelectorAll('.spans label')].find((one) => one.textContent.trim() === '${span}');
        const start = performance.now();
        label.querySelector('input').click();
        await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
        return performance.now() - start;
      })()`),
    );
    longest = Math.max(longest, ms);
    await page.waitForTimeout(1500);
  }
  return { longest };
}

/** Drags the charts to and fro and notes every frame. */
async function pan(page: Page) {
  await page.getByRole('button', { name: 'Closer' }).first().click();
  await page.waitForTimeout(1500);
  const box = (await page.locator('canvas').first().boundingBox())!;
  await page.mouse.move(box.x + 500, box.y + 100);
  await page.evaluate(`
    window.seen.tasks = [];
    window.seen.frames = [];
    window.seen.going = true;
    const next = (at) => {
      window.seen.frames.push(at);
      if (window.seen.going) requestAnimationFrame(next);
    };
    requestAnimationFrame(next);
  `);
  await page.mouse.down();
  for (let step = 0; step < PAN_STEPS; step++) {
    await page.mouse.move(box.x + 500 + 300 * Math.sin((step / PAN_STEPS) * 2 * Math.PI), box.y + 100);
    await page.waitForTimeout(FRAME_MS);
  }
  await page.mouse.up();
  const { frames, tasks } = (await page.evaluate('window.seen.going = false, window.seen')) as {
    frames: number[];
    tasks: number[];
  };
  const lengths = frames
    .slice(1)
    .map((at, i) => at - frames[i]!)
    .sort((a, b) => a - b);
  return {
    frames: lengths.length,
    median: lengths[Math.floor(lengths.length / 2)] ?? Number.POSITIVE_INFINITY,
    longest: lengths.at(-1) ?? Number.POSITIVE_INFINITY,
    dropped: lengths.filter((length) => length > 1.5 * FRAME_MS).length,
    longTasks: tasks.length,
  };
}
