import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Pack } from '../../server/api/contract/packs.ts';
import type { ShareLinkWire } from '../../server/api/contract/shares.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { restoreBackup, writeBackup } from '../../server/store/sqlite/backup.ts';
import { FROM, givenSealedHome, hostile, TO } from '../evidence/home.ts';

/** A link to a report, from the pack it is made of to the day it leads nowhere: real program, real packs. */
let folder: string;
let coomb: Coomb;
let now = TO + 3_600_000;
const DAY = 86_400_000;

const start = (): Promise<Coomb> =>
  startCoomb(readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 }), pino({ level: 'silent' }), () => now);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-shares-'));
  coomb = await start();
  await givenSealedHome(coomb.store);
  await coomb.settled();
}, 120_000);

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

async function ask<T>(method: string, path: string, body?: unknown): Promise<{ status: number; body: T }> {
  const response = await fetch(`${coomb.address}/api/v1/dwellings/larch${path}`, {
    method,
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });
  const text = await response.text();
  return { status: response.status, body: (text === '' ? null : JSON.parse(text)) as T };
}
const look = (path: string) => fetch(`${coomb.address}${path}`);

async function makePack(): Promise<Pack> {
  const wanted = {
    from: new Date(FROM).toISOString(),
    to: new Date(TO).toISOString(),
    places: null,
    words: 'with-words',
  };
  let pack = (await ask<Pack>('POST', '/packs', { ...wanted, report: 'cause', paper: 'Letter' })).body;
  while (pack.state === 'making') {
    await new Promise((resolve) => setTimeout(resolve, 200));
    pack = (await ask<Pack>('GET', `/packs/${pack.id}`)).body;
  }
  expect(pack).toMatchObject({ state: 'ready', problem: null });
  return pack;
}

describe('a link to a report', () => {
  let path: string;
  let id: number;

  it('is made of a pack that is ready, and of nothing else', async () => {
    const none = await ask('POST', '/share-links', { pack: crypto.randomUUID(), label: 'Surveyor', days: 7 });
    expect(none.status).toBe(404);
    const pack = await makePack();
    const made = await ask<ShareLinkWire & { path: string }>('POST', '/share-links', {
      pack: pack.id,
      label: 'Surveyor',
      days: 7,
    });
    expect(made.status).toBe(201);
    ({ path, id } = made.body);
    // 256 bits in base64url
    expect(path).toMatch(/^\/shared\/[A-Za-z0-9_-]{43}$/);
    const listed = await ask<ShareLinkWire[]>('GET', '/share-links');
    expect(JSON.stringify(listed.body)).not.toContain(path.slice(8));
    await ask('DELETE', `/packs/${pack.id}`);
  }, 120_000);

  it('shows the report that was asked for without signing in, is not indexed, and can load nothing', async () => {
    const page = await look(path);
    expect(page.status).toBe(200);
    expect(page.headers.get('x-robots-tag')).toContain('noindex');
    expect(page.headers.get('referrer-policy')).toBe('no-referrer');
    expect(page.headers.get('cache-control')).toBe('no-store');
    expect(page.headers.get('content-security-policy')).toMatch(/default-src 'none'.*frame-ancestors 'none'/);
    const html = await page.text();
    // CSP3, 2.3.1: the one style there is, by its digest, and no other
    const style = createHash('sha256')
      .update(/<style>([^<]*)<\/style>/.exec(html)![1]!)
      .digest('base64');
    expect(page.headers.get('content-security-policy')).toContain(`style-src 'sha256-${style}';`);
    expect(html).toContain(`style-src 'sha256-${style}'`);
    expect(html).not.toContain('unsafe-inline');
    expect(html).toContain('Why a corner is cold and damp');
    expect(html).toContain(hostile.home.replaceAll('"', '&#34;'));
    const pdf = Buffer.from(await (await look(`${path}/report.pdf`)).arrayBuffer());
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
    const zip = Buffer.from(await (await look(`${path}/pack.zip`)).arrayBuffer());
    expect(zip.subarray(0, 2).toString()).toBe('PK');
    expect((await look('/robots.txt').then((answer) => answer.text())).trim()).toBe('User-agent: *\nDisallow: /');
  });

  it('counts how often the report was opened', async () => {
    const [link] = (await ask<ShareLinkWire[]>('GET', '/share-links')).body;
    expect(link).toMatchObject({ id, opened: 1, openedAt: new Date(now).toISOString(), state: 'open' });
  });

  it.each(['/shared/', '/shared/x', `/shared/${'A'.repeat(43)}`, '/shared/..%2f..%2fcoomb.db', '/shared/%00'])(
    'guessed as %s leads to nothing of the home',
    async (guess) => {
      const answer = await look(guess);
      expect(await answer.text()).not.toContain(hostile.home.replaceAll('"', '&#34;'));
      if (guess !== '/shared/') expect([400, 404]).toContain(answer.status);
    },
  );

  it('leads nowhere once its days are over, and not again when the clock steps back behind a revocation', async () => {
    now += 7 * DAY;
    expect((await look(path)).status).toBe(404);
    expect((await ask<ShareLinkWire[]>('GET', '/share-links')).body[0]!.state).toBe('expired');
    now -= DAY;
    expect((await look(path)).status).toBe(200);
    const revoked = await ask<ShareLinkWire>('POST', `/share-links/${id}/revocation`);
    expect(revoked.body.state).toBe('revoked');
    for (const part of ['', '/report.pdf', '/pack.zip']) expect((await look(`${path}${part}`)).status).toBe(404);
    now -= DAY;
    expect((await look(path)).status).toBe(404);
  });
});

describe('links to reports after a backup was put back', () => {
  it('lead nowhere and are told to, also one that was taken back after the backup was made', async () => {
    const pack = await makePack();
    const share = async (label: string) =>
      (await ask<ShareLinkWire & { path: string }>('POST', '/share-links', { pack: pack.id, label, days: 7 })).body;
    const [kept, takenBack] = [await share('Insurer'), await share('Landlord')];
    const file = join(folder, 'one.backup');
    await writeBackup({ database: join(folder, 'coomb.db'), beside: [], to: { file }, program: '1' });
    await ask('POST', `/share-links/${takenBack.id}/revocation`);
    expect((await look(kept.path)).status).toBe(200);
    expect((await look(takenBack.path)).status).toBe(404);
    await coomb.close();

    const order = { from: file, dataFolder: folder, databaseName: 'coomb.db', present: 'set-aside' } as const;
    const { lostLinks } = restoreBackup(order, () => now);
    // of three that were made, the first was revoked before the backup
    expect(lostLinks).toBe(2);
    coomb = await start();
    const states = (await ask<ShareLinkWire[]>('GET', '/share-links')).body.map(({ label, state }) => [label, state]);
    expect(states).toEqual([
      ['Landlord', 'lost'],
      ['Insurer', 'lost'],
      ['Surveyor', 'revoked'],
    ]);
    for (const { path } of [kept, takenBack]) {
      const answer = await look(path);
      expect(answer.status).toBe(404);
      expect(await answer.text()).toContain('Ask whoever gave it to you for a new one');
    }
  }, 120_000);
});
