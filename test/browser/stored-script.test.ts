import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { sampleFolder } from '../../server/main.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { FROM, givenSealedHome, TO } from '../evidence/home.ts';
import { twoColours } from '../pictures/made.ts';
import { chromiumPath, type EmptyHome, openBrowser, startOn } from './demo-home.ts';
import { settled } from './reader.ts';

/** Markup that would run in whatever place it was put into unescaped; short enough for a name. */
const script = (field: string): string => `${field}"'><img src=x onerror="hit=1"><script>hit=1</script>`;

/** Free texts that somebody can send, by operation and place in its body, and what each is filled with. */
const filled = [
  'addPerson.name',
  'addDeviceAccount.sensorKey',
  'changeDwelling.name',
  'changePlace.name',
  'addBuildUps.name',
  'addBuildUps.file.title',
  'addBuildUps.file.note',
  'addBuildUps.file.before.layers[].name',
  'addBuildUps.file.before.layers[].bridge.name',
  'addBuildUps.file.before.layers[].bridge.line',
  'addBuildUps.file.after.layers[].name',
  'addBuildUps.file.after.layers[].bridge.name',
  'addBuildUps.file.after.layers[].bridge.line',
  'changeSensor.name',
  'changeSensor.model',
  'addCalibrations.calibrations[].sharedSource',
  'addCalibrations.calibrations[].note',
  'changePhase.name',
  'changeDiaryEntry.kind',
  'changeDiaryEntry.text',
  'changeDiaryEntry.photos[].alt',
  'addMapping.topicPattern',
  'addMapping.sensorKey',
  'addRecipient.name',
  'addRecipient.address',
  'addShareLink.label',
  'addGroup.name',
  'changeAttributes.area',
  'changeAttributes.buildType',
  'giveConsent.agreedBy',
];
/** Of those that stand for nothing of their own. */
const others: readonly (readonly [RegExp, string])[] = [
  [/passphrase|changePassphrase/, 'is never shown'],
  [/^(?:signIn|setFirstPassphrase)\.name$/, 'a person’s name, as addPerson has it'],
  [
    /^(?:add(?:Dwelling|Place|Phase|DiaryEntry)|changeBuildUps|checkLining|change(?:Mapping|Recipient)|renameGroup)\./,
    'the same noun',
  ],
  [/\.(?:time_?zone|zone)$/, 'must be a time zone'],
  [/\.pointer$/, 'must be a JSON Pointer into what devices sent'],
  [/^addMapping\.values\[\]\.sensorKey$/, 'a key of a sensor, as addMapping.sensorKey'],
  [/^previewMapping\./, 'keeps nothing'],
  [/^checkImport\./, 'names of columns of a file, which keeps nothing'],
  [/\.climate\.months\[\]\.name$/, 'of a month, which is not shown'],
  [/\.(?:rules\.codes|quietHours\.breakFor)\[\]$/, 'codes, shown by their words alone'],
];

interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly pattern?: string;
  readonly format?: string;
  readonly enum?: unknown;
  readonly const?: unknown;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly items?: Schema;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
}

/** Every text of a body that may be anything. */
function freeTexts(schema: Schema, schemas: Readonly<Record<string, Schema>>, path: string): string[] {
  if (schema.$ref !== undefined) return freeTexts(schemas[schema.$ref.split('/').at(-1)!]!, schemas, path);
  const inner = [...(schema.anyOf ?? []), ...(schema.oneOf ?? [])].flatMap((one) => freeTexts(one, schemas, path));
  const within = Object.entries(schema.properties ?? {}).flatMap(([key, one]) =>
    freeTexts(one, schemas, `${path}.${key}`),
  );
  const items = schema.items === undefined ? [] : freeTexts(schema.items, schemas, `${path}[]`);
  const isText = [schema.type].flat().includes('string');
  const isFree = isText && !schema.pattern && !schema.format && !schema.enum && schema.const === undefined;
  return [...inner, ...within, ...items, ...(isFree ? [path] : [])];
}

const OWNER = { name: script('Owner'), passphrase: 'slow otters mend slates' };

describe.skipIf(chromiumPath === null)('a script in every text that somebody can leave', () => {
  let home: EmptyHome;
  let browser: Browser;
  let page: Page;
  let cookie = '';
  let link = '';
  const folder = mkdtempSync(join(tmpdir(), 'coomb-script-'));
  const seen = new Set<string>();
  const troubles: string[] = [];

  // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into below
  async function ask(method: string, path: string, body?: unknown): Promise<any> {
    const bytes = body instanceof Uint8Array;
    const answer = await fetch(`${home.address}/api/v1${path}`, {
      method,
      headers: {
        cookie,
        'user-agent': script('Browser'),
        ...(body === undefined || bytes ? {} : { 'content-type': 'application/json' }),
      },
      ...(body === undefined ? {} : { body: bytes ? new Uint8Array(body) : JSON.stringify(body) }),
    });
    const text = await answer.text();
    expect(answer.ok, `${method} ${path}: ${text}`).toBe(true);
    cookie = answer.headers.get('set-cookie')?.split(';')[0] ?? cookie;
    return text === '' ? null : JSON.parse(text);
  }

  beforeAll(async () => {
    mkdirSync(folder, { recursive: true });
    const store = await openSqliteStore(join(folder, 'coomb.db'));
    await givenSealedHome(store);
    await store.close();
    [home, browser] = await Promise.all([startOn(0, folder), openBrowser()]);
    const at = '/dwellings/larch';

    await ask('PATCH', at, { name: script('Home') });
    for (const { id } of await ask('GET', `${at}/places`))
      await ask('PATCH', `${at}/places/${id}`, { name: script(`Place${id}`) });
    for (const { id } of await ask('GET', `${at}/sensors`)) {
      await ask('PATCH', `${at}/sensors/${id}`, {
        name: script(`Sensor${id}`),
        model: '<img src=x onerror=hit=1>Model',
      });
    }
    for (const { id } of await ask('GET', `${at}/phases`))
      await ask('PATCH', `${at}/phases/${id}`, { name: script(`Phase${id}`) });
    const photo = await ask('POST', `${at}/photos`, await twoColours(60, 40));
    for (const { id } of await ask('GET', `${at}/diary`)) {
      await ask('PATCH', `${at}/diary/${id}`, {
        kind: '<img src=x onerror=hit=1>Kind',
        text: script('Text'),
        photos: [{ id: photo.id, alt: script('Caption') }],
      });
    }
    await ask('POST', `${at}/calibrations`, {
      calibrations: [
        {
          sensorId: 1,
          quantity: 'temperature',
          from: new Date(FROM + 86_400_000).toISOString(),
          method: 'side-by-side',
          points: [{ reading: 0.2, reference: 0 }],
          uncertainty: 0.1,
          sharedSource: script('Source'),
          sharedUncertainty: 0.1,
          note: script('Note'),
          madeAt: new Date(FROM + 86_400_000).toISOString(),
        },
      ],
    });
    // biome-ignore lint/suspicious/noExplicitAny: an example file
    const file = JSON.parse(readFileSync(join(sampleFolder, 'lining-example.json'), 'utf8')) as any;
    file.title = script('Title');
    file.note = script('FileNote');
    for (const side of ['before', 'after']) {
      for (const layer of file[side].layers) {
        // the old layers are known by their names on both sides
        layer.name = script(`${layer.name} Layer`);
        if (layer.bridge) layer.bridge = { ...layer.bridge, name: script('Bridge'), line: script('Line') };
      }
    }
    await ask('POST', `${at}/build-ups`, { name: script('Plan'), file });
    await ask('POST', `${at}/mappings`, {
      topicPattern: `attic<img src=x onerror=hit=1>/{sensor}`,
      sensorKey: 'Key<img src=x onerror=hit=1>{sensor}',
      values: [{ pointer: '/t', quantity: 'temperature', unit: 'C' }],
    });
    await ask('POST', `${at}/recipients`, {
      name: script('Recipient'),
      channel: 'webhook',
      address: 'https://hook.example/<img src=x onerror=hit=1>',
    });
    const group = await ask('POST', '/groups', { name: '<img src=x onerror=hit=1>Group' });
    await ask('PATCH', `${at}/attributes`, {
      area: '<img src=x onerror=hit=1>Area',
      buildType: '<img src=x onerror=hit=1>Type',
      groupIds: [group.id],
    });
    await ask('POST', `${at}/consents`, { scope: 'report', agreedBy: script('Agreed') });

    // what devices send: topics, payloads and client ids are theirs to choose
    const device = await connectAsync(home.broker, { reconnectPeriod: 0, clientId: script('Client') });
    for (const topic of [script('Topic'), `coomb/larch/${script('Key')}`, 'coomb/larch/<img src=x onerror=hit=1>']) {
      await device.publishAsync(topic, '{"temperature_c": "<img src=x onerror=hit=1>Payload"}', { qos: 1 });
      await device.publishAsync(topic, '{"temperature_c": 9.5, "humidity_pct": 80}', { qos: 1 });
    }
    await device.endAsync();

    let pack = await ask('POST', `${at}/packs`, {
      from: new Date(FROM).toISOString(),
      to: new Date(TO).toISOString(),
      places: null,
      words: 'with-words',
      report: 'cause',
      paper: 'A4',
    });
    while (pack.state === 'making') {
      await new Promise((resolve) => setTimeout(resolve, 200));
      pack = await ask('GET', `${at}/packs/${pack.id}`);
    }
    link = (await ask('POST', `${at}/share-links`, { pack: pack.id, label: script('Label'), days: 7 })).path;

    await ask('POST', '/access/first-passphrase', OWNER);
    await ask('POST', '/access/people', {
      name: script('Person'),
      role: 'household',
      passphrase: 'eleven kettles on a sill',
    });
    await ask('POST', `${at}/device-accounts`, { username: 'loft', sensorKey: script('Account') });

    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, locale: 'en-GB' });
    const [name, value] = cookie.split('=') as [string, string];
    await context.addCookies([{ name, value, url: home.address }]);
    // another browser's name is a text too
    page = await context.newPage();
    page.on('dialog', (dialog) => {
      troubles.push(`a dialog opened: ${dialog.message()}`);
      void dialog.dismiss();
    });
    page.on('pageerror', (error) => troubles.push(error.message));
    page.on('console', (message) => {
      // what a policy has to stop got too far already
      if (/Content Security Policy|Refused to/i.test(message.text())) troubles.push(message.text());
    });
  }, 300_000);

  afterAll(async () => {
    await browser?.close();
    await home?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  /** What ran or came to life, and which of the texts are to be read. */
  async function look(where: string): Promise<void> {
    const found = await page.evaluate<{ hit: boolean; alive: number; text: string }>(`({
      hit: 'hit' in window,
      alive: document.querySelectorAll('img[src="x"], [onerror], body script:not([src])').length,
      text: [document.documentElement.textContent]
        .concat([...document.querySelectorAll('*')].flatMap((one) => [...one.attributes].map((each) => each.value)))
        .concat([...document.querySelectorAll('input, textarea')].map((one) => one.value))
        .join(' '),
    })`);
    expect({ where, hit: found.hit, alive: found.alive, troubles }).toEqual({
      where,
      hit: false,
      alive: 0,
      troubles: [],
    });
    for (const [, field] of found.text.matchAll(/(\w+?)\d*"'><img src=x onerror/g)) seen.add(field!);
    for (const [, field] of found.text.matchAll(/<img src=x onerror=hit=1>(\w+)/g)) seen.add(field!);
  }

  it('is thought of for every text of the API: a new one is filled here, or said why it need not be', async () => {
    const document = (await (await fetch(`${home.address}/api/v1/openapi.json`)).json()) as {
      paths: Record<
        string,
        Record<string, { operationId: string; requestBody?: { content: Record<string, { schema: Schema }> } }>
      >;
      components: { schemas: Record<string, Schema> };
    };
    const texts = Object.values(document.paths)
      .flatMap((methods) => Object.values(methods))
      .flatMap(({ operationId, requestBody }) => {
        const schema = requestBody?.content['application/json']?.schema;
        return schema === undefined ? [] : freeTexts(schema, document.components.schemas, operationId);
      });
    const left = new Set(texts.filter((path) => !filled.includes(path) && !others.some(([why]) => why.test(path))));
    expect([...left]).toEqual([]);
    for (const path of filled) expect(texts, 'is there no more').toContain(path);
  });

  it('stays text on every screen that can be reached', async () => {
    const start = [
      '/',
      '/place/1',
      '/place/2',
      '/tonight',
      '/before-after',
      '/loft',
      '/lining',
      '/diary',
      '/sensors',
    ].concat(
      ['/sensors/connect', '/sensors/import', '/sensors/calibrate', '/sensors/placing', '/notices', '/notices/rules'],
      ['/notices/recipients', '/notices/forecast-score', '/evidence', '/settings', '/settings/people', '/nowhere'],
    );
    const waiting = [...start];
    const visited = new Set<string>();
    while (waiting.length > 0) {
      const path = waiting.shift()!;
      if (visited.has(path)) continue;
      visited.add(path);
      await page.goto(`${home.address}${path}${path.includes('?') ? '&' : '?'}dwelling=larch`);
      await settled(page);
      await page.evaluate(`document.querySelectorAll('details').forEach((one) => { one.open = true; })`);
      await look(path);
      const links = await page.evaluate<string[]>(
        `[...document.querySelectorAll('a[href^="/"]')].map((one) => new URL(one.href).pathname)`,
      );
      waiting.push(...links.filter((one) => !/^\/(?:api|shared|assets)\//.test(one) && !/\.\w+$/.test(one)));
    }
    expect(visited.size).toBeGreaterThanOrEqual(start.length);
    expect(visited.size).toBeLessThan(80);
  }, 480_000);

  it('stays text in a kept plan of a lining that is opened', async () => {
    await page.goto(`${home.address}/lining?dwelling=larch`);
    await settled(page);
    await page
      .locator('select')
      .filter({ hasText: script('Plan') })
      .selectOption({ label: script('Plan') });
    // its own layers; others stood there before
    await page.getByText(`Layer"'>`).first().waitFor({ state: 'attached' });
    await settled(page);
    await look('the plan');
  });

  it('stays text in the report that a link shows, which looks as it should', async () => {
    await page.goto(`${home.address}${link}`);
    await look('report');
    // the style got through the policy: paper, as the report has it
    expect(await page.evaluate('getComputedStyle(document.body).backgroundColor')).toBe('rgb(250, 247, 240)');
    expect(await page.textContent('body')).toContain(script('Home'));
  });

  it('stays text in what the address bar and errors say', async () => {
    const said = encodeURIComponent(script('Asked'));
    for (const path of [
      `/?dwelling=${said}`,
      `/place/${said}`,
      `/${said}`,
      `/shared/${said}`,
      `/unsubscribe/${said}`,
      `/api/v1/${said}`,
    ]) {
      await page.goto(`${home.address}${path}`);
      await page.waitForLoadState('networkidle');
      await look(path);
    }
  });

  it('was read by somebody: the screens did show these texts', () => {
    const wanted = [
      'Home',
      'Place',
      'Sensor',
      'Model',
      'Phase',
      'Kind',
      'Text',
      'Caption',
      'Plan',
      'Recipient',
      'Label',
    ];
    const further = ['Person', 'Owner', 'Browser', 'Account', 'Topic', 'Payload', 'Layer'];
    const missing = [...wanted, ...further].filter((field) => !seen.has(field));
    expect(missing).toEqual([]);
  });
});
