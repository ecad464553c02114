import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Phase } from '../../server/api/contract/dwelling.ts';
import { chromiumPath, type DemoHome, openBrowser, startDemo } from './demo-home.ts';

/** Before & after as a doubter reads it: every figure is asked how it was worked out. */
let demo: DemoHome;
let browser: Browser;
const contexts: BrowserContext[] = [];

async function open(path: string, width = 1280, scheme: 'light' | 'dark' = 'light'): Promise<Page> {
  const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme: scheme, locale: 'en-GB' });
  contexts.push(context);
  const page = await context.newPage();
  await page.goto(demo.address + path);
  return page;
}

const answered = (page: Page) => page.locator('.factors').waitFor({ timeout: 60_000 });

async function openComparison(path = '/before-after', width?: number, scheme?: 'light' | 'dark'): Promise<Page> {
  const page = await open(path, width, scheme);
  await answered(page);
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 30_000 }).toBe(0);
  // what is folded away is on the screen as well
  await page.evaluate("document.querySelectorAll('main details').forEach((one) => { one.open = true; })");
  await page.locator('main .figures-table').last().waitFor();
  return page;
}

const plain = (text: string | null): string => (text ?? '').replace(/[\s\u00a0]+/g, ' ').trim();

interface Answer {
  readonly of: string;
  readonly shown: string;
  readonly formulas: number;
  readonly inputs: Readonly<Record<string, string>>;
  readonly emptyTables: number;
  readonly uncertainties: number;
  readonly sources: number;
}

/** Opens each figure of the screen in turn and reads what it answers, then closes it again. */
const walkFigures = `(async () => {
  const out = [];
  const until = async (holds) => {
    for (let i = 0; i < 200 && !holds(); i++) await new Promise((done) => setTimeout(done, 5));
  };
  const plain = (text) => (text ?? '').replace(/[\\s\\u00a0]+/g, ' ').trim();
  for (const button of document.querySelectorAll('main .figure-button')) {
    button.click();
    await until(() => document.querySelector('dialog[open]') !== null);
    const dialog = document.querySelector('dialog[open]');
    const rows = dialog ? [...dialog.querySelectorAll('.working tr')] : [];
    out.push({
      of: plain(button.textContent),
      shown: plain(button.firstChild?.textContent),
      formulas: dialog ? [...dialog.querySelectorAll('.formula')].filter((one) => plain(one.textContent).length > 9).length : 0,
      inputs: Object.fromEntries(rows.map((row) => [plain(row.cells[0].textContent), plain(row.cells[1].textContent)])),
      emptyTables: dialog ? [...dialog.querySelectorAll('.working')].filter((one) => one.querySelectorAll('tr').length === 0).length : 1,
      uncertainties: dialog ? [...dialog.querySelectorAll('.working-uncertainty')].filter((one) => plain(one.textContent).length > 20).length : 0,
      sources: dialog ? [...dialog.querySelectorAll('.working-source')].filter((one) => plain(one.textContent).length > 12).length : 0,
    });
    const close = dialog?.querySelector('.buttons button');
    close?.click();
    await until(() => document.querySelector('dialog') === null);
  }
  return out;
})()`;

/**
 * Text with digits that no working stands behind. What is laid down and not worked out is left aside: choices, dates,
 * explanations of the method (small print), the diary, the drawing's own axis, the list of all workings, and the headline, whose
 * figures are answered by the button after it.
 */
const bareFigures = `(() => {
  const aside = 'select, option, legend, label, .small:not(.verdict-box *), .diary-beside, [aria-hidden="true"], .working, h1, h3 code, .figure-button, .figure-prose, summary, .findings .block, .why + *, caption, time';
  const walker = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  const out = [];
  for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
    const text = node.textContent;
    if (!/\\d/.test(text)) continue;
    const element = node.parentElement;
    if (element.closest(aside) === null) out.push(text.trim() + ' in ' + element.tagName + '.' + element.className);
  }
  return out;
})()`;

/** A number as the page writes it in en-GB. */
const read = (text: string): number =>
  Number(/[-−]?[\d,]+(\.\d+)?/.exec(text)![0].replace('−', '-').replaceAll(',', ''));

describe.skipIf(chromiumPath === null)('before and after', () => {
  beforeAll(async () => {
    demo = await startDemo();
    browser = await openBrowser();
  });

  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
  });

  afterAll(async () => {
    await browser?.close();
    await demo?.close();
  });

  it('answers for every figure on the screen with formula, inputs, uncertainty and source, and leaves none bare', async () => {
    const page = await openComparison();
    const answers = (await page.evaluate(walkFigures)) as Answer[];
    expect(answers.length).toBeGreaterThan(60);
    for (const answer of answers) {
      expect(answer.formulas, answer.of).toBeGreaterThan(0);
      expect(answer.emptyTables, answer.of).toBe(0);
      expect(answer.uncertainties, answer.of).toBe(answer.formulas);
      expect(answer.sources, answer.of).toBe(answer.formulas);
    }
    expect(await page.locator('main .figure-text').count()).toBe(0);
    expect(await page.evaluate(bareFigures)).toEqual([
      // the two spans that are compared are dates the people gave
      expect.stringMatching(/^Before: 1 Oct 2024 .* in P\.$/),
    ]);
  }, 180_000);

  it('gives back what it shows by its own formula and inputs, to the digit printed', async () => {
    const page = await openComparison();
    const answers = (await page.evaluate(walkFigures)) as Answer[];
    const about = (pattern: RegExp): Answer => {
      const found = answers.find(({ of }) => pattern.test(of));
      if (!found) throw new Error(`no figure is ${pattern}`);
      return found;
    };
    const input = (answer: Answer, name: string): number => read(answer.inputs[name]!);
    // A figure printed to a digit is within half of it; its inputs, printed finer, add less than another half.
    const agrees = (answer: Answer, value: number, digit: number): void => {
      expect(Math.abs(read(answer.shown) - value), answer.of).toBeLessThanOrEqual(digit);
    };
    for (const phase of ['before', 'after']) {
      const f = about(new RegExp(`Sloping ceiling near the eaves, ${phase}\\.`));
      agrees(f, input(f, 'mean surface - cold side') / input(f, 'mean room - cold side'), 0.01);
      const coverage = about(new RegExp(`Hours with data, ${phase}\\.`, 'i'));
      agrees(
        coverage,
        (100 * input(coverage, 'hours with surface, room and cold side known')) / input(coverage, 'hours of the phase'),
        1,
      );
      const excess = about(new RegExp(`Pa Vapour excess, mean, ${phase}\\.`, 'i'));
      agrees(
        excess,
        input(excess, 'mean vapour pressure of the room') - input(excess, 'mean vapour pressure outdoors'),
        1,
      );
    }
    const change = about(/Change of f:/);
    agrees(change, input(change, 'f after') - input(change, 'f before'), 0.01);
    const avoided = about(/Risk hours, Avoided/);
    agrees(avoided, input(avoided, 'expected') - input(avoided, 'measured'), 1);
    const beyond = about(/less that of the control surface/);
    agrees(
      beyond,
      input(beyond, 'change of the treated surface') - input(beyond, 'change of the control surface'),
      0.01,
    );
    const timber = about(/timber moisture, mean\./);
    agrees(timber, input(timber, 'sum of the daily means') / input(timber, 'days with data'), 0.1);
    // Upper limits of the humidity classes: 270 Pa each up to 0 °C, falling to none at 20 °C (ISO 13788, Annex A, from memory).
    const humidityClass = about(/class \d Vapour excess, mean, After/);
    const share = (20 - input(humidityClass, 'mean temperature outdoors')) / 20;
    expect(read(humidityClass.shown)).toBe(Math.ceil(input(humidityClass, 'mean vapour excess') / (270 * share)));
  }, 180_000);

  it('opens and closes an answer by the keyboard, and goes back to where the reader was', async () => {
    const page = await openComparison();
    const button = page.locator('.factors .figure-button').nth(1);
    await button.focus();
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    await page.keyboard.press('Escape');
    await expect.poll(() => page.getByRole('dialog').count()).toBe(0);
    expect(await page.evaluate('document.activeElement.textContent')).toBe(await button.textContent());
  }, 180_000);

  it('compares what is chosen: another limit, class, target and phases', async () => {
    const page = await openComparison();
    const riskHours = async () =>
      read(
        plain(
          await page
            .getByRole('row', { name: /^Risk hours/ })
            .locator('td')
            .first()
            .textContent(),
        ),
      );
    const usual = await riskHours();
    await page.getByLabel('A risk hour begins at').selectOption('90');
    await expect.poll(riskHours, { timeout: 60_000 }).toBeLessThan(usual);
    expect(page.url()).toContain('riskLimit=90');
    await page.getByLabel('Target for the temperature factor').selectOption('own');
    await page.getByLabel('Target of your own').fill('0.97');
    await page.keyboard.press('Enter');
    await page.getByText('target 0.97', { exact: false }).first().waitFor({ timeout: 60_000 });
    await page.getByLabel('Material of the surface').selectOption('resistant');
    await expect.poll(() => page.url()).toContain('mouldClass=resistant');
    await answered(page);
  }, 200_000);

  it('says what is missing, what would mend it and by when, where there is not enough yet', async () => {
    const phases = (await (await fetch(`${demo.address}/api/v1/dwellings/thrimble-cottage/phases`)).json()) as Phase[];
    const from = new Date(Date.now() - 2 * 86_400_000).toISOString();
    const added = await fetch(`${demo.address}/api/v1/dwellings/thrimble-cottage/phases`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ kind: 'other', name: 'Two days', from, to: null }),
    });
    const short = (await added.json()) as Phase;
    try {
      const before = phases.find(({ kind }) => kind === 'before')!;
      const page = await openComparison(`/before-after?before=${before.id}&after=${short.id}`);
      expect(plain(await page.locator('h1').textContent())).toContain('Not enough evidence yet');
      const findings = plain(await page.locator('.findings').textContent());
      expect(findings).toContain('What would mend it:');
      expect(findings).toMatch(/By about \d+ \w+ \d{4}/);
      const answers = (await page.evaluate(walkFigures)) as Answer[];
      for (const answer of answers) expect(answer.formulas, answer.of).toBeGreaterThan(0);
    } finally {
      await fetch(`${demo.address}/api/v1/dwellings/thrimble-cottage/phases/${short.id}`, { method: 'DELETE' });
    }
  }, 180_000);

  it('shows progress while it compares, and keeps the choices where they were', async () => {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB' });
    contexts.push(context);
    const page = await context.newPage();
    let release = (): void => undefined;
    const released = new Promise<void>((resolve) => {
      release = resolve;
    });
    await page.route('**/comparison?**', async (route) => {
      await released;
      await route.continue();
    });
    await page.goto(`${demo.address}/before-after`);
    await page.locator('progress').waitFor();
    const top = async () => (await page.getByLabel('Target for the temperature factor').boundingBox())!.y;
    const while_ = await top();
    await page.getByText(/\b([2-9]|\d{2,}) s so far/).waitFor();
    release();
    await answered(page);
    expect(await top()).toBe(while_);
  }, 180_000);

  it('says so when it cannot reach the program, keeps the last answer, and grows stale by the clock', async () => {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB' });
    contexts.push(context);
    const page = await context.newPage();
    await page.clock.install();
    await page.goto(`${demo.address}/before-after`);
    await answered(page);
    await page.clock.fastForward('01:01:00');
    await page.getByText('Newer hours have come').waitFor();
    await page.route('**/comparison?**', (route) => route.abort());
    await page.getByRole('button', { name: 'Work it out again' }).first().click();
    await page.getByRole('alert').waitFor();
    expect(plain(await page.getByRole('alert').textContent())).toContain('may be old');
    expect(await page.locator('.factors').count()).toBe(1);
    await page.getByLabel('A risk hour begins at').selectOption('85');
    await expect.poll(async () => await page.locator('.factors').count()).toBe(0);
    expect(plain(await page.getByRole('alert').textContent())).toContain('cannot be reached');
    await page.unroute('**/comparison?**');
    await page.getByRole('button', { name: 'Try again' }).click();
    await answered(page);
  }, 180_000);

  it.each([
    [1280, 'light'],
    [768, 'dark'],
    [360, 'light'],
    [360, 'dark'],
  ] as const)(
    'has nothing that axe can find and nothing beyond the right edge at %i px, %s',
    async (width, scheme) => {
      const page = await openComparison('/before-after', width, scheme);
      const beyond = await page.evaluate('document.documentElement.scrollWidth - document.documentElement.clientWidth');
      expect(Number(beyond)).toBeLessThanOrEqual(0);
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
    },
    180_000,
  );
});
