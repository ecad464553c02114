import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { AxeBuilder } from '@axe-core/playwright';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { DeliveryWire, RecipientWire } from '../../server/api/contract/recipients.ts';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { section } from '../store/contract/given.ts';
import { header, type MailServerUnderTest, openMailServer } from '../watch/mail-server.ts';
import { messageTo } from '../watch/outbox-world.ts';
import { chromiumPath, type EmptyHome, openBrowser, startEmpty } from './demo-home.ts';

/** Who gets word, set up by keyboard: real program, real mail server, real receiver of web requests, Chromium. */
let home: EmptyHome;
let browser: Browser;
let mails: MailServerUnderTest;
let hook: Server;
let hookStatus = 204;
let store: Store;
const contexts: BrowserContext[] = [];
const troubles: string[] = [];

async function open(path: string, width = 1280, scheme: 'light' | 'dark' = 'light'): Promise<Page> {
  const context = await browser.newContext({ viewport: { width, height: 800 }, colorScheme: scheme, locale: 'en-GB' });
  contexts.push(context);
  const page = await context.newPage();
  page.on('pageerror', (error) => troubles.push(error.message));
  page.on('console', (said) => {
    if (said.type() === 'error') troubles.push(said.text());
  });
  await page.goto(home.address + path);
  await page.locator('h1').first().waitFor();
  await expect.poll(() => page.locator('.waiting').count(), { timeout: 30_000 }).toBe(0);
  return page;
}

const clean = async (page: Page): Promise<void> => {
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
  expect(await page.evaluate('document.documentElement.scrollWidth <= innerWidth')).toBe(true);
};

const focused = async (page: Page): Promise<string> =>
  (
    (await page.evaluate(`(() => {
      const on = document.activeElement;
      return on.getAttribute('aria-label') ?? (on.labels?.length ? on.labels[0].textContent : on.textContent);
    })()`)) as string
  ).trim();

async function tabTo(page: Page, name: string): Promise<void> {
  for (let i = 0; i < 100; i++) {
    await page.keyboard.press('Tab');
    if ((await focused(page)) === name) return;
  }
  throw new Error(`Tab never came to ${name}`);
}
const press = async (page: Page, name: string): Promise<void> => {
  await tabTo(page, name);
  await page.keyboard.press('Enter');
};
const type = async (page: Page, name: string, text: string): Promise<void> => {
  await tabTo(page, name);
  await page.keyboard.type(text);
};

const ask = async <T>(path: string): Promise<T> =>
  (await (await fetch(`${home.address}/api/v1/dwellings/larch${path}`)).json()) as T;
const recipients = async (): Promise<RecipientWire[]> =>
  (await ask<{ recipients: RecipientWire[] }>('/recipients')).recipients;
const rowOf = (page: Page, name: string) => page.getByRole('row').filter({ hasText: name });

describe.skipIf(chromiumPath === null)('who gets word', () => {
  beforeAll(async () => {
    mails = await openMailServer({
      onRcptTo({ address }, _session, done) {
        if (address.startsWith('gone')) done(Object.assign(new Error('no such person here'), { responseCode: 550 }));
        else done();
      },
    });
    hook = createServer((request, response) => {
      request.resume().on('end', () => response.writeHead(hookStatus).end('shelf is full'));
    });
    await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
    [home, browser] = await Promise.all([
      startEmpty({
        COOMB_PUBLIC_ADDRESS: 'http://coomb.example.org',
        COOMB_SMTP_URL: `smtp://127.0.0.1:${mails.port}`,
        COOMB_SMTP_FROM: 'coomb@example.org',
        COOMB_SMTP_ENCRYPTION: 'none',
        COOMB_WEBHOOK_RANGES: '127.0.0.1',
      }),
      openBrowser(),
    ]);
    await fetch(`${home.address}/api/v1/dwellings`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section }),
    });
    store = await openSqliteStore(home.database);
  });
  afterEach(async () => {
    await Promise.all(contexts.splice(0).map((context) => context.close()));
    expect(troubles.splice(0)).toEqual([]);
  });
  afterAll(async () => {
    await store?.close();
    await browser?.close();
    await home?.close();
    await mails?.close();
    hook?.closeAllConnections();
    hook?.close();
  });

  it('a person is added by keyboard, with some kinds of notice alone, and a test arrives', async () => {
    const page = await open('/notices/recipients');
    await page.getByText('Nobody gets word yet.').waitFor();
    await press(page, 'Add someone');
    await page.getByRole('dialog').waitFor();
    await type(page, 'Name', 'Ada');
    await type(page, 'E-mail address', 'ada@example.net');
    await tabTo(page, 'all kinds, also those that come with later versions');
    await page.keyboard.press('Space');
    for (const kind of ['Wet timber', 'Damp behind the lining']) {
      // the order of the list is the program's: from the first of them on
      await page.getByLabel('all kinds').focus();
      await tabTo(page, kind);
      await page.keyboard.press('Space');
    }
    await clean(page);
    await press(page, 'Save');
    await page.getByText('Ada was saved.').waitFor();
    expect((await recipients())[0]).toMatchObject({
      name: 'Ada',
      channel: 'email',
      address: 'ada@example.net',
      rules: { codes: ['hidden-layer-damp', 'timber-wet'], minimumSeverity: 'caution' },
    });
    expect(await rowOf(page, 'Ada').textContent()).toContain('only: Damp behind the lining, Wet timber');
    await press(page, 'Send Ada a test');
    await page.getByText('The test for Ada was taken by the other side.').waitFor();
    expect(mails.received.map(({ to }) => to)).toEqual([['ada@example.net']]);
    // what was chosen is there again when it is changed
    await press(page, 'Change Ada');
    const dialog = page.getByRole('dialog');
    expect(await dialog.getByLabel('Wet timber').isChecked()).toBe(true);
    expect(await dialog.getByLabel('The loft gets wetter').isChecked()).toBe(false);
    await page.keyboard.press('Escape');
    await dialog.waitFor({ state: 'detached' });
    await expect.poll(() => focused(page)).toBe('Change Ada');
  });

  it('a program is added by keyboard with a secret told once; what it answers to a test is said plainly, its own words folded away', async () => {
    const page = await open('/notices/recipients');
    await press(page, 'Add someone');
    await page.getByRole('dialog').waitFor();
    await type(page, 'Name', 'Shelf');
    await tabTo(page, 'By');
    await page.keyboard.press('ArrowDown');
    const address = `http://127.0.0.1:${(hook.address() as AddressInfo).port}/word`;
    await type(page, 'Address of the web request', address);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'The secret to check signatures with' }).waitFor();
    expect(await page.locator('.secret').textContent()).toMatch(/^[\w-]{43}$/);
    await clean(page);
    await press(page, 'I have copied it');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    expect((await recipients())[1]).toMatchObject({ name: 'Shelf', channel: 'webhook', address });
    hookStatus = 503;
    await press(page, 'Send Shelf a test');
    await page.getByText('The test for Shelf did not get through.').waitFor();
    const result = page.getByRole('status').filter({ hasText: 'did not get through' });
    await result.getByText('The other side cannot take it at the moment.').waitFor();
    const own = result.getByText(/^503 .*shelf is full$/);
    expect(await own.isVisible()).toBe(false);
    await tabTo(page, 'What the other side answered');
    await page.keyboard.press('Enter');
    await own.waitFor();
    await clean(page);
    hookStatus = 204;
    await page.getByRole('button', { name: 'Send Shelf a test' }).focus();
    await page.keyboard.press('Enter');
    await page.getByText('The test for Shelf was taken by the other side.').waitFor();
  });

  it('a message that was given up says why, and is sent when the address was put right and it is tried again', async () => {
    const body = { name: 'Bea', channel: 'email', address: 'gone@example.net' };
    await fetch(`${home.address}/api/v1/dwellings/larch/recipients`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    const bea = (await store.recipients((await store.dwellings())[0]!.id)).find(({ name }) => name === 'Bea')!;
    const now = Date.now();
    await store.addMessages([messageTo(bea, 'm1', { createdAt: now, notBefore: now })]);
    const state = async () =>
      (await ask<{ deliveries: DeliveryWire[] }>('/deliveries')).deliveries.find(({ id }) => id === 'm1')!.state;
    await expect.poll(state, { timeout: 45_000 }).toBe('given-up');
    const page = await open('/notices/recipients');
    const dead = page.locator('section.notice').filter({ hasText: 'Not delivered' });
    await dead.getByText('The mail server does not know this e-mail address').waitFor();
    expect(await dead.getByText('550 no such person here').isVisible()).toBe(false);
    await clean(page);
    await press(page, 'Change Bea');
    await page.getByRole('dialog').waitFor();
    await tabTo(page, 'E-mail address');
    await page.keyboard.press('Control+A');
    await page.keyboard.type('here@example.net');
    await page.keyboard.press('Enter');
    await page.getByText('Bea was saved.').waitFor();
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    await press(page, 'Try again: About m1');
    await expect.poll(state, { timeout: 20_000 }).toBe('sent');
    await expect.poll(() => dead.count(), { timeout: 20_000 }).toBe(0);
    expect(mails.received.at(-1)!.to).toEqual(['here@example.net']);
  }, 180_000);

  it('the link in a mail leads to a page that stops the messages, and the list says so', async () => {
    const link = /\/unsubscribe\/[\w-]+/.exec(header(mails.received[0]!, 'List-Unsubscribe')!)![0];
    const page = await open(link, 360, 'dark');
    await clean(page);
    await tabTo(page, 'Stop the messages');
    await page.keyboard.press('Enter');
    await page.getByText('You will get no more messages about Larch Rise.').waitFor();
    await clean(page);
    const list = await open('/notices/recipients');
    await rowOf(list, 'Ada').getByText('to get no more').waitFor();
    expect((await recipients())[0]!.unsubscribedAt).not.toBeNull();
  });

  it.each([
    [1280, 'light'],
    [1280, 'dark'],
    [360, 'light'],
    [360, 'dark'],
  ] as const)('at %i px, %s, has no fault that axe finds and nothing beyond the edge', async (width, scheme) => {
    const page = await open('/notices/recipients', width, scheme);
    await rowOf(page, 'Shelf').first().waitFor();
    await clean(page);
    if (process.env.COOMB_PICTURES) {
      await page.screenshot({
        path: `${process.env.COOMB_PICTURES}/recipients-${width}-${scheme}.png`,
        fullPage: true,
      });
    }
    await page.getByRole('button', { name: 'Change Ada' }).click();
    await page.getByRole('dialog').waitFor();
    await clean(page);
    if (process.env.COOMB_PICTURES) {
      await page.screenshot({ path: `${process.env.COOMB_PICTURES}/recipient-${width}-${scheme}.png` });
    }
  });
});
