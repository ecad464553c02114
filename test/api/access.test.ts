import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessLevels } from '../../server/api/contract/access.ts';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const DAY = 86_400_000;
const OWNER = { name: 'Maud', passphrase: 'slow otters mend slates' };
const MEMBER = { name: 'Ivo', passphrase: 'eleven kettles on a sill' };
const home = {
  slug: 'cottage',
  name: 'Cottage',
  zone: 'Europe/London',
  section: {
    pitchDeg: 40,
    slopeLengthMm: 900,
    roomHeightMm: 2300,
    liningThicknessMm: 0,
    loftInsulationMm: 300,
    eavesGapMm: 50,
  },
};

let folder: string;
let coomb: Coomb;
let now = Date.UTC(2026, 0, 14, 22, 10);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-access-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => now);
  await ask('POST', '/dwellings', { body: home });
});

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

interface Asked {
  readonly body?: unknown;
  readonly cookie?: string | null;
  readonly headers?: Record<string, string>;
}

async function ask(method: string, path: string, { body, cookie, headers }: Asked = {}) {
  const response = await fetch(`${coomb.address}/api/v1${path}`, {
    method,
    headers: {
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
      ...(cookie ? { cookie } : {}),
      ...headers,
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
  const text = await response.text();
  const given = response.headers.get('set-cookie');
  return {
    status: response.status,
    given,
    cookie: given?.split(';')[0] ?? null,
    body: text === '' ? null : JSON.parse(text),
  };
}

const signIn = (who: { name: string; passphrase: string }) => ask('POST', '/access/session', { body: who });
const basic = (username: string, password: string) => ({
  authorization: `Basic ${Buffer.from(`${username}:${password}`).toString('base64')}`,
});

let owner: string;
let member: string;

describe('before there is a passphrase', () => {
  it('whoever sits at the machine is the owner, and nobody else gets in by another name of it', async () => {
    expect((await ask('GET', '/access')).body).toEqual({ guarded: false, signedIn: null });
    expect((await ask('GET', '/access/people')).status).toBe(200);
    expect((await ask('POST', '/access/people', { body: { ...MEMBER, role: 'household' } })).status).toBe(403);
  });

  it('a short one is refused with what to do', async () => {
    const short = await ask('POST', '/access/first-passphrase', { body: { name: 'Maud', passphrase: 'otters' } });
    expect(short).toMatchObject({ status: 400, given: null });
    expect(short.body.detail).toContain('several words');
  });

  it('a page on another address than loopback does not start', async () => {
    const other = mkdtempSync(join(tmpdir(), 'coomb-open-'));
    const config = readConfig({}, { dataFolder: other, httpPort: 0, mqttPort: 0, httpHost: '0.0.0.0' });
    await expect(startCoomb(config, pino({ level: 'silent' }))).rejects.toThrow('coomb passphrase');
    rmSync(other, { recursive: true });
  });
});

describe('the first passphrase', () => {
  it('signs its owner in by a cookie that scripts and other sites do not get, and shuts the door to everybody else', async () => {
    const first = await ask('POST', '/access/first-passphrase', { body: OWNER });
    expect(first.body.signedIn).toMatchObject({ name: 'Maud', role: 'owner' });
    // RFC 6265bis, 4.1.2: attributes of the cookie
    expect(first.given).toMatch(/HttpOnly/);
    expect(first.given).toMatch(/SameSite=Strict/);
    owner = first.cookie!;
    expect((await ask('GET', '/dwellings')).body).toMatchObject({ status: 401, code: 'sign-in-needed' });
    expect((await ask('GET', '/dwellings', { cookie: owner })).status).toBe(200);
    expect((await ask('POST', '/access/first-passphrase', { body: OWNER, cookie: owner })).status).toBe(409);
  });

  it('leaves /healthz saying no more than whether all is well', async () => {
    const response = await fetch(`${coomb.address}/healthz`);
    expect(await response.json()).toEqual({ status: 'ok' });
  });
});

describe('every operation against everybody who may ask', () => {
  /** What the address lacks is filled with what exists, so that a refusal is about who asks and nothing else. */
  const pathOf = ({ path }: Operation): string =>
    path.replace(':dwelling', 'cottage').replace(':sensor', 'loft-1').replace(/:\w+/g, '4711');
  let device: Record<string, string>;

  beforeAll(async () => {
    const made = await ask('POST', '/access/people', { body: { ...MEMBER, role: 'household' }, cookie: owner });
    expect(made.status).toBe(201);
    member = (await signIn(MEMBER)).cookie!;
    const account = await ask('POST', '/dwellings/cottage/device-accounts', {
      body: { username: 'loft-1', sensorKey: 'loft-1' },
      cookie: owner,
    });
    device = basic('loft-1', account.body.password);
  });

  const actors = ['anyone', 'device', 'household', 'owner'] as const;
  /** Ends or changes the sessions that the table is tested with. */
  const own: readonly OperationName[] = ['signOut', 'signIn', 'changePassphrase'];
  const cells = (Object.entries(operations) as [OperationName, Operation][])
    .filter(([name]) => !own.includes(name))
    .flatMap(([name, operation]) => actors.map((actor) => ({ name, operation, actor })));

  it.each(cells)('$name by $actor', async ({ operation, actor }) => {
    const { status, body } = await ask(operation.method.toUpperCase(), pathOf(operation), {
      cookie: actor === 'owner' ? owner : actor === 'household' ? member : null,
      headers: actor === 'device' ? device : {},
      ...(operation.method === 'get' ? {} : { body: {} }),
    });
    const allowed = accessLevels.indexOf(actor) >= accessLevels.indexOf(operation.who);
    if (allowed) {
      expect([401, 403], JSON.stringify(body)).not.toContain(status);
      expect(status).toBeLessThan(500);
    } else expect([status, body.code]).toEqual(actor === 'anyone' ? [401, 'sign-in-needed'] : [403, 'not-allowed']);
  });

  it('the live stream is for the household, and ends with its session', async () => {
    const refused = await ask('GET', '/dwellings/cottage/live');
    expect(refused.status).toBe(401);
    const { cookie } = await signIn(MEMBER);
    const stream = await fetch(`${coomb.address}/api/v1/dwellings/cottage/live`, { headers: { cookie: cookie! } });
    expect(stream.status).toBe(200);
    const over = stream.text();
    await ask('DELETE', '/access/session', { cookie });
    expect(await over).toContain('retry');
    expect((await ask('GET', '/dwellings', { cookie })).status).toBe(401);
  });
});

describe('a session', () => {
  it('changes its token after a day; the one before holds for a minute, then ends the session', async () => {
    const before = (await signIn(MEMBER)).cookie!;
    now += DAY + 60_000;
    const rotated = await ask('GET', '/dwellings', { cookie: before });
    const after = rotated.cookie!;
    expect(after).not.toBe(before);
    expect((await ask('GET', '/dwellings', { cookie: before })).status).toBe(200);
    now += 61_000;
    expect((await ask('GET', '/dwellings', { cookie: before })).status).toBe(401);
    // whoever holds the old one may have stolen it: the new one is over too
    expect((await ask('GET', '/dwellings', { cookie: after })).status).toBe(401);
    owner = (await signIn(OWNER)).cookie!;
    member = (await signIn(MEMBER)).cookie!;
  });

  it('can be ended from elsewhere by its person or the owner, not by another', async () => {
    const list = (await ask('GET', '/access/sessions', { cookie: owner })).body as { id: number; personName: string }[];
    const mine = list.findLast(({ personName }) => personName === 'Maud')!;
    expect((await ask('DELETE', `/access/sessions/${mine.id}`, { cookie: member })).status).toBe(404);
    const theirs = (await ask('GET', '/access/sessions', { cookie: member })).body as { personName: string }[];
    expect(new Set(theirs.map(({ personName }) => personName))).toEqual(new Set(['Ivo']));
  });

  it('elsewhere ends when the passphrase is changed, and the old passphrase with it', async () => {
    const other = (await signIn(MEMBER)).cookie!;
    const next = 'eleven kettles on a shelf';
    const wrong = { current: 'not this one', next };
    expect((await ask('POST', '/access/passphrase', { body: wrong, cookie: member })).status).toBe(401);
    const changed = await ask('POST', '/access/passphrase', {
      body: { current: MEMBER.passphrase, next },
      cookie: member,
    });
    expect(changed.status).toBe(204);
    expect((await ask('GET', '/dwellings', { cookie: other })).status).toBe(401);
    expect((await ask('GET', '/dwellings', { cookie: changed.cookie })).status).toBe(200);
    expect((await signIn(MEMBER)).status).toBe(401);
    expect((await signIn({ ...MEMBER, passphrase: next })).status).toBe(200);
  });

  it('is not taken over by a page of another site', async () => {
    const body = { kind: 'note', text: 'x', time: '2026-01-14T00:00:00Z' };
    for (const headers of [
      { origin: 'https://elsewhere.example' },
      { 'sec-fetch-site': 'cross-site' },
      { origin: 'null' },
    ]) {
      const answer = await ask('POST', '/dwellings/cottage/diary', { body, cookie: owner, headers });
      expect(answer.body.code, JSON.stringify(headers)).toBe('foreign-origin');
    }
  });
});

describe('a device', () => {
  it('sends as itself by HTTP and MQTT and as no other sensor, until its account is taken away', async () => {
    const made = await ask('POST', '/dwellings/cottage/device-accounts', {
      body: { username: 'eaves-7', sensorKey: 'eaves-7' },
      cookie: owner,
    });
    const { password, id } = made.body as { password: string; id: number };
    const send = (sensor: string) =>
      ask('POST', `/dwellings/cottage/readings/${sensor}`, {
        body: { temperature_c: 12.5 },
        headers: basic('eaves-7', password),
      });
    expect((await send('eaves-7')).status).toBe(200);
    expect((await send('loft-1')).status).toBe(403);
    const listed = JSON.stringify((await ask('GET', '/dwellings/cottage/device-accounts', { cookie: owner })).body);
    expect(listed).not.toContain(password);

    await expect(connectAsync(coomb.mqttAddress, { reconnectPeriod: 0 })).rejects.toThrow(/username or password/i);
    const client = await connectAsync(coomb.mqttAddress, { username: 'eaves-7', password, reconnectPeriod: 0 });
    await client.publishAsync('coomb/cottage/eaves-7', '{"temperature_c": 12.6}', { qos: 1 });
    const closed = new Promise((resolve) => client.once('close', () => resolve(null)));
    await ask('POST', `/dwellings/cottage/device-accounts/${id}/revocation`, { cookie: owner });
    await closed;
    await client.endAsync(true);
    expect((await send('eaves-7')).status).toBe(401);
  });
});

describe('the trail', () => {
  it('says who did what to what, and holds no secret', async () => {
    const trail = (await ask('GET', '/access/trail', { cookie: owner })).body as { action: string }[];
    const actions = trail.map(({ action }) => action);
    for (const action of [
      'setFirstPassphrase',
      'addPerson',
      'signed-in',
      'sign-in-refused',
      'changePassphrase',
      'addDeviceAccount',
      'revokeDeviceAccount',
    ]) {
      expect(actions).toContain(action);
    }
    expect(trail.find(({ action }) => action === 'addDeviceAccount')).toMatchObject({
      personName: 'Maud',
      dwelling: 'cottage',
      detail: { username: 'eaves-7', sensorKey: 'eaves-7' },
    });
    expect(JSON.stringify(trail)).not.toMatch(/otters|kettles/);
  });
});

describe('guessing', () => {
  it('is stopped after ten wrong passphrases from one address, and says for how long', async () => {
    const answers: number[] = [];
    for (let k = 0; k < 12; k++) answers.push((await signIn({ ...OWNER, passphrase: `guess number ${k}` })).status);
    expect(answers.slice(0, 5)).toEqual([401, 401, 401, 401, 401]);
    expect(answers.at(-1)).toBe(429);
    // who is signed in stays so
    expect((await ask('GET', '/dwellings', { cookie: owner })).status).toBe(200);
  });
});
