import { mkdtempSync, rmSync } from 'node:fs';
import { createServer, type IncomingHttpHeaders } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import type { DeliveryWire, RecipientWire } from '../../server/api/contract/recipients.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { signatureOf } from '../../server/watch/channels/signature.ts';
import { freePort } from '../ingest/processes.ts';
import { section } from '../store/contract/given.ts';
import { header, type MailServerUnderTest, openMailServer } from '../watch/mail-server.ts';
import { messageTo } from '../watch/outbox-world.ts';

const lines: string[] = [];
const posts: { headers: IncomingHttpHeaders; body: string }[] = [];
const hook = createServer(async (request, response) => {
  let body = '';
  for await (const piece of request.setEncoding('utf8')) body += piece;
  posts.push({ headers: request.headers, body });
  response.writeHead(204).end();
});
let now = Date.UTC(2026, 0, 14, 22, 10);
let folder: string;
let mails: MailServerUnderTest;
let coomb: Coomb;
let hookAddress: string;

beforeAll(async () => {
  mails = await openMailServer({
    onRcptTo({ address }, _session, done) {
      if (address.startsWith('gone')) done(Object.assign(new Error('no such person here'), { responseCode: 550 }));
      else done();
    },
  });
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
  hookAddress = `http://127.0.0.1:${(hook.address() as AddressInfo).port}/word`;
  folder = mkdtempSync(join(tmpdir(), 'coomb-recipients-'));
  const environment = {
    COOMB_DATA: folder,
    COOMB_HTTP_PORT: '0',
    COOMB_MQTT_PORT: '0',
    COOMB_PUBLIC_ADDRESS: 'https://coomb.example.org/',
    COOMB_SMTP_URL: `smtp://127.0.0.1:${mails.port}`,
    COOMB_SMTP_FROM: 'coomb@example.org',
    COOMB_SMTP_ENCRYPTION: 'none',
    COOMB_WEBHOOK_RANGES: '127.0.0.1',
  };
  const log = pino({ level: 'debug' }, { write: (line: string) => lines.push(line) });
  coomb = await startCoomb(readConfig(environment), log, () => now++);
  await operate('addDwelling', '', { slug: 'larch', name: 'Larch Rise', zone: 'Europe/London', section });
});

afterAll(async () => {
  await coomb.close();
  await mails.close();
  hook.closeAllConnections();
  hook.close();
  rmSync(folder, { recursive: true });
});

async function operate<T = { code: string; detail: string; errors: { pointer: string }[] }>(
  name: OperationName,
  path: string,
  body?: object,
): Promise<{ status: number; body: T }> {
  const { method, response: schema } = operations[name] as Operation;
  const answer = await fetch(`${coomb.address}/api/v1/dwellings${path}`, {
    method: method.toUpperCase(),
    ...(body === undefined ? {} : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
  });
  const parsed = answer.status === 204 ? undefined : await answer.json();
  if (answer.ok && schema !== null) schema.parse(parsed);
  return { status: answer.status, body: parsed as T };
}

interface Saved {
  readonly recipient: RecipientWire;
  readonly secret: string | null;
}

const added = async (body: object): Promise<Saved> =>
  (await operate<Saved>('addRecipient', '/larch/recipients', { name: 'Ada', channel: 'email', ...body })).body;

const tried = async (id: number): Promise<DeliveryWire> =>
  (await operate<DeliveryWire>('testRecipient', `/larch/recipients/${id}/test`)).body;

const until = async (done: () => Promise<boolean> | boolean): Promise<void> => {
  while (!(await done())) await new Promise((resolve) => setTimeout(resolve, 5));
};

describe('recipients', () => {
  test('are added with sensible rules, changed, and removed', async () => {
    const { recipient, secret } = await added({ address: 'ada@example.net' });
    expect(secret).toBeNull();
    expect(recipient).toMatchObject({
      language: 'en',
      rules: { codes: null, minimumSeverity: 'caution' },
      quietHours: null,
      weeklySummary: false,
      active: true,
      unsubscribedAt: null,
    });
    const path = `/larch/recipients/${recipient.id}`;
    const change = {
      name: 'Ada L.',
      rules: { codes: ['condensing-now'], minimumSeverity: 'warning' },
      quietHours: { from: '22:30', to: '07:05', breakFor: ['condensing-now'] },
      weeklySummary: true,
      active: false,
    };
    expect((await operate<Saved>('changeRecipient', path, change)).body).toEqual({
      recipient: { ...recipient, ...change },
      secret: null,
    });
    const listed = await operate<{ recipients: RecipientWire[] }>('listRecipients', '/larch/recipients');
    expect(listed.body).toEqual({
      recipients: [{ ...recipient, ...change }],
      mailFrom: 'coomb@example.org',
      publicAddress: 'https://coomb.example.org',
    });
    expect(await operate('removeRecipient', path)).toMatchObject({ status: 204 });
    expect(await operate('removeRecipient', path)).toMatchObject({ status: 404 });
  });

  test('with nonsense are refused, and told which field', async () => {
    const refused = async (body: object) => {
      const answer = await operate('addRecipient', '/larch/recipients', { name: 'A', channel: 'email', ...body });
      return [answer.status, answer.body.errors?.[0]?.pointer];
    };
    expect(await refused({ address: 'ada' })).toEqual([400, '/address']);
    expect(await refused({ address: 'a@b.example\r\nBcc: c@d.example' })).toEqual([400, '/address']);
    expect(await refused({ channel: 'webhook', address: 'ada@example.net' })).toEqual([400, '/address']);
    expect(await refused({ channel: 'webhook', address: 'https://u:p@example.net/' })).toEqual([400, '/address']);
    expect(await refused({ address: 'a@b.example', quietHours: { from: '24:00', to: '07:00', breakFor: [] } })).toEqual(
      [400, '/quietHours/from'],
    );
    expect(await refused({ address: 'a@b.example', secret: 'mine' })).toEqual([400, '/']);
    const { recipient } = await added({ address: 'ada@example.net' });
    const path = `/larch/recipients/${recipient.id}`;
    expect((await operate('changeRecipient', path, { address: 'x' })).status).toBe(400);
    expect((await operate('changeRecipient', path, { secret: 'new' })).status).toBe(400);
    expect((await operate('changeRecipient', '/larch/recipients/99', { name: 'x' })).status).toBe(404);
    expect((await operate('testRecipient', '/larch/recipients/99/test')).status).toBe(404);
  });
});

describe('a test', () => {
  test('by mail arrives, and its answer says so', async () => {
    const { recipient } = await added({ address: 'test@example.net' });
    const sent = await tried(recipient.id);
    expect(sent).toMatchObject({
      event: 'test',
      state: 'sent',
      attempts: [{ number: 1, outcome: 'sent', code: 'taken' }],
    });
    const mail = mails.received.find(({ to }) => to[0] === 'test@example.net')!;
    expect(header(mail, 'Subject')).toBe('Test from coomb: Larch Rise');
    expect(mail.raw).toContain('Hello Ada');
  });

  test('that fails says why, word for word, and is tried once', async () => {
    const { recipient } = await added({ address: 'gone@example.net' });
    expect(await tried(recipient.id)).toMatchObject({
      state: 'given-up',
      nextAt: null,
      attempts: [{ outcome: 'failed-for-good', code: 'address-refused', detail: '550 no such person here' }],
    });
    const gone = await added({ channel: 'webhook', address: `http://127.0.0.1:${await freePort()}/` });
    expect(await tried(gone.recipient.id)).toMatchObject({
      state: 'given-up',
      attempts: [{ outcome: 'failed-for-now', code: 'connection-refused' }],
    });
    const inside = await added({ channel: 'webhook', address: 'https://192.168.0.1/' });
    expect(await tried(inside.recipient.id)).toMatchObject({ attempts: [{ code: 'private-address' }] });
  });

  test('by webhook is signed with the secret that was told once, and with the new one after', async () => {
    const { recipient, secret } = await added({ channel: 'webhook', address: hookAddress });
    expect(secret).toMatch(/^[\w-]{43}$/);
    expect(await tried(recipient.id)).toMatchObject({ state: 'sent' });
    const isSignedWith = (key: string): boolean => {
      const { headers, body } = posts.at(-1)!;
      return headers['coomb-signature'] === `v1=${signatureOf(key, Number(headers['coomb-timestamp']), body)}`;
    };
    expect(isSignedWith(secret!)).toBe(true);
    const path = `/larch/recipients/${recipient.id}`;
    const renewed = (await operate<Saved>('changeRecipient', path, { secret: 'new' })).body;
    await tried(recipient.id);
    expect([isSignedWith(secret!), isSignedWith(renewed.secret!)]).toEqual([false, true]);
    const everything = JSON.stringify([
      (await operate('listRecipients', '/larch/recipients')).body,
      (await operate('listDeliveries', '/larch/deliveries')).body,
      lines,
    ]);
    for (const hidden of [secret!, renewed.secret!]) expect(everything).not.toContain(hidden);
  });
});

describe('deliveries', () => {
  test('are listed with their attempts, and one given up can be tried again', async () => {
    const { recipient } = await added({ address: 'gone-too@example.net' });
    const { id: dwellingId } = (await coomb.store.dwellings())[0]!;
    await coomb.store.addMessages([messageTo({ ...(await coomb.store.recipients(dwellingId)).at(-1)! }, 'm1')]);
    const stateNow = async () => (await coomb.store.deliveries(dwellingId, {}, 1))[0]!;
    // what needs no waking goes within half a minute; a try by hand wakes the sender
    await operate('retryDelivery', '/larch/deliveries/m1/retry');
    await until(async () => (await stateNow()).state === 'given-up');
    const query = `?recipient=${recipient.id}&state=given-up`;
    const listed = await operate<{ counts: object; deliveries: DeliveryWire[] }>(
      'listDeliveries',
      `/larch/deliveries${query}`,
    );
    expect(listed.body.deliveries).toMatchObject([
      { id: 'm1', subject: 'About m1', event: 'begun', state: 'given-up' },
    ]);
    expect(listed.body.counts).toMatchObject({ waiting: 0, sending: 0 });

    await operate('changeRecipient', `/larch/recipients/${recipient.id}`, { address: 'here@example.net' });
    const again = await operate<DeliveryWire>('retryDelivery', '/larch/deliveries/m1/retry');
    expect(again.body.state).toBe('waiting');
    await until(async () => (await stateNow()).state === 'sent');
    const after = await operate<{ deliveries: DeliveryWire[] }>(
      'listDeliveries',
      `/larch/deliveries?recipient=${recipient.id}`,
    );
    expect(after.body.deliveries[0]!.attempts.map(({ outcome }) => outcome).at(-1)).toBe('sent');
    expect((await operate('retryDelivery', '/larch/deliveries/m9/retry')).status).toBe(404);
    expect((await operate('listDeliveries', '/larch/deliveries?limit=0')).status).toBe(400);
  });
});

describe('the link in a mail', () => {
  const linkIn = (address: string): string => {
    const mail = mails.received.find(({ to }) => to[0] === address)!;
    expect(header(mail, 'List-Unsubscribe-Post')).toBe('List-Unsubscribe=One-Click');
    const url = /^<https:\/\/coomb\.example\.org(\/unsubscribe\/[\w-]+)>$/.exec(header(mail, 'List-Unsubscribe')!)!;
    return `${coomb.address}${url[1]}`;
  };
  /** As a proxy passes it on: under the public name, from no page of ours, without signing in. */
  const proxied = (link: string, init: RequestInit = {}) =>
    fetch(link, { ...init, headers: { origin: 'https://mail.example', ...init.headers } });

  test('asks first, stops on confirming, and stays stopped until the owner undoes it', async () => {
    const { recipient } = await added({ address: 'stop@example.net', name: 'Eve <b>' });
    await tried(recipient.id);
    const link = linkIn('stop@example.net');
    const asked = await proxied(link);
    expect(asked.status).toBe(200);
    expect(asked.headers.get('referrer-policy')).toBe('no-referrer');
    expect(await asked.text()).toContain('<form method="post"><button>Stop the messages</button></form>');
    const now = async () =>
      (await operate<{ recipients: RecipientWire[] }>('listRecipients', '/larch/recipients')).body.recipients.find(
        ({ id }) => id === recipient.id,
      )!;
    expect((await now()).unsubscribedAt).toBeNull();

    const form = { 'content-type': 'application/x-www-form-urlencoded' };
    const stopped = await proxied(link, { method: 'POST', headers: form, body: 'List-Unsubscribe=One-Click' });
    expect(stopped.status).toBe(200);
    expect(await stopped.text()).toContain('You will get no more messages about Larch Rise.');
    const { unsubscribedAt } = await now();
    expect(unsubscribedAt).not.toBeNull();
    expect(await (await proxied(link)).text()).not.toContain('<form');
    await proxied(link, { method: 'POST' });
    expect((await now()).unsubscribedAt).toBe(unsubscribedAt);

    await operate('changeRecipient', `/larch/recipients/${recipient.id}`, { unsubscribedAt: null });
    expect((await now()).unsubscribedAt).toBeNull();
  });

  test('cannot be guessed, bent to someone else, or used after its recipient is gone', async () => {
    const { recipient } = await added({ address: 'bent@example.net' });
    const other = await added({ address: 'other@example.net' });
    await tried(recipient.id);
    const link = linkIn('bent@example.net');
    const proof = link.slice(-43);
    const flipped = `${proof.slice(0, 20)}${proof[20] === 'A' ? 'B' : 'A'}${proof.slice(21)}`;
    const base = `${coomb.address}/unsubscribe`;
    for (const token of [
      `1-${other.recipient.id}-${proof}`,
      `2-${recipient.id}-${proof}`,
      `1-${recipient.id}-${flipped}`,
      `1-${recipient.id}-`,
      '1-1',
      '..%2f..%2fetc',
      `1-${recipient.id}-${proof}x`,
    ]) {
      for (const method of ['GET', 'POST']) {
        expect((await fetch(`${base}/${token}`, { method })).status, `${method} ${token}`).toBe(404);
      }
    }
    await operate('removeRecipient', `/larch/recipients/${recipient.id}`);
    expect((await fetch(link, { method: 'POST' })).status).toBe(404);
    const { body } = await operate<{ recipients: RecipientWire[] }>('listRecipients', '/larch/recipients');
    const left = body.recipients.find(({ id }) => id === other.recipient.id)!;
    expect(left.unsubscribedAt).toBeNull();
  });
});
