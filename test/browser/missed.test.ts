import type { Browser, Route } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { usualSection } from '../../web/src/settling/usual-section.ts';
import { chromiumPath, openBrowser, startEmpty } from './demo-home.ts';
import { settled } from './reader.ts';

describe.skipIf(chromiumPath === null)('a page', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser?.close());

  it('shows what happened after it had its first answers and before it could listen', async () => {
    const home = await startEmpty();
    onTestFinished(() => home.close());
    const send = async (path: string, body: unknown): Promise<void> => {
      const headers = { 'content-type': 'application/json' };
      const url = `${home.address}/api/v1/dwellings${path}`;
      expect((await fetch(url, { method: 'POST', headers, body: JSON.stringify(body) })).status).toBe(201);
    };
    await send('', { slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section: usualSection });

    const context = await browser.newContext({ locale: 'en-GB' });
    onTestFinished(() => context.close());
    const page = await context.newPage();
    const held: Route[] = [];
    await page.route('**/dwellings/*/live**', (route) => void held.push(route));
    await page.goto(`${home.address}/diary`);
    await settled(page);
    await expect.poll(() => held.length).toBe(1);
    await send('/larch/diary', { time: new Date().toISOString(), kind: 'note', text: 'damp above the bed' });
    expect(await page.getByText('damp above the bed').count()).toBe(0);
    await held[0]!.continue();
    await page.getByText('damp above the bed').waitFor();
  });
});
