import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import type { Dwelling, Place } from '../../server/api/contract/dwelling.ts';
import type { Advices, Now } from '../../server/api/contract/figures.ts';
import type { MatchedNights, Night } from '../../server/api/contract/played-night.ts';
import type { Tonight } from '../../server/api/contract/tonight.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo, startEmpty } from './demo-home.ts';
import { asRead } from './reader.ts';

/** The drawn section and Tonight, by mouse and keyboard, held to the API. The reader is in another time zone. */
let demo: DemoHome;
let browser: Browser;
let dwelling: Dwelling;
let places: Place[];
const contexts: BrowserContext[] = [];
const troubles: string[] = [];

const ask = async <T>(path: string): Promise<T> => {
  const response = await fetch(`${demo.address}/api/v1${path}`);
  expect(response.status, path).toBe(200);
  return (await response.json()) as T;
};
const own = <T>(path: string): Promise<T> => ask<T>(`/dwellings/${dwelling.slug}${path}`);
const plain = (text: string | null): string => (text ?? '').replace(/[\s\u00a0]+/g, ' ').trim();
const fixed = asRead;

async function open(
  path: string,
  options: BrowserContextOptions = {},
  address = demo.address,
  without: string | null = null,
): Promise<Page> {
  const context = await browser.newContext({
    viewport: { width: 1280, height: 900 },
    locale: 'en-GB',
    timezoneId: 'America/New_York',
    ...options,
  });
  contexts.push(context);
  const page = await context.newPage();
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(message.text());
  });
  if (without !== null) await page.route(without, (route) => route.abort());
  await page.goto(address + path);
  await settled(page);
  return page;
}

async function settled(page: Page): Promise<void> {
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 50_000, interval: 100 }).toBe(0);
}

const wideText = async (page: Page, id: number): Promise<string> =>
  plain(await page.locator(`.sheet-wide a[href="/place/${id}"]`).textContent());
const slider = (page: Page) => page.getByRole('slider', { name: 'Hour of the night' });

/** What a place shows in an hour of a night, as the API has it, written independently of the page. */
function figuresOf(place: Night['places'][number], hour: number): string[] {
  const at = (name: 'temperature' | 'humidity' | 'margin' | 'timberMoisture') =>
    place.figures[name].values[hour] ?? null;
  const isSurface = place.kind === 'ceiling-surface' || place.kind === 'control-surface';
  const [temperature, humidity, margin, timber] = [
    at('temperature'),
    at('humidity'),
    at('margin'),
    at('timberMoisture'),
  ];
  return [
    temperature === null ? null : `${fixed(temperature, 1)}`,
    humidity === null || isSurface || timber !== null ? null : fixed(humidity, 0),
    margin === null || !isSurface ? null : `${fixed(Math.abs(margin), 1)}`,
    timber === null ? null : fixed(timber, 1),
  ].filter((text) => text !== null);
}

describe.skipIf(chromiumPath === null)('the drawn section', () => {
  beforeAll(async () => {
    demo = await startDemo();
    browser = await openBrowser();
    dwelling = (await ask<Dwelling[]>('/dwellings'))[0]!;
    places = await own<Place[]>('/places');
  }, 240_000);

  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
    expect(troubles.splice(0)).toEqual([]);
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it('says of every place whether it rises, falls or stands still, as the API does', async () => {
    const page = await open('/');
    const wordsOf = { rising: '↗', falling: '↘', steady: '→' } as const;
    await expect
      .poll(
        async () => {
          const now = await own<Now>('/now');
          const told = now.places.filter(({ trends }) => trends.length > 0);
          const shown = await Promise.all(told.map(({ placeId }) => wideText(page, placeId)));
          return (
            told.length > 4 &&
            told.every(({ trends }, i) => trends.some(({ kind }) => shown[i]!.includes(wordsOf[kind])))
          );
        },
        { timeout: 30_000 },
      )
      .toBe(true);
  });

  it('draws the way through the ceiling from the figures of the places', async () => {
    const page = await open('/');
    await page.getByText('The same as a table').click();
    await expect
      .poll(
        async () => {
          const now = await own<Now>('/now');
          const table = plain(await page.locator('.through table').textContent());
          const room = now.places.find(({ kind }) => kind === 'room-air')!;
          const outdoors = now.places.find(({ kind }) => kind === 'outdoor-air')!;
          return [room, outdoors].every(({ temperature }) => table.includes(fixed(temperature!.value, 1)));
        },
        { timeout: 30_000 },
      )
      .toBe(true);
    const said = plain(await page.locator('.through-drawing').getAttribute('aria-label'));
    for (const node of ['room', 'surface', 'behind lining', 'outdoors']) expect(said).toContain(node);
  });

  it('plays any night: chosen by its date, hour by hour by keyboard, with the values the API has', async () => {
    const page = await open('/');
    await page.getByRole('radio', { name: 'a night' }).check();
    await slider(page).waitFor();
    await page.getByLabel('Night that begins on').fill('2026-01-20');
    await expect.poll(() => page.url()).toContain('night=2026-01-20');
    await settled(page);
    const night = await own<Night>('/nights/2026-01-20');
    expect(night.places.some(({ figures }) => figures.temperature.values.some((value) => value !== null))).toBe(true);
    await slider(page).focus();
    await page.keyboard.press('Home');
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
    for (const hour of [2, 23]) {
      if (hour === 23) await page.keyboard.press('End');
      expect(await slider(page).inputValue()).toBe(String(hour));
      expect(plain(await page.locator('h1').textContent())).toBe(plain(night.headlines[hour]!.headline));
      for (const place of night.places) {
        const shown = await wideText(page, place.placeId);
        for (const figure of figuresOf(place, hour)) expect(shown, `${place.name}, hour ${hour}`).toContain(figure);
      }
    }
    // The home's clock, not the reader's: noon in London is the hour of the slider's left end.
    await page.keyboard.press('Home');
    expect(plain(await page.locator('.scrubber output').textContent())).toContain('12:00');
    expect(plain(await slider(page).getAttribute('aria-valuetext'))).toContain(plain(night.headlines[0]!.headline));
    await page.getByRole('button', { name: 'Night after' }).click();
    await expect.poll(() => page.url()).toContain('night=2026-01-21');
  });

  it('plays by the space bar and pauses by it', async () => {
    const page = await open('/?show=night&night=2026-01-20');
    await slider(page).focus();
    await page.keyboard.press('Home');
    await page.keyboard.press(' ');
    expect(await page.getByRole('button', { name: 'Pause' }).isVisible()).toBe(true);
    await expect.poll(async () => Number(await slider(page).inputValue())).toBeGreaterThan(1);
    await page.keyboard.press(' ');
    await page.getByRole('button', { name: 'Play the night' }).waitFor();
    const stopped = await slider(page).inputValue();
    await page.waitForTimeout(2200);
    expect(await slider(page).inputValue()).toBe(stopped);
    await page.getByRole('button', { name: 'Play the night' }).click();
    await expect.poll(async () => Number(await slider(page).inputValue())).toBeGreaterThan(Number(stopped));
  });

  it('moves nothing by itself for those who asked for less motion: the space bar goes one hour on', async () => {
    const page = await open('/?show=night&night=2026-01-20', { reducedMotion: 'reduce' });
    await slider(page).focus();
    await page.keyboard.press('Home');
    await page.keyboard.press(' ');
    expect(await slider(page).inputValue()).toBe('1');
    await page.waitForTimeout(2200);
    expect(await slider(page).inputValue()).toBe('1');
    await page.getByRole('button', { name: 'Next hour' }).click();
    expect(await slider(page).inputValue()).toBe('2');
  });

  it('has an hour less, and an hour twice, in the nights in which the clock changes', async () => {
    // 29 March and 25 October 2026 (tz database)
    const spring = await open('/?show=night&night=2026-03-28');
    expect(await slider(spring).getAttribute('max')).toBe('22');
    expect(plain(await spring.locator('.night-summary').textContent())).toContain('23 hours');
    const autumn = await open('/?show=night&night=2026-10-24');
    expect(await slider(autumn).getAttribute('max')).toBe('24');
    await slider(autumn).focus();
    await autumn.keyboard.press('Home');
    const labels: string[] = [];
    for (let hour = 0; hour <= 14; hour++) {
      labels.push(plain(await autumn.locator('.scrubber output').textContent()));
      await autumn.keyboard.press('ArrowRight');
    }
    expect(labels.filter((label) => label.includes('01:00'))).toHaveLength(2);
    expect(labels.filter((label) => label.includes('the second time'))).toHaveLength(1);
    expect(new Set(labels).size).toBe(15);
  });

  it('shows cold nights before without the lining and after with it, as the API has them', async () => {
    const page = await open('/');
    const asked = async () => {
      const matched = await own<MatchedNights>('/matched-nights');
      if (matched.kind !== 'matched') throw new Error(matched.message);
      return matched;
    };
    // with a night that ends there are other figures: the page and the API are asked until both have the same
    const patience = { timeout: 60_000, interval: 200 };
    for (const phase of ['before', 'after'] as const) {
      await page.getByRole('radio', { name: `${phase} the works` }).check();
      await expect
        .poll(async () => plain(await page.locator('h1').textContent()), { timeout: 30_000 })
        .toContain(`${phase} the works`);
      await settled(page);
      expect(await page.locator('.building .lining-face').count()).toBe(phase === 'before' ? 0 : 2);
      await vi.waitFor(async () => {
        const matched = await asked();
        expect(plain(await page.locator('.lead').textContent())).toContain(
          `${matched.pairs} nights before and ${matched.pairs} after`,
        );
        const slope = matched[phase].places.find(({ name }) => name === 'Sloping ceiling near the eaves')!;
        const shown = plain(await page.locator(`.values a[href="/place/${slope.placeId}"]`).textContent());
        expect(shown).toContain(fixed(slope.figures.temperature!.value, 1));
        expect(shown).toContain(`${slope.condensationNights} of ${slope.knownNights} nights`);
      }, patience);
      const behind = places.find(({ kind }) => kind === 'behind-lining')!;
      expect(await page.locator(`.values a[href="/place/${behind.id}"]`).count()).toBe(phase === 'before' ? 0 : 1);
    }
    await page.locator('summary', { hasText: 'Before and after in figures' }).click();
    await vi.waitFor(async () => {
      const slope = (await asked()).before.places.find(({ name }) => name === 'Sloping ceiling near the eaves')!;
      const row = plain(await page.getByRole('row', { name: /Sloping ceiling.*dew-point margin/ }).textContent());
      expect(row).toContain(fixed(slope.figures.margin!.value, 1));
      expect(row).toContain(`${fixed(slope.figures.margin!.low, 1)} to ${fixed(slope.figures.margin!.high, 1)}`);
    }, patience);
  });

  it('lets a place be dragged, and moved by keyboard, and keeps where it is put', async () => {
    const page = await open('/');
    await page.getByText('Where the places are drawn').click();
    const edge = places.find(({ name }) => name === 'Edge of the lining')!;
    const spot = page.locator(`.mover g[data-place="${edge.id}"]`);
    // where it stands once nothing above it moves it any more
    await spot.hover();
    const box = (await spot.locator('.grip').boundingBox())!;
    const from = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    await page.mouse.move(from.x, from.y);
    await page.mouse.down();
    await page.mouse.move(from.x - 60, from.y - 60, { steps: 4 });
    await page.mouse.move(from.x - 140, from.y - 120, { steps: 4 });
    await page.mouse.up();
    await page.getByRole('button', { name: 'Save' }).first().click();
    await page.getByText('Edge of the lining is drawn there from now on.').waitFor();
    const dragged = (await own<Place[]>('/places')).find(({ id }) => id === edge.id)!.position!;
    expect(dragged.along).toBeLessThan(edge.position!.along - 0.1);
    expect(dragged.up).toBe(0);

    const along = page.getByRole('slider', { name: 'From the ridge side to the eaves side' });
    await along.focus();
    await page.keyboard.press('End');
    await page.keyboard.press('ArrowLeft');
    await page.getByRole('button', { name: 'Save' }).first().focus();
    await page.keyboard.press('Enter');
    await expect
      .poll(async () => (await own<Place[]>('/places')).find(({ id }) => id === edge.id)!.position)
      .toEqual({ along: 0.99, up: 0 });
    // kept is not yet told: what is pressed while it is being saved is not taken
    await page.getByText('Edge of the lining is drawn there from now on.').waitFor();
    await page.getByRole('combobox', { name: 'Place' }).selectOption({ label: 'Bedroom air' });
    await page.getByRole('slider', { name: 'From low to high' }).fill('60');
    await page.getByRole('button', { name: 'Back to the usual spot' }).click();
    await page.getByRole('button', { name: 'Save' }).first().click();
    await page.getByText('Bedroom air is drawn there from now on.').waitFor();
    const room = (await own<Place[]>('/places')).find(({ kind }) => kind === 'room-air')!;
    expect(room.position).toBeNull();
  });

  it('leads from a place on the drawing to its story', async () => {
    const page = await open('/');
    await page
      .locator('.sheet-wide')
      .getByRole('link', { name: /Loft air/ })
      .click();
    await page.getByRole('heading', { level: 1, name: 'Loft air' }).waitFor();
  });

  it('goes over to a list where text is twice as large, and loses nothing', async () => {
    const page = await open('/');
    expect(await page.locator('.sheet-wide').isVisible()).toBe(true);
    await page.evaluate('document.documentElement.style.fontSize = "200%"');
    await expect.poll(() => page.locator('.sheet-wide').isVisible()).toBe(false);
    expect(await page.locator('.values li').count()).toBe(places.length);
    const beyond = 'Math.max(0, document.documentElement.scrollWidth - document.documentElement.clientWidth)';
    await expect.poll(() => page.evaluate(beyond)).toBe(0);
    await page.evaluate('document.documentElement.style.fontSize = ""');
    await expect.poll(() => page.locator('.sheet-wide').isVisible()).toBe(true);
    for (const path of ['/tonight', '/?show=night&night=2026-01-20', '/?show=before']) {
      const other = await open(path);
      await other.evaluate('document.documentElement.style.fontSize = "200%"');
      await other.waitForTimeout(200);
      await expect.poll(() => other.evaluate(beyond), { message: path }).toBe(0);
    }
  });

  it('has no text smaller than 11 px on a telephone', async () => {
    for (const path of ['/', '/?show=night&night=2026-01-20', '/?show=after', '/tonight']) {
      const page = await open(path, { viewport: { width: 360, height: 800 } });
      const smallest = await page.evaluate(`Math.min(...[...document.querySelectorAll('main *')]
        .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim() !== '') && e.getClientRects().length > 0
          && !e.closest('.unseen'))
        .map((e) => {
          const svg = e.closest('svg');
          const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
          return parseFloat(getComputedStyle(e).fontSize) * scale;
        }))`);
      expect({ path, small: Number(smallest) < 11 }).toEqual({ path, small: false });
    }
  });

  it('says on Tonight what the API says of the night and what to do', async () => {
    const page = await open('/tonight');
    await expect
      .poll(
        async () => {
          const [tonight, advice] = await Promise.all([own<Tonight>('/tonight'), own<Advices>('/advice')]);
          const shown = plain(await page.locator('main').textContent());
          const told = tonight.surfaces.flatMap((surface) =>
            surface.kind === 'forecast'
              ? [
                  surface.name,
                  fixed(surface.minimumMargin.value, 1),
                  surface.chance < 0.01
                    ? 'under 1 %'
                    : surface.chance > 0.99
                      ? 'over 99 %'
                      : `${fixed(surface.chance * 100, 0)} %`,
                ]
              : surface.reasons.map(({ message }) => plain(message)),
          );
          const todo = advice.advice.flatMap(({ message, cautions }) => [
            message,
            ...cautions.map((one) => one.message),
          ]);
          return tonight.surfaces.length > 0 && [...told, ...todo.map(plain)].every((text) => shown.includes(text));
        },
        { timeout: 40_000 },
      )
      .toBe(true);
    await page.getByRole('link', { name: 'Every place on the drawn section' }).click();
    await page.locator('.sheet-wide').waitFor();
  });

  it('says so when the line is lost, keeps what it last knew, and comes back', async () => {
    const page = await open('/', {}, demo.address, '**/dwellings/*/live**');
    const before = await page.locator('.sheet-wide .label').count();
    expect(before).toBe(places.length);
    await page.route('**/api/v1/**', (route) => route.abort());
    // each minute it looks how things are, and is given then what it kept, with the time of that
    await page.getByText(/^No connection\. Showing what was (?:last known;|known .*;) trying again\.$/).waitFor();
    expect(await page.locator('.sheet-wide .label').count()).toBe(before);
    await page.getByRole('radio', { name: 'a night' }).check();
    await page.getByRole('alert').waitFor();
    expect(plain(await page.getByRole('alert').textContent())).toContain('cannot be reached');
    await page.unroute('**/api/v1/**');
    await page.getByRole('button', { name: 'Try again' }).click();
    await slider(page).waitFor();
    // only now: with the line the page would ask again by itself
    await page.unroute('**/dwellings/*/live**');
    await expect
      .poll(async () => plain(await page.locator('.connection').textContent()), { timeout: 20_000 })
      .toBe('Live');
    // The refusals are in the browser's log; they are what was wanted.
    troubles.splice(0);
  });

  it('says that it is loading, and does not jump when the answer comes', async () => {
    const page = await open('/diary');
    let let_go: () => void = () => undefined;
    const held = new Promise<void>((resolve) => {
      let_go = resolve;
    });
    await page.route('**/tonight', async (route) => {
      if (route.request().resourceType() === 'fetch') await held;
      await route.continue();
    });
    await page.getByRole('link', { name: 'Tonight', exact: true }).click();
    await page.locator('.waiting').first().waitFor();
    expect(plain(await page.locator('h1').textContent())).toBe('Loading …');
    let_go();
    await settled(page);
    // readings go on coming, and it goes on asking: none of that is to be held when the page is closed
    await page.unroute('**/tonight');
    expect(plain(await page.locator('h1').textContent())).not.toBe('Loading …');
  });

  it('prints the hour of a night and the way through the ceiling without the controls', async () => {
    const page = await open('/?show=night&night=2026-01-20', { colorScheme: 'dark' });
    await page.emulateMedia({ media: 'print' });
    expect(await page.getByRole('button', { name: 'Play the night' }).isVisible()).toBe(false);
    expect(await page.locator('.modes').isVisible()).toBe(false);
    expect(await page.locator('.values li').count()).toBe(places.length);
    expect(await page.locator('.through-drawing').isVisible()).toBe(true);
    expect(await page.locator('.headline .rests-on').isVisible()).toBe(true);
  });

  it.each([
    [1280, 'light'],
    [768, 'dark'],
    [360, 'light'],
    [360, 'dark'],
  ] as const)(
    'stands still, has nothing that axe can find and nothing beyond the right edge, at %i px, %s',
    async (width, colorScheme) => {
      const layoutShift = `new Promise((resolve) => {
        let sum = 0;
        const seen = new PerformanceObserver((list) => {
          for (const entry of list.getEntries()) if (!entry.hadRecentInput) sum += entry.value;
        });
        seen.observe({ type: 'layout-shift', buffered: true });
        setTimeout(() => resolve(sum), 300);
      })`;
      for (const path of [
        '/',
        '/tonight',
        '/?show=night&night=2026-01-20',
        '/?show=before',
        '/?show=after',
        '/?move=',
      ]) {
        const page = await open(path, { viewport: { width, height: 900 }, colorScheme });
        expect(Number(await page.evaluate(layoutShift)), `layout shift of ${path}`).toBeLessThan(0.1);
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
    240_000,
  );
});

describe.skipIf(chromiumPath === null)('a home of which nothing is known', () => {
  it('says what to do next: on the section, in a night, before and after, and on Tonight', async () => {
    const empty = await startEmpty();
    const browserHere = await openBrowser();
    browser = browserHere;
    try {
      const section = {
        pitchDeg: 40,
        slopeLengthMm: 900,
        roomHeightMm: 2300,
        liningThicknessMm: 0,
        loftInsulationMm: 300,
        eavesGapMm: 50,
      };
      const added = await fetch(`${empty.address}/api/v1/dwellings`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section }),
      });
      expect(added.status).toBe(201);
      const said = async (path: string) => {
        const page = await open(path, {}, empty.address);
        const text = plain(await page.locator('main').textContent());
        await page.context().close();
        return text;
      };
      expect(await said('/')).toContain('No place is being watched yet.');
      expect(await said('/?show=night')).toContain('There are no hours to play yet.');
      expect(await said('/?show=before')).toMatch(/Not enough evidence.*Give the span before the works a phase/);
      const tonight = await said('/tonight');
      expect(tonight).toContain('No surface is watched');
      expect(tonight).toContain('No readings yet.');
      contexts.splice(0);
      expect(troubles.splice(0)).toEqual([]);
    } finally {
      await browserHere.close();
      await empty.close();
    }
  }, 120_000);
});
