import { readFileSync } from 'node:fs';
import { AxeBuilder } from '@axe-core/playwright';
import { parse } from 'csv-parse/sync';
import type { Browser, Locator, Page } from 'playwright-core';
import { PNG } from 'pngjs';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Dwelling, Place } from '../../server/api/contract/dwelling.ts';
import type { TrackFigureWire, TrackWire } from '../../server/api/contract/track.ts';
import { chromiumPath, type DemoHome, openBrowser, startStillDemo } from './demo-home.ts';
import { asRead, newReader, plain, type Reader, still } from './reader.ts';

/** The charts of the demo in Chromium, by mouse and by keyboard, every figure held to the API. */
const HOUR = 3_600_000;
const DAY = 24 * HOUR;

let demo: DemoHome;
let browser: Browser;
let reader: Reader;
let dwelling: Dwelling;
let places: Place[];

const ask = async <T>(path: string): Promise<T> => {
  const response = await fetch(`${demo.address}/api/v1${path}`);
  expect(response.status).toBe(200);
  return (await response.json()) as T;
};
const placeOf = (kind: Place['kind']): Place => places.find((place) => place.kind === kind)!;
const fixed = (value: number | null, digits: number): string => (value === null ? '–' : asRead(value, digits));

const iso = (time: number): string => new Date(time).toISOString();
const surfaceAt = (from: number, to: number): string =>
  `/place/${placeOf('ceiling-surface').id}?from=${iso(from)}&to=${iso(to)}`;

/** What the charts show, as it stands in the address once they stand still. */
async function shown(page: Page): Promise<{ from: number; to: number }> {
  await still(page);
  const { searchParams } = new URL(page.url());
  return { from: Date.parse(searchParams.get('from')!), to: Date.parse(searchParams.get('to')!) };
}

async function boxOf(canvas: Locator): Promise<{ x: number; y: number; width: number; height: number }> {
  await canvas.scrollIntoViewIfNeeded();
  return (await canvas.boundingBox())!;
}

/** Room of a chart for the figures of its axis, and beside its last moment, as `charts/plot.tsx` leaves it, px. */
const AXIS = 58;
const RIGHT = 12;

/** Pixels of a chart, device pixels equal to CSS pixels. */
async function pixels(canvas: Locator): Promise<PNG> {
  const text = await canvas.evaluate((one: { toDataURL(type: string): string }) => one.toDataURL('image/png'));
  return PNG.sync.read(Buffer.from(text.split(',')[1]!, 'base64'));
}
const alphaAt = (png: PNG, x: number, y: number): number =>
  png.data[(Math.round(y) * png.width + Math.round(x)) * 4 + 3]!;

/** How much of the width of a chart is filled at a height, by stretches: [from, to) in shares of its axis. */
function filled(png: PNG, y: number): [number, number][] {
  const left = AXIS;
  const right = png.width - RIGHT;
  const out: [number, number][] = [];
  for (let x = left; x < right; x++) {
    if (alphaAt(png, x, y) === 0) continue;
    const share = [(x - left) / (right - left), (x + 1 - left) / (right - left)] as const;
    const last = out.at(-1);
    if (last !== undefined && share[0] - last[1] < 1.5 / (right - left)) last[1] = share[1];
    else out.push([...share]);
  }
  return out;
}

/** The answer of the API to what the page asked for last about a place; null: there is none yet, or it was not waited for. */
function tracksHeard(page: Page, place: Place): { readonly last: () => Promise<TrackWire | null> } {
  let last: Promise<TrackWire | null> = Promise.resolve(null);
  page.on('response', (response) => {
    if (!response.url().includes(`/places/${place.id}/track?`)) return;
    if (!response.url().includes('from=')) return;
    // the page lets go of an answer that is on its way when it has come to want another
    last = response.json().catch(() => null);
  });
  return { last: () => last };
}

const figureOf = (track: TrackWire, figure: TrackFigureWire['figure']): TrackFigureWire =>
  track.figures.find((each) => each.figure === figure)!;
const beginsOf = ({ start, begins }: TrackFigureWire): number[] => begins.map((at) => Date.parse(start) + at * 1000);

describe.skipIf(chromiumPath === null)('the charts of the demo', () => {
  beforeAll(async () => {
    demo = await startStillDemo();
    browser = await openBrowser();
    reader = newReader(browser, demo.address);
    dwelling = (await ask<Dwelling[]>('/dwellings'))[0]!;
    places = await ask<Place[]>(`/dwellings/${dwelling.slug}/places`);
  }, 240_000);

  afterEach(async () => {
    await reader.leave();
    expect(reader.troubles()).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  const from = Date.UTC(2025, 0, 10);
  const to = Date.UTC(2025, 0, 24);

  it('are dragged and zoomed by mouse, and keep in the address what they show', async () => {
    const page = await reader.open(surfaceAt(from, to));
    expect(await shown(page)).toEqual({ from, to });
    const canvas = page.locator('canvas').first();
    const box = await boxOf(canvas);
    const axis = box.width - AXIS - RIGHT;
    const middle = { x: box.x + AXIS + axis / 2, y: box.y + 120 };

    await page.mouse.move(middle.x, middle.y);
    await page.mouse.down();
    await page.mouse.move(middle.x + 60, middle.y, { steps: 4 });
    await page.mouse.move(middle.x + axis / 4, middle.y, { steps: 8 });
    await page.mouse.up();
    const dragged = await shown(page);
    expect(Math.abs(dragged.from - (from - 3.5 * DAY))).toBeLessThan(HOUR);
    expect(dragged.to - dragged.from).toBe(14 * DAY);

    // a quarter from the left: what stands there stays there
    const quarter = dragged.from + 3.5 * DAY;
    await page.mouse.move(box.x + AXIS + axis / 4, middle.y);
    await page.keyboard.down('Control');
    await page.mouse.wheel(0, -200);
    await page.keyboard.up('Control');
    const closer = await shown(page);
    expect(closer.to - closer.from).toBeLessThan(10 * DAY);
    expect(Math.abs(closer.from + (closer.to - closer.from) / 4 - quarter)).toBeLessThan(HOUR);

    await page.keyboard.down('Shift');
    await page.mouse.move(box.x + AXIS + axis * 0.2, middle.y);
    await page.mouse.down();
    await page.mouse.move(box.x + AXIS + axis * 0.6, middle.y, { steps: 5 });
    expect(await page.locator('.choosing').count()).toBeGreaterThan(0);
    await page.mouse.up();
    await page.keyboard.up('Shift');
    const chosen = await shown(page);
    const width = closer.to - closer.from;
    expect(Math.abs(chosen.from - (closer.from + 0.2 * width))).toBeLessThan(HOUR);
    expect(Math.abs(chosen.to - (closer.from + 0.6 * width))).toBeLessThan(HOUR);

    await page.getByRole('button', { name: 'Wider' }).first().click();
    const wider = await shown(page);
    expect(Math.abs((wider.to - wider.from) / (chosen.to - chosen.from) - 2)).toBeLessThan(0.01);
  });

  it('leave the wheel to the page until the reader turns to them', async () => {
    const page = await reader.open(surfaceAt(from, to));
    await still(page);
    const box = await boxOf(page.locator('canvas').first());
    const before = Number(await page.evaluate('scrollY'));
    await page.mouse.move(box.x + box.width / 2, box.y + 100);
    await page.mouse.wheel(0, 300);
    // the wheel is handed on before the page has scrolled
    await expect.poll(() => page.evaluate('scrollY')).toBeGreaterThan(before);
    expect(await shown(page)).toEqual({ from, to });
  });

  it('are moved and zoomed by keyboard alone, as the page says', async () => {
    const page = await reader.open(surfaceAt(from, to));
    const group = page.getByRole('group', { name: 'Charts of this place' });
    await group.focus();
    expect(plain(await page.locator(`[id="${await group.getAttribute('aria-describedby')}"]`).textContent())).toMatch(
      /arrows move, plus and minus zoom, Home and End/,
    );
    await page.keyboard.press('ArrowLeft');
    expect(await shown(page)).toEqual({ from: from - 3.5 * DAY, to: to - 3.5 * DAY });
    await page.keyboard.press('+');
    const closer = await shown(page);
    expect(closer.to - closer.from).toBe(7 * DAY);
    await page.keyboard.press('-');
    expect((await shown(page)).to - (await shown(page)).from).toBe(14 * DAY);
    await page.keyboard.press('Home');
    const { known } = await ask<TrackWire>(
      `/dwellings/${dwelling.slug}/places/${placeOf('ceiling-surface').id}/track?figures=margin&points=2`,
    );
    expect((await shown(page)).from).toBe(Date.parse(known!.from));
    await page.keyboard.press('End');
    expect((await shown(page)).to).toBeGreaterThanOrEqual(Date.parse(known!.to));
  });

  it('are zoomed by two fingers and moved by one', async () => {
    const page = await reader.open(surfaceAt(from, to));
    await still(page);
    const box = await boxOf(page.locator('canvas').first());
    const session = await page.context().newCDPSession(page);
    const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', xs: readonly number[]) =>
      session.send('Input.dispatchTouchEvent', {
        type,
        touchPoints: xs.map((x, id) => ({ x: box.x + AXIS + x * (box.width - AXIS - RIGHT), y: box.y + 100, id })),
      });
    await touch('touchStart', [0.4, 0.6]);
    for (const spread of [0.15, 0.2, 0.25, 0.3]) await touch('touchMove', [0.5 - spread, 0.5 + spread]);
    await touch('touchEnd', []);
    const pinched = await shown(page);
    expect(Math.abs(pinched.to - pinched.from - (14 * DAY) / 3)).toBeLessThan(6 * HOUR);
    expect(Math.abs((pinched.from + pinched.to) / 2 - (from + to) / 2)).toBeLessThan(6 * HOUR);
    await touch('touchStart', [0.5]);
    for (const x of [0.55, 0.6, 0.7, 0.75]) await touch('touchMove', [x]);
    await touch('touchEnd', []);
    const moved = await shown(page);
    expect(Math.abs(pinched.from - moved.from - (pinched.to - pinched.from) / 4)).toBeLessThan(6 * HOUR);
  });

  it('are read at one moment in all of them, and say it in words', async () => {
    const page = await reader.open(`/loft?from=${iso(from)}&to=${iso(to)}`);
    await still(page);
    const canvases = page.locator('canvas');
    expect(await canvases.count()).toBeGreaterThan(3);
    const box = await boxOf(canvases.first());
    const x = box.x + AXIS + (box.width - AXIS - RIGHT) * 0.5;
    await page.mouse.move(x - 5, box.y + 100);
    await page.mouse.move(x, box.y + 100);
    const lines = page.locator('.reading-line');
    await expect
      .poll(async () => {
        const at = await lines.evaluateAll((all: readonly ReadingLine[]) =>
          all.map((one): [boolean, number] => [one.hidden, one.getBoundingClientRect().left]),
        );
        return at.every(([hidden, left]) => !hidden && Math.abs(left - x) < 2);
      })
      .toBe(true);
    const said = (await page.locator('.ruler output').allTextContents()).map(plain);
    expect(said.length).toBeGreaterThan(1);
    for (const each of said) expect(each).toMatch(/^17 Jan 2025, 00:00: /);
    expect(said[0]).toMatch(/Loft air, temperature −?\d+\.\d ± \d\.\d °C/);
    expect(said.at(-1)).toMatch(/timber moisture \d+\.\d/);

    const slider = page.getByRole('slider').first();
    await slider.focus();
    await page.keyboard.press('ArrowRight');
    const next = (await page.locator('.ruler output').allTextContents()).map(plain);
    for (const each of next) expect(each).toMatch(/^17 Jan 2025, 01:00: /);
    expect(plain(await slider.getAttribute('aria-valuetext'))).toBe(next[0]);
  });

  it('have behind each a table that is what the API says, page by page and at the home’s own time', async () => {
    const place = placeOf('ceiling-surface');
    const page = await reader.open('/diary');
    await still(page);
    const heard = tracksHeard(page, place);
    await page.goto(demo.address + surfaceAt(from, to));
    await expect.poll(async () => (await heard.last())?.figures.length ?? 0).toBe(3);
    await still(page);
    const track = (await heard.last())!;
    for (const [figure, title, digits] of [
      ['margin', 'Dew-point margin', 1],
      ['temperature', 'Temperature', 1],
    ] as const) {
      await page.getByText(`The values as a table: ${title}`).click();
      const table = page.getByRole('region', { name: `The values as a table: ${title}` });
      const section = page.locator('details', { has: table });
      const api = figureOf(track, figure);
      const begins = beginsOf(api);
      const inside = begins.flatMap((begin, i) =>
        (api.kind === 'readings' ? begin >= from : (begins[i + 1] ?? Number.POSITIVE_INFINITY) > from) && begin < to
          ? [i]
          : [],
      );
      const clock = new Intl.DateTimeFormat('en-GB', {
        timeZone: dwelling.zone,
        day: 'numeric',
        month: 'short',
        year: 'numeric',
        hour: '2-digit',
        minute: '2-digit',
      });
      const expected = inside.map((i) => [
        clock.format(begins[i]!),
        fixed(api.mean[i]!, digits),
        fixed(api.min[i]!, digits),
        fixed(api.max[i]!, digits),
        fixed(api.plusMinus[i]!, digits),
      ]);
      const read = (): Promise<string[][]> =>
        table
          .locator('tbody tr')
          .evaluateAll((rows: readonly TableRow[]) =>
            rows.map((row) => Array.from(row.children, (cell) => cell.textContent)),
          );
      const pages = Math.ceil(expected.length / 48);
      expect(pages).toBeGreaterThan(2);
      await expect.poll(read).toEqual(expected.slice(0, 48));
      await section.getByRole('button', { name: 'Page after' }).click();
      expect(plain(await section.getByRole('status').textContent())).toBe(`Page 2 of ${pages}`);
      await expect.poll(read).toEqual(expected.slice(48, 96));
      await section.getByRole('button', { name: 'Last page' }).click();
      await expect.poll(read).toEqual(expected.slice((pages - 1) * 48));
    }
  });

  it('are saved as values, as a picture and as a drawing that are what they say', async () => {
    const place = placeOf('ceiling-surface');
    const page = await reader.open(surfaceAt(from, to));
    await still(page);
    const saved = async (name: string) => {
      const waiting = page.waitForEvent('download');
      await page.getByRole('button', { name: `${name}: Dew-point margin` }).click();
      const download = await waiting;
      return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
    };

    const csv = await saved('Save values (CSV)');
    expect(csv.name).toBe('sloping-ceiling-near-the-eaves-dew-point-margin-2025-01-10.csv');
    const rows: string[][] = parse(csv.bytes.toString('utf8'));
    expect(rows[0]).toEqual([
      'time UTC',
      'margin, mean (K)',
      'margin, lowest (K)',
      'margin, highest (K)',
      'margin, ± (K)',
      'margin, readings or hours',
    ]);
    const api = figureOf(
      await ask<TrackWire>(
        `/dwellings/${dwelling.slug}/places/${place.id}/track?figures=margin&from=${iso(from)}&to=${iso(to)}&points=20000`,
      ),
      'margin',
    );
    expect(rows.slice(1).map(([time]) => Date.parse(time!))).toEqual(beginsOf(api));
    expect(rows.length - 1).toBe(14 * 24);
    rows.slice(1).forEach((row, i) => {
      for (const [cell, value] of [
        [row[1], api.mean[i]],
        [row[2], api.min[i]],
        [row[4], api.plusMinus[i]],
      ] as const) {
        if (value === null) expect(cell).toBe('');
        else expect(Math.abs(Number(cell) - value!)).toBeLessThanOrEqual(5e-6 * Math.abs(value!) + 1e-12);
      }
    });

    const picture = await saved('Save picture (PNG)');
    const png = PNG.sync.read(picture.bytes);
    expect([png.width, png.height]).toEqual([2000, 848]);
    const inks = new Set<number>();
    for (let k = 0; k < png.data.length; k += 4) inks.add(png.data.readUInt32BE(k));
    expect(inks.size).toBeGreaterThan(50);

    const drawing = await saved('Save drawing (SVG)');
    const svg = drawing.bytes.toString('utf8');
    const faults = await page.evaluate(
      `(() => {
        const parsed = new DOMParser().parseFromString(${JSON.stringify(svg)}, 'image/svg+xml');
        return {
          error: parsed.querySelector('parsererror')?.textContent ?? null,
          root: parsed.documentElement.tagName,
          text: [...parsed.querySelectorAll('text')].map((text) => text.textContent),
          longest: Math.max(...[...parsed.querySelectorAll('path')].map((path) => path.getAttribute('d').split('L').length)),
        };
      })()`,
    );
    expect(faults).toMatchObject({ error: null, root: 'svg' });
    const { text, longest } = faults as { text: string[]; longest: number };
    expect(text.some((each) => each.startsWith('Dew-point margin'))).toBe(true);
    expect(text).toContain('dew point: wet at and below this line');
    // the line of the mean: a corner an hour, less the hours that are not known
    expect(longest).toBeGreaterThan(100);
    expect(svg).not.toContain('<image');
  });

  it('leave a gap where nothing was measured', async () => {
    // the radio was away from 3 March 2025 09:00 to 4 March 16:00, says the scenario of the sample
    const [begin, end] = [Date.UTC(2025, 2, 1), Date.UTC(2025, 2, 7)];
    const page = await reader.open(surfaceAt(begin, end));
    const temperature = page.locator('canvas').nth(2);
    // a chart out of sight is drawn when it comes into sight
    await boxOf(temperature);
    await still(page);
    const png = await pixels(temperature);
    const share = (time: number): number => (time - begin) / (end - begin);
    const inked = (time: number): boolean => {
      const x = Math.round(AXIS + share(time) * (png.width - AXIS - RIGHT));
      // the ink of a line is denser than that of nights, bands and grids
      for (let y = 30; y < png.height - 32; y++) if (alphaAt(png, x, y) > 175) return true;
      return false;
    };
    const hours = Array.from({ length: 6 * 24 - 2 }, (_, i) => begin + (i + 1) * HOUR);
    const known = hours.filter((time) => time < Date.UTC(2025, 2, 3, 8) || time > Date.UTC(2025, 2, 4, 18));
    const away = hours.filter((time) => time > Date.UTC(2025, 2, 3, 11) && time < Date.UTC(2025, 2, 4, 14));
    expect(known.filter(inked).length).toBeGreaterThan(0.9 * known.length);
    expect(away.filter(inked).length).toBe(0);
    await page.mouse.move(...(await middleOfGap(temperature, share(Date.UTC(2025, 2, 4, 2)))));
    await expect
      .poll(async () => plain(await page.locator('.ruler output').first().textContent()))
      .toMatch(/temperature not known/);
  });

  it.each([
    // clocks in the United Kingdom change at 01:00 UTC on the last Sundays of March and October
    ['forward', Date.UTC(2026, 2, 28, 12), 13],
    ['back', Date.UTC(2025, 9, 25, 12), 15],
  ])('shade the night in which the clocks go %s as long as it is', async (_name, noon, hours) => {
    const page = await reader.open(surfaceAt(noon, noon + DAY));
    const canvas = page.locator('canvas').first();
    await boxOf(canvas);
    await still(page);
    const png = await pixels(canvas);
    // a row of pixels that no line of the chart crosses is shaded by the night alone
    const rows = Array.from({ length: png.height - 70 }, (_, i) => filled(png, i + 26));
    const night = rows.filter((row) => row.length === 1).sort((a, b) => width(a) - width(b))[0]![0]!;
    expect(Math.abs((night[1] - night[0]) * 24 - hours)).toBeLessThan(0.15);
    // 18:00 local time: 18:00 UTC before the clocks go forward, 17:00 UTC before they go back
    const dusk = hours === 13 ? 6 : 5;
    expect(Math.abs(night[0] * 24 - dusk)).toBeLessThan(0.15);
  });

  it('stay where the reader is when something new arrives', async () => {
    const page = await reader.open(surfaceAt(from, to));
    await page.getByText('The values as a table: Dew-point margin').click();
    await page.getByRole('button', { name: 'Page after' }).first().click();
    await still(page);
    await page.locator('.connection.is-live').waitFor();
    const before = await page.locator('.figures-table').first().textContent();
    const at = await page.evaluate('scrollY');
    const heard = page.waitForResponse((response) => response.url().includes('/phases'));
    await fetch(`${demo.address}/api/v1/dwellings/${dwelling.slug}/diary`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ time: '2025-01-15T10:00:00Z', kind: 'window open', text: 'Left on the latch' }),
    });
    await heard;
    await page.getByText('Left on the latch').first().waitFor();
    expect(await shown(page)).toEqual({ from, to });
    expect(await page.locator('.figures-table').first().textContent()).toBe(before);
    expect(await page.evaluate('scrollY')).toBe(at);
  });

  it('have a span that is chosen by name, and say in words what is shown', async () => {
    const page = await reader.open(`/place/${placeOf('room-air').id}`);
    expect(await page.getByLabel('2 weeks').isChecked()).toBe(true);
    await page.getByLabel('all').check();
    await expect
      .poll(async () => plain(await page.locator('.shown').first().textContent()))
      .toMatch(/^Shown: 1 Oct 2024, /);
    expect(new URL(page.url()).searchParams.get('span')).toBe('all');
    await page.getByRole('button', { name: 'Closer' }).first().click();
    await shown(page);
    const { searchParams } = new URL(page.url());
    expect(searchParams.get('span')).toBeNull();
    expect(await page.getByLabel('all').isChecked()).toBe(false);
  });

  it.each([
    { width: 1280, scheme: 'light' },
    { width: 360, scheme: 'dark' },
  ] as const)(
    'have nothing that axe can find, and nothing beyond the edge, with everything open, at $width px',
    async (look) => {
      const page = await reader.open(`/loft?from=${iso(from)}&to=${iso(to)}`, look);
      await still(page);
      for (const summary of await page.locator('main details > summary').all()) await summary.click();
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => ({ id, nodes: nodes.map(({ html }) => html) }))).toEqual([]);
      expect(
        await page.evaluate('Math.max(0, document.documentElement.scrollWidth - document.documentElement.clientWidth)'),
      ).toBe(0);
    },
  );
});

/** What is asked of elements of the page; the tests are compiled without the browser's own types. */
interface ReadingLine {
  readonly hidden: boolean;
  getBoundingClientRect(): { readonly left: number };
}
interface TableRow {
  readonly children: ArrayLike<{ readonly textContent: string }>;
}

const width = (row: [number, number][]): number => row[0]![1] - row[0]![0];

async function middleOfGap(canvas: Locator, share: number): Promise<[number, number]> {
  const box = await boxOf(canvas);
  return [box.x + AXIS + share * (box.width - AXIS - RIGHT), box.y + 100];
}
