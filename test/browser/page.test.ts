import { AxeBuilder } from '@axe-core/playwright';
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Comparison, Estimate } from '../../server/api/contract/comparison.ts';
import type { Dwelling, Phase, Place, Sensor } from '../../server/api/contract/dwelling.ts';
import type { Now, Winters } from '../../server/api/contract/figures.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';
import { asRead, newReader, plain, type Reader, settled } from './reader.ts';

/**
 * The page as people use it: the demo in its own process, Chromium in front of it, every figure held to the API. The
 * reader sits in another time zone than the home, so that the page must be telling the home's time.
 */
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
const own = <T>(path: string): Promise<T> => ask<T>(`/dwellings/${dwelling.slug}${path}`);
const placeOf = (kind: Place['kind']): Place => places.find((place) => place.kind === kind)!;

const fixed = asRead;
/** thousands as en-GB groups them, written independently of the page's own formatter */
const grouped = (value: number): string =>
  Math.round(value)
    .toString()
    .replace(/\B(?=(\d{3})+$)/g, ',');

const open: Reader['open'] = (path, look) => reader.open(path, look);

const screens = () => [
  '/',
  `/place/${placeOf('ceiling-surface').id}`,
  `/place/${placeOf('loft-timber').id}?span=all`,
  '/before-after',
  '/loft',
  '/diary',
  '/sensors',
];

/** Sum of the layout shifts since the page was opened, without those that an input of the reader caused. */
const layoutShift = `new Promise((resolve) => {
  let sum = 0;
  const seen = new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) if (!entry.hadRecentInput) sum += entry.value;
  });
  seen.observe({ type: 'layout-shift', buffered: true });
  setTimeout(() => resolve(sum), 300);
})`;

describe.skipIf(chromiumPath === null)('the page on the demo', () => {
  beforeAll(async () => {
    demo = await startDemo();
    browser = await openBrowser();
    reader = newReader(browser, demo.address);
    dwelling = (await ask<Dwelling[]>('/dwellings'))[0]!;
    places = await own<Place[]>('/places');
  }, 240_000);

  afterEach(async () => {
    await reader.leave();
    expect(reader.troubles()).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it('says on the first screen what the API says of every place, as it changes', async () => {
    const page = await open('/');
    for (const place of places) {
      // Readings keep coming: the page and the API are asked until both have the same one.
      await expect
        .poll(
          async () => {
            const now = await own<Now>('/now');
            const said = now.places.find(({ placeId }) => placeId === place.id)!;
            const shown = plain(await page.locator(`.sheet-wide a[href="/place/${place.id}"]`).textContent());
            const figures = [
              said.temperature && `${fixed(said.temperature.value, 1)}`,
              said.humidity && place.kind !== 'ceiling-surface' && place.kind !== 'control-surface'
                ? fixed(said.humidity.value, 0)
                : null,
              said.margin && place.kind !== 'behind-lining' ? fixed(Math.abs(said.margin.value), 1) : null,
              said.timberMoisture && fixed(said.timberMoisture.value, 1),
            ].filter((text) => text !== null);
            return shown.includes(place.name) && figures.every((figure) => shown.includes(figure));
          },
          { timeout: 30_000 },
        )
        .toBe(true);
    }
    await expect
      .poll(async () => plain(await page.locator('h1').textContent()) === plain((await own<Now>('/now')).headline), {
        timeout: 30_000,
      })
      .toBe(true);
    await expect.poll(async () => plain(await page.locator('.connection').textContent())).toBe('Live');
  });

  it('leads from the first screen to the verdict, with the API’s own figures and their working', async () => {
    const page = await open('/');
    // what the page itself was answered: with the next full hour there is another answer
    const answered = page.waitForResponse((response) => response.url().includes('/comparison?'), { timeout: 50_000 });
    await Promise.all([answered, page.getByRole('link', { name: 'Before & after' }).click()]);
    await page.locator('.factors').waitFor({ timeout: 50_000 });
    const { searchParams } = new URL((await answered).url());
    expect(searchParams.get('surface')).toBe(String(placeOf('ceiling-surface').id));
    expect(searchParams.get('target')).toBe('0.75');
    const { assessment } = (await (await answered).json()) as Comparison;
    expect(assessment.verdict.statement.startsWith(plain(await page.locator('h1').textContent()))).toBe(true);
    const shown = await page.locator('main').textContent();
    for (const reason of assessment.verdict.reasons) expect(plain(shown)).toContain(plain(reason));

    const factors = plain(await page.locator('.factors').textContent());
    for (const phase of [assessment.before, assessment.after]) {
      expect(phase?.f).not.toBeNull();
      const f = phase!.f as Estimate;
      expect(factors).toContain(fixed(f.value, 2));
      // Either end, or the half width where the interval is even.
      const even = fixed(f.high - f.value, 2) === fixed(f.value - f.low, 2);
      expect(factors).toContain(
        even ? `± ${fixed((f.high - f.low) / 2, 2)}` : `${fixed(f.low, 2)} to ${fixed(f.high, 2)}`,
      );
    }
    const avoided = plain(await page.getByRole('row', { name: /^Risk hours/ }).textContent());
    for (const figure of ['before', 'after', 'expectedAfterWithoutWorks', 'avoided'] as const) {
      expect(avoided).toContain(grouped(assessment.riskHours[figure]!.value));
    }

    const working = assessment.working.find(({ figure }) => figure === 'after.f')!;
    await page.locator('.factors .figure-button').nth(1).click();
    const sheet = plain(await page.getByRole('dialog').textContent());
    expect(sheet).toContain('How was this worked out?');
    expect(sheet).toContain(plain(working.formula));
    expect(sheet).toContain(plain(working.source));
    for (const input of working.inputs) expect(sheet).toContain(input.name);
    await page.keyboard.press('Escape');
    await expect.poll(() => page.getByRole('dialog').count()).toBe(0);
  });

  it('adds up the winters as the API does', async () => {
    const surface = placeOf('ceiling-surface');
    const page = await open(`/place/${surface.id}`);
    const { winters } = await own<Winters>(`/places/${surface.id}/winters`);
    expect(winters.length).toBeGreaterThan(1);
    for (const winter of winters.slice(0, -1)) {
      const row = plain(await page.getByRole('row', { name: winter.name }).textContent());
      expect(row).toContain(grouped(winter.riskHours));
      expect(row).toContain(grouped(winter.condensationNights));
    }
  });

  it('lets the ruler be read with the arrow keys', async () => {
    const page = await open(`/place/${placeOf('room-air').id}?span=3d`);
    await page.getByRole('slider').focus();
    await page.keyboard.press('ArrowLeft');
    await page.locator('output').filter({ hasText: '°C' }).waitFor();
    // both of one moment: the hour that runs has another figure with every reading that comes
    const [shown, told] = (await page.evaluate(
      `[document.querySelector('output').textContent, document.activeElement.getAttribute('aria-valuetext')]`,
    )) as [string, string];
    expect(plain(shown)).toMatch(/temperature −?\d+\.\d ± \d\.\d °C/);
    expect(plain(told)).toBe(plain(shown));
  });

  it('can be gone through by keyboard alone: from the skip link to a new phase', async () => {
    const page = await open('/');
    const focused = async () => plain((await page.evaluate('document.activeElement.textContent')) as string);
    const tabTo = async (name: string) => {
      for (let i = 0; i < 80; i++) {
        await page.keyboard.press('Tab');
        if ((await focused()) === name) return;
      }
      throw new Error(`Tab never came to ${name}`);
    };
    await page.keyboard.press('Tab');
    expect(await focused()).toBe('Skip to content');
    await tabTo('Diary');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Diary' }).waitFor();
    await settled(page);
    await tabTo('Add a phase');
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    await page.keyboard.press('Escape');
    await expect.poll(focused).toBe('Add a phase');
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    const name = page.getByLabel('Name');
    await name.focus();
    await page.keyboard.type('Away in spring');
    await page.keyboard.press('Tab');
    await page.keyboard.type('other');
    await page.getByLabel('From').fill('2026-04-02T09:00');
    await page.getByLabel('Until').fill('2026-04-09T18:30');
    await page.getByLabel('Until').press('Enter');
    await page.getByRole('row', { name: /Away in spring/ }).waitFor();
    const phase = (await own<Phase[]>('/phases')).find((each) => each.name === 'Away in spring');
    // British summer time: an hour before what the wall clock says.
    expect(phase).toMatchObject({ kind: 'other', from: '2026-04-02T08:00:00.000Z', to: '2026-04-09T17:30:00.000Z' });
  });

  it('says what is wrong with a phase that ends before it begins, and keeps what was typed', async () => {
    const page = await open('/diary');
    await page.getByRole('button', { name: 'Add a phase' }).click();
    await page.getByLabel('Name').fill('The wrong way round');
    await page.getByLabel('From').fill('2026-05-02T09:00');
    await page.getByLabel('Until').fill('2026-05-01T09:00');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByRole('alert').waitFor();
    expect(plain(await page.getByRole('alert').textContent()).length).toBeGreaterThan(10);
    expect(await page.getByLabel('Name').inputValue()).toBe('The wrong way round');
    expect((await own<Phase[]>('/phases')).some(({ name }) => name === 'The wrong way round')).toBe(false);
    // The refusal itself is in the browser's log; it is what was wanted.
    reader.troubles();
  });

  it('moves a sensor in one action, and keeps where it stood before', async () => {
    const before = await own<Sensor[]>('/sensors');
    const sensor = before.find(({ placements }) => placements.some(({ to }) => to === null))!;
    const page = await open('/sensors');
    await page.getByRole('button', { name: `Move ${sensor.name}` }).click();
    const goal = places.find(({ id }) => id !== sensor.placements.at(-1)!.placeId)!;
    await page.getByRole('dialog').getByLabel('Place').selectOption({ label: goal.name });
    await page.getByRole('button', { name: 'Move it' }).click();
    await page.getByText(`${sensor.name} now stands at ${goal.name}.`).waitFor();
    const after = (await own<Sensor[]>('/sensors')).find(({ id }) => id === sensor.id)!;
    expect(after.placements.length).toBe(sensor.placements.length + 1);
    expect(after.placements.at(-1)).toMatchObject({ placeId: goal.id, to: null });
    expect(after.placements.at(-2)!.to).toBe(after.placements.at(-1)!.from);
  });

  it('lists what was not understood, with the reason', async () => {
    const url = `${demo.address}/api/v1/dwellings/${dwelling.slug}/readings/scratch`;
    const headers = { 'content-type': 'application/json' };
    await fetch(url, { method: 'POST', headers, body: JSON.stringify({ humidity_pct: 300 }) });
    const page = await open('/sensors');
    const row = page.getByRole('row', { name: /scratch/ }).last();
    await row.waitFor();
    expect(plain(await row.textContent())).toContain('300');
  });

  it('says so when the program cannot be reached, and comes back', async () => {
    const page = await open('/diary');
    await page.route('**/api/v1/**', (route) => route.abort());
    await page.getByRole('link', { name: 'Loft' }).click();
    await page.getByRole('alert').first().waitFor();
    expect(plain(await page.getByRole('alert').first().textContent())).toContain('cannot be reached');
    await page.unroute('**/api/v1/**');
    await page.getByRole('button', { name: 'Try again' }).first().click();
    await page.locator('canvas').first().waitFor();
    reader.troubles();
  });

  it('prints the drawing with its values, without the controls', async () => {
    const page = await open('/', { width: 1280, scheme: 'dark' });
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('nav').isVisible()).toBe(false);
    expect(await page.locator('.sheet-narrow svg').isVisible()).toBe(true);
    expect(await page.locator('.values li').count()).toBe(places.length);
    expect(await page.evaluate('getComputedStyle(document.documentElement).backgroundColor')).toBe(
      'rgb(255, 255, 255)',
    );
  });

  it.each([
    { width: 1280, scheme: 'light' },
    { width: 1280, scheme: 'dark' },
    { width: 360, scheme: 'light' },
    { width: 360, scheme: 'dark' },
  ] as const)(
    'stands still while it loads, has no violations that axe can find and nothing beyond the right edge, at $width px, $scheme',
    async (look) => {
      for (const path of screens()) {
        const page = await open(path, look);
        // 0.1 is what Web Vitals calls good; the aim of this page is 0.05.
        const shift = Number(await page.evaluate(layoutShift));
        expect(shift, `layout shift of ${path}`).toBeLessThan(0.05);
        const { violations } = await new AxeBuilder({ page }).analyze();
        expect(
          violations.map(({ id, nodes }) => ({
            path,
            id,
            nodes: nodes.map(({ html, failureSummary }) => ({ html, failureSummary })),
          })),
        ).toEqual([]);
        const beyond = await page.evaluate(
          'Math.max(0, document.documentElement.scrollWidth - document.documentElement.clientWidth)',
        );
        expect({ path, beyond }).toEqual({ path, beyond: 0 });
        await page.context().close();
      }
    },
    300_000,
  );
});
