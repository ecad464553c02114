import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';

const DAY = 86_400_000;
const OWNER = { name: 'Maud', passphrase: 'slow otters mend slates' };
const LANDLORD = { name: 'Edda', passphrase: 'gravel under nine boots' };
const NEIGHBOUR = { name: 'Osk', passphrase: 'a bucket full of spoons' };
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
    body: response.headers.get('content-type')?.includes('json') ? JSON.parse(text) : text === '' ? null : text,
  };
}

const signIn = (who: { name: string; passphrase: string }) => ask('POST', '/access/session', { body: who });
const basic = (username: string, password: string) => ({
  authorization: `Basic ${Buffer.from(`${username}:${password}`).toString('base64')}`,
});

let owner: string;
let member: string;
let landlord: string;
/** of the household of another home */
let neighbour: string;

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
  it('set by two pages at once makes one owner, and the other page is told that there is one', async () => {
    const other = mkdtempSync(join(tmpdir(), 'coomb-twice-'));
    const config = readConfig({}, { dataFolder: other, httpPort: 0, mqttPort: 0 });
    const program = await startCoomb(config, pino({ level: 'silent' }));
    const set = (name: string) =>
      fetch(`${program.address}/api/v1/access/first-passphrase`, {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ ...OWNER, name }),
      });
    const answers = await Promise.all(['Maud', 'Mallory', 'Osk'].map(set));
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 409, 409]);
    expect(await program.store.people()).toHaveLength(1);
    await program.close();
    rmSync(other, { recursive: true });
  });

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
    await ask('POST', '/dwellings', { body: { ...home, slug: 'mill', name: 'Mill' }, cookie: owner });
    // a home of people by the name of the example: one that is asked for below is refused instead of loaded for a minute
    await ask('POST', '/dwellings', { body: { ...home, slug: 'thrimble-cottage', name: 'Thrimble' }, cookie: owner });
    for (const person of [
      { ...LANDLORD, role: 'landlord', reach: { kind: 'all' } },
      { ...NEIGHBOUR, role: 'household', reach: { kind: 'listed', dwellings: ['mill'], groupIds: [] } },
    ]) {
      expect((await ask('POST', '/access/people', { body: person, cookie: owner })).status).toBe(201);
    }
    landlord = (await signIn(LANDLORD)).cookie!;
    neighbour = (await signIn(NEIGHBOUR)).cookie!;
    const account = await ask('POST', '/dwellings/cottage/device-accounts', {
      body: { username: 'loft-1', sensorKey: 'loft-1' },
      cookie: owner,
    });
    device = basic('loft-1', account.body.password);
  });

  const actors = ['anyone', 'device', 'landlord', 'neighbour', 'household', 'owner'] as const;
  type Actor = (typeof actors)[number];
  /** What one may do by who one is alone: said here once more, for the door is held to it. */
  const does: Record<Exclude<Actor, 'neighbour'>, readonly Operation['who'][]> = {
    anyone: ['anyone'],
    device: ['anyone', 'device'],
    landlord: ['anyone', 'landlord'],
    household: ['anyone', 'device', 'landlord', 'household'],
    owner: ['anyone', 'device', 'landlord', 'household', 'owner'],
  };
  const sessions: Record<Actor, () => string | null> = {
    anyone: () => null,
    device: () => null,
    landlord: () => landlord,
    neighbour: () => neighbour,
    household: () => member,
    owner: () => owner,
  };
  const ofAHome = ({ path }: Operation): boolean => path.includes(':dwelling');
  const allows = (actor: Actor, operation: Operation): boolean =>
    actor === 'neighbour'
      ? does.household.includes(operation.who) && !ofAHome(operation) && !operation.ofEveryHome
      : does[actor].includes(operation.who);
  const tryAs = (actor: Actor, operation: Operation) =>
    ask(operation.method.toUpperCase(), pathOf(operation), {
      cookie: sessions[actor](),
      headers: actor === 'device' ? device : {},
      ...(operation.method === 'get' ? {} : { body: {} }),
    });
  /** Ends or changes the sessions that the table is tested with. */
  const own: readonly OperationName[] = ['signOut', 'signIn', 'changePassphrase'];
  const cells = (Object.entries(operations) as [OperationName, Operation][])
    .filter(([name]) => !own.includes(name))
    .flatMap(([name, operation]) => actors.map((actor) => ({ name, operation, actor })));

  it.each(cells)('$name by $actor', async ({ operation, actor }) => {
    const { status, body } = await tryAs(actor, operation);
    if (allows(actor, operation)) {
      expect([401, 403], JSON.stringify(body)).not.toContain(status);
      expect(status).toBeLessThan(500);
    } else if (actor === 'anyone') expect([status, body.code]).toEqual([401, 'sign-in-needed']);
    else {
      const code = actor === 'landlord' && operation.shared !== undefined ? 'not-shared' : 'not-allowed';
      expect([status, body.code]).toEqual([403, code]);
    }
  });

  const rank = { summary: 1, figures: 2, report: 3 } as const;
  const inAHome = cells.filter(({ operation, actor }) => actor === 'landlord' && ofAHome(operation));
  it.each(['summary', 'figures', 'report'] as const)(
    'a landlord gets with a consent to the %s what that takes in, and nothing after it was withdrawn',
    async (scope) => {
      // the invented home that an owner asked for above is refused in the background
      const example = async (): Promise<string> => (await ask('GET', '/example', { cookie: owner })).body.state;
      await expect.poll(example, { timeout: 60_000 }).toBe('absent');
      const { unshared } = (await ask('GET', '/portfolio', { cookie: landlord })).body as { unshared: number };
      const given = await ask('POST', '/dwellings/cottage/consents', {
        body: { scope, agreedBy: 'Ivo' },
        cookie: member,
      });
      expect(given.status).toBe(201);
      const open: string[] = [];
      for (const { name, operation } of inAHome) {
        const { status } = await tryAs('landlord', operation);
        const agreed = operation.shared !== undefined && rank[operation.shared] <= rank[scope];
        expect(status === 403, name).toBe(!agreed);
        if (agreed) open.push(name);
      }
      expect(open).toContain('getAttributes');
      expect(open.includes('getNow')).toBe(scope !== 'summary');
      expect(open.includes('makePack')).toBe(scope === 'report');
      for (const name of [
        'listDiary',
        'getPhoto',
        'giveConsent',
        'withdrawConsent',
        'changeDwelling',
        'sendReadings',
      ]) {
        expect(open).not.toContain(name);
      }
      const line = (await ask('GET', '/portfolio', { cookie: landlord })).body;
      expect(line.homes.map(({ slug }: { slug: string }) => slug)).toEqual(['cottage']);
      expect(line.unshared).toBe(unshared - 1);
      const dwellings = (await ask('GET', '/dwellings', { cookie: landlord })).body;
      expect(dwellings).toHaveLength(scope === 'summary' ? 0 : 1);

      const path = `/dwellings/cottage/consents/${given.body.id}/withdrawal`;
      expect((await ask('POST', path, { cookie: member })).body).toMatchObject({ withdrawnBy: 'Ivo' });
      for (const { name, operation } of inAHome) {
        expect((await tryAs('landlord', operation)).status, name).toBe(403);
      }
      expect((await ask('GET', '/portfolio', { cookie: landlord })).body).toMatchObject({ homes: [], unshared });
      expect((await ask('GET', '/dwellings', { cookie: landlord })).body).toEqual([]);
      const file = await fetch(`${coomb.address}/api/v1/portfolio/file`, { headers: { cookie: landlord } });
      expect((await file.text()).trim().split('\n')).toHaveLength(1);
    },
    90_000,
  );

  it('a landlord gets no words of the household in a pack', async () => {
    const given = await ask('POST', '/dwellings/cottage/consents', {
      body: { scope: 'report', agreedBy: 'Ivo' },
      cookie: member,
    });
    const wanted = { from: '2026-01-01T00:00:00Z', to: '2026-01-02T00:00:00Z', places: null };
    const asked = async (words: string) =>
      (await ask('POST', '/dwellings/cottage/pack-preview', { body: { ...wanted, words }, cookie: landlord })).body
        .code;
    expect(await asked('with-words')).toBe('not-shared');
    expect(await asked('without-words')).not.toBe('not-shared');
    await ask('POST', `/dwellings/cottage/consents/${given.body.id}/withdrawal`, { cookie: member });
  });

  it('only somebody who lives in a home agrees for it once they sign in themselves; anybody of it or the owner takes it back', async () => {
    const consent = { scope: 'figures', agreedBy: 'Osk' };
    expect((await ask('POST', '/dwellings/mill/consents', { body: consent, cookie: owner })).body.code).toBe(
      'not-allowed',
    );
    const given = await ask('POST', '/dwellings/mill/consents', { body: consent, cookie: neighbour });
    expect(given.body).toMatchObject({ scope: 'figures', agreedBy: 'Osk', recordedBy: 'Osk', withdrawnAt: null });
    expect((await ask('GET', '/dwellings/mill/now', { cookie: landlord })).status).toBe(200);
    expect((await ask('POST', `/dwellings/mill/consents/${given.body.id}/withdrawal`, { cookie: owner })).status).toBe(
      200,
    );
    expect((await ask('GET', '/dwellings/mill/now', { cookie: landlord })).body.code).toBe('not-shared');
  });

  it('a landlord of one group sees no other home, whatever was agreed there, and is signed out when the group is changed', async () => {
    const group = (await ask('POST', '/groups', { body: { name: 'Terrace' }, cookie: owner })).body;
    const asked = await ask('PATCH', '/dwellings/mill/attributes', { body: { groupIds: [group.id] }, cookie: owner });
    expect(asked.body.groupIds).toEqual([group.id]);
    const consents: [string, string][] = [
      ['cottage', member],
      ['mill', neighbour],
    ];
    for (const [slug, cookie] of consents) {
      await ask('POST', `/dwellings/${slug}/consents`, { body: { scope: 'figures', agreedBy: 'us' }, cookie });
    }
    const people = (await ask('GET', '/access/people', { cookie: owner })).body as { id: number; name: string }[];
    const { id } = people.find(({ name }) => name === LANDLORD.name)!;
    const reach = { kind: 'listed', dwellings: [], groupIds: [group.id] };
    const changed = await ask('POST', `/access/people/${id}/reach`, { body: { reach }, cookie: owner });
    expect(changed.body.reach).toEqual(reach);
    expect((await ask('GET', '/portfolio', { cookie: landlord })).status).toBe(401);
    landlord = (await signIn(LANDLORD)).cookie!;
    const { homes } = (await ask('GET', '/portfolio', { cookie: landlord })).body as { homes: { slug: string }[] };
    expect(homes.map(({ slug }) => slug)).toEqual(['mill']);
    expect((await ask('GET', '/dwellings/mill/now', { cookie: landlord })).status).toBe(200);
    expect((await ask('GET', '/dwellings/cottage/now', { cookie: landlord })).body.code).toBe('not-shared');
    expect((await ask('GET', '/dwellings/no-such-home/now', { cookie: landlord })).body.code).toBe('not-shared');
    const live = await fetch(`${coomb.address}/api/v1/dwellings/cottage/live`, { headers: { cookie: neighbour } });
    expect(live.status).toBe(403);
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
      'giveConsent',
      'withdrawConsent',
      'changeReach',
      'exportPortfolio',
    ]) {
      expect(actions).toContain(action);
    }
    expect(trail.find(({ action }) => action === 'addDeviceAccount')).toMatchObject({
      personName: 'Maud',
      dwelling: 'cottage',
      detail: { username: 'eaves-7', sensorKey: 'eaves-7' },
    });
    expect(trail.find(({ action }) => action === 'giveConsent')).toMatchObject({
      personName: 'Osk',
      dwelling: 'mill',
      detail: { scope: 'figures', agreedBy: 'us' },
    });
    expect(JSON.stringify(trail)).not.toMatch(/otters|kettles|gravel|spoons/);
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
