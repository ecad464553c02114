import { request } from 'node:http';
import { gzipSync } from 'node:zlib';
import type { Operation, OperationName } from '../../server/api/contract/operations.ts';
import { operations } from '../../server/api/contract/operations.ts';
import { seeded } from '../physics/seeded.ts';
import { type Schema, type Schemas, sampleNamed, sampleOf } from './schema-sample.ts';

/** Percent-encoded, with half of a surrogate pair as the sign for what cannot be shown. */
const encoded = (text: string): string => encodeURIComponent(Buffer.from(text, 'utf8').toString('utf8'));

/** What of an OpenAPI 3.1 document is read here. */
export interface ApiDocument {
  readonly paths: Readonly<Record<string, Readonly<Record<string, ApiOperation>>>>;
  readonly components?: { readonly schemas?: Schemas };
  readonly servers: readonly { readonly url: string }[];
}

interface ApiOperation {
  readonly operationId: string;
  readonly parameters?: readonly { readonly name: string; readonly in: string; readonly schema: Schema }[];
  readonly requestBody?: { readonly content: Readonly<Record<string, { readonly schema: Schema }>> };
}

/** One request that nobody should send. */
export interface Shot {
  readonly operationId: string;
  readonly method: string;
  /** as it goes over the wire: nothing is put right on the way */
  readonly target: string;
  /** names and values in turn, so that a name may come twice */
  readonly headers: readonly string[];
  readonly body: Buffer | null;
  /** whether it comes with the owner's session */
  readonly signedIn: boolean;
}

export interface Answer {
  readonly status: number;
  readonly type: string;
  readonly headers: Readonly<Record<string, string | string[] | undefined>>;
  readonly body: Buffer;
  readonly ms: number;
}

/** Operations of which a few shots are enough: each starts a process, or a hash that is slow on purpose. */
export const heavy: readonly string[] = [
  'signIn',
  'addPerson',
  'resetPassphrase',
  'changePassphrase',
  'addExample',
  'removeExample',
  'makePack',
  'startBackup',
  'getComparison',
  'previewWatchRules',
  'proposeCalibrations',
  'readInQuarantine',
];
/** These end the session that the others are sent with, if they are let: they go without it. */
const WITHOUT_SESSION: readonly string[] = ['signOut', 'changePassphrase'];
/** The person and the session that everything is sent with stay out of reach. */
const OWN = '1';

const long = 'x'.repeat(70_000);
const hostileTexts = [
  '',
  ' ',
  '\u0000',
  'a\u0000b',
  long,
  '../../../../etc/passwd',
  '%2e%2e%2f%2e%2e%2fcoomb.db',
  "' OR 1=1 --",
  '"; DROP TABLE readings; --',
  '<script>window.hit = 1</script>',
  '\u{1f3e0}\u{1f9ca}',
  '\ud800',
  '\u202egnihtyna',
  'e\u0301'.repeat(40),
  '__proto__',
  'constructor',
  'toString',
  '{{7*7}}',
  '\r\nset-cookie: a=b',
  '9999-12-31T23:59:59.999Z',
  '0000-01-01T00:00:00Z',
  '2026-02-30T00:00:00Z',
  '+275760-09-13T00:00:00Z',
  '1970-01-01T00:00:00-23:59',
  '2026-01-14T22:10:00+24:00',
  'Europe/Nowhere',
  'Etc/GMT+14',
  'NaN',
  '1e400',
  '-1',
  '0',
  '9007199254740993',
  '18446744073709551616',
  '00000000-0000-0000-0000-000000000000',
  '(a+)+$',
  '/~2/~',
  '{'.repeat(200),
  '+/#/$SYS',
];
const hostileValues: readonly unknown[] = [
  ...hostileTexts,
  null,
  true,
  0,
  -0,
  -1,
  0.1,
  1e308,
  -1e308,
  5e-324,
  2 ** 53,
  2 ** 31,
  -(2 ** 31) - 1,
  8.64e15 + 1,
  [],
  {},
  [[]],
  [null],
  { length: 1e9 },
  { toString: 1, valueOf: null },
  Array.from({ length: 3000 }, (_, k) => k),
];
const bodies: readonly Buffer[] = [
  '',
  ' ',
  'null',
  'true',
  '3',
  '"x"',
  '[]',
  '{}',
  '{',
  '[1,]',
  '{"a":1e999}',
  '{"name":NaN}',
  "{'name':1}",
  '\ufeff{}',
  '{"__proto__":{"isOwner":true},"constructor":{"prototype":{"who":"owner"}}}',
  '{"name":"a","name":"b","name":"c"}',
  '['.repeat(100_000),
  `${'['.repeat(20_000)}${']'.repeat(20_000)}`,
  `${'{"a":'.repeat(20_000)}1${'}'.repeat(20_000)}`,
  `"${'x'.repeat(1_100_000)}"`,
  `{"name":"${'\\u0000'.repeat(1000)}"}`,
  '{"name":"\\ud800"}',
  'time,temperature_c\n2026-01-14T22:10:00Z,12.5\n',
  'time;temperature_c\n"'.repeat(500),
]
  .map((text) => Buffer.from(text))
  .concat([
    Buffer.from('7b226e616d65223a22c328a0a1ff22 7d'.replaceAll(' ', ''), 'hex'),
    Buffer.from('fffe7b007d00', 'hex'),
    Buffer.from('ffd8ffe000104a46494600010100000100010000ffd9', 'hex'),
    Buffer.from('89504e470d0a1a0a0000000d49484452ffffffffffffffff0806000000', 'hex'),
    Buffer.alloc(4096),
  ]);
const bomb = gzipSync(Buffer.alloc(20 << 20, 32));
const contentTypes: readonly (readonly string[])[] = [
  ['content-type', 'application/json'],
  ['content-type', 'text/plain'],
  ['content-type', ''],
  ['content-type', 'application/json; charset=utf-7'],
  ['content-type', 'application/json; charset=\u00e9'],
  ['content-type', 'multipart/form-data'],
  ['content-type', 'application/x-www-form-urlencoded'],
  ['content-type', '/'.repeat(500)],
  ['content-type', 'application/json', 'content-type', 'text/plain'],
  ['content-type', 'application/json', 'content-encoding', 'gzip'],
  ['content-type', 'application/json', 'content-encoding', 'deflate, br, nonsense'],
  [],
];
const headerTricks: readonly (readonly string[])[] = [
  [],
  [],
  [],
  ['accept', 'nonsense'],
  ['accept-language', '*;q=9'],
  ['x-forwarded-for', '127.0.0.1', 'x-forwarded-for', '::1'],
  ['x-forwarded-proto', 'https', 'x-forwarded-host', 'elsewhere.example'],
  ['x-http-method-override', 'DELETE'],
  ['if-none-match', '*', 'if-modified-since', 'never'],
  ['range', `bytes=${'0-,'.repeat(300)}0-`],
  ['origin', 'null'],
  ['origin', 'https://elsewhere.example'],
  ['origin', '\u00ff\u00fe'],
  ['sec-fetch-site', 'cross-site'],
  ['authorization', 'Basic !!!'],
  ['authorization', `Basic ${Buffer.from('nobody:nothing').toString('base64')}`],
  ['authorization', `Bearer ${'x'.repeat(4000)}`],
  ['cookie', `coomb-session=; ; =; ${'a=b; '.repeat(200)}`],
  ['cookie', 'coomb-session=%00; coomb-session=../../x'],
  ['user-agent', ''],
  ['user-agent', 'x'.repeat(6000)],
  ['x-long', 'y'.repeat(9000)],
  ['transfer-encoding', 'chunked'],
];
const targetTricks: readonly ((target: string) => string)[] = [
  (target) => `${target}/..%2f..%2f..%2fetc%2fpasswd`,
  (target) => `${target}/../../../../etc/passwd`,
  (target) => target.replace('/api/v1', '/api/v1/%2e%2e/%2e%2e'),
  (target) => target.replaceAll('/', '//'),
  (target) => `${target}%00`,
  (target) => `${target}/%c0%ae%c0%ae/%c0%ae`,
  (target) => `${target}/.`,
  (target) => `${target}%`,
  (target) => `${target}%zz`,
  (target) => `${target};jsessionid=1`,
  (target) => target.toUpperCase(),
  (target) => target.replace('/api', '/./api'),
  (target) => `${target}/${'a/'.repeat(500)}`,
  (target) => `http://127.0.0.1:1${target}`,
  (target) => `${target}#x`,
  (target) => target.replaceAll('/', '\\'),
];
const queryTricks = [
  'a=1&a=2',
  'a[b]=1&a[__proto__][c]=2&__proto__[who]=owner',
  'from=&to=',
  'from[]=1&to[]=2',
  '%00=%00',
  '%',
  '%ff%fe',
  `${'x&'.repeat(1500)}`,
  `from=${'9'.repeat(3000)}`,
  'limit=-1&before=0&points=1e9&columns=,,,&figures=%00',
  'columns=__proto__,constructor,toString',
  'from=2026-01-01T00:00:00Z&to=2025-01-01T00:00:00Z',
  'from=0001-01-01T00:00:00Z&to=9999-12-31T23:59:59Z',
];

/**
 * Requests for every operation of a document in turn, the same in every run of the same seed. About half reach a
 * handler; the others are spoilt in one or several places.
 *
 * @param document as the server gives it
 * @param known values for parts of addresses that lead to something, by their name; may grow meanwhile
 * @param files that an upload would take
 * @param examples bodies that fit where rules beyond the schema make it hard to hit on one, by operation
 */
export function hostileShots(
  document: ApiDocument,
  known: Readonly<Record<string, readonly string[]>>,
  files: readonly Buffer[],
  examples: Readonly<Record<string, unknown>>,
  seed: number,
): { readonly operationIds: readonly string[]; next(operationId: string): Shot } {
  const random = seeded(seed);
  const pick = <T>(from: readonly T[]): T => from[Math.floor(random() * from.length)]!;
  const schemas = document.components?.schemas ?? {};
  const table = new Map(
    Object.entries(document.paths).flatMap(([path, methods]) =>
      Object.entries(methods).map(([method, operation]) => [operation.operationId, { path, method, operation }]),
    ),
  );
  const root = document.servers[0]!.url;

  const partOf = (name: string, path: string): string => {
    const people = path.startsWith('/access/');
    if (random() < 0.85 && known[name] !== undefined && !people) return pick(known[name]);
    if (random() < 0.3) return encodeURIComponent(String(1 + Math.floor(random() * 4)));
    return encoded(pick(hostileTexts).slice(0, random() < 0.9 ? 300 : 20_000));
  };
  const textOf = (name: string, schema: Schema): string => {
    const value = random() < 0.8 ? sampleNamed(name, schema, schemas, random) : pick(hostileValues);
    const text = typeof value === 'object' ? JSON.stringify(value) : String(value);
    return encoded(text.slice(0, 5000));
  };
  /** A body with one thing wrong, somewhere in it. */
  const spoil = (value: unknown, depth = 0): unknown => {
    if (typeof value !== 'object' || value === null || depth > 5 || random() < 0.15) return pick(hostileValues);
    if (Array.isArray(value)) {
      if (value.length === 0 || random() < 0.2) return Array.from({ length: 500 }, () => value[0] ?? 1);
      const at = Math.floor(random() * value.length);
      return value.map((one, k) => (k === at ? spoil(one, depth + 1) : one));
    }
    const entries = Object.entries(value);
    const how = random();
    if (entries.length === 0 || how < 0.15) {
      return JSON.parse(
        JSON.stringify({ ...value }).replace(/\}$/, `${entries.length ? ',' : ''}"__proto__":{"a":1}}`),
      );
    }
    if (how < 0.3) return { ...value, [pick(['extra', 'constructor', '', 'id', '\u0000'])]: pick(hostileValues) };
    const at = Math.floor(random() * entries.length);
    if (how < 0.5) return Object.fromEntries(entries.filter((_, k) => k !== at));
    return Object.fromEntries(entries.map(([key, one], k) => [key, k === at ? spoil(one, depth + 1) : one]));
  };
  const bodyOf = ({ operationId, requestBody }: ApiOperation): Buffer | null => {
    const content = requestBody?.content;
    if (content === undefined) return random() < 0.8 ? null : pick(bodies);
    const json = content['application/json'];
    const how = random();
    if (json === undefined && how < 0.4) return pick(files);
    if (json === undefined || how < 0.25) return pick(bodies);
    const example = examples[operationId];
    const fitting = example === undefined || how > 0.9 ? sampleOf(json.schema, schemas, random) : example;
    return Buffer.from(JSON.stringify(how < 0.55 ? fitting : spoil(fitting)) ?? 'null');
  };

  return {
    operationIds: [...table.keys()],
    next(operationId) {
      const { path, method, operation } = table.get(operationId)!;
      let target = root + path.replaceAll(/\{(\w+)\}/g, (_, name: string) => partOf(name, path));
      if (path.startsWith('/access/') && new RegExp(`/${OWN}(/|$)`).test(target))
        target = target.replace(`/${OWN}`, '/2');
      const query = (operation.parameters ?? [])
        .filter((one) => one.in === 'query' && random() < 0.5)
        .map((one) => `${one.name}=${textOf(one.name, one.schema)}`);
      if (random() < 0.15) query.push(pick(queryTricks));
      if (random() < 0.1) target = pick(targetTricks)(target);
      if (query.length > 0) target += `?${query.join('&')}`;
      let body = bodyOf(operation);
      const type = random() < 0.8 ? contentTypes[0]! : pick(contentTypes);
      if (type.includes('gzip') && random() < 0.7) body = bomb;
      return {
        operationId,
        method: random() < 0.96 ? method.toUpperCase() : pick(['PUT', 'OPTIONS', 'HEAD', 'TRACE', 'PATCH', 'DELETE']),
        target: target.replaceAll(/[^\x21-\x7e]/g, encoded),
        headers: [...(body === null ? [] : type), ...pick(headerTricks)],
        body,
        signedIn: !WITHOUT_SESSION.includes(operationId) && random() < 0.9,
      };
    },
  };
}

export interface Range {
  readonly address: string;
  readonly cookie: string;
  /** longest wait for an answer, ms */
  readonly mostMs: number;
}

/**
 * Sends a shot as it stands.
 *
 * @throws Error when there is no answer in time; a connection that the server closes, also in the middle of an answer
 * because it does not want the rest of what is sent, is an answer of status 0
 */
export function fire({ address, cookie, mostMs }: Range, shot: Shot): Promise<Answer> {
  const { hostname, port, host } = new URL(address);
  const ownCookie = shot.headers.includes('cookie') || shot.headers.includes('authorization');
  const chunked = shot.headers.includes('transfer-encoding');
  const headers = [
    'host',
    host,
    ...shot.headers,
    ...(shot.signedIn && !ownCookie ? ['cookie', cookie] : []),
    ...(shot.body === null || chunked ? [] : ['content-length', String(shot.body.length)]),
  ];
  const begun = performance.now();
  return new Promise((resolve, reject) => {
    const sent = request({
      hostname,
      port,
      method: shot.method,
      path: shot.target,
      headers,
      agent: false,
      // who guesses passphrases is stopped by address: the owner comes from another
      ...(shot.operationId === 'signIn' ? { localAddress: '127.0.0.2' } : {}),
    });
    const done = (answer: Omit<Answer, 'ms'>): void => {
      clearTimeout(timer);
      resolve({ ...answer, ms: performance.now() - begun });
    };
    const timer = setTimeout(() => {
      sent.destroy();
      reject(new Error(`no answer within ${mostMs} ms`));
    }, mostMs);
    const cut = (): void => done({ status: 0, type: '', headers: {}, body: Buffer.alloc(0) });
    sent.on('error', cut);
    sent.on('response', (response) => {
      const pieces: Buffer[] = [];
      const type = response.headers['content-type'] ?? '';
      const end = (): void =>
        done({ status: response.statusCode ?? 0, type, headers: response.headers, body: Buffer.concat(pieces) });
      response.on('data', (piece: Buffer) => pieces.push(piece));
      response.on('end', end);
      response.on('error', cut);
      // never ends on purpose
      if (type.startsWith('text/event-stream')) {
        end();
        sent.destroy();
      }
    });
    sent.end(shot.body ?? undefined);
  });
}

/** What of the inside must not be seen from outside: traces, statements, paths of files, hashes. */
const INSIDE = [
  /\bat [\w.<>[\] ]+ \(?(?:file:|\/|node:)/,
  /\.(?:ts|js):\d+:\d+/,
  /node_modules/,
  /node:internal/,
  /SQLITE_|SqliteError|better-sqlite3/,
  /\b(?:SELECT|INSERT INTO|UPDATE|DELETE FROM)\s+\w+[\s\S]{0,80}\b(?:FROM|VALUES|SET|WHERE)\b/,
  /scrypt\$/,
  /root:x:0/,
  /Cannot read propert|is not a function|undefined \(reading/,
];

/**
 * What is wrong with an answer, or null.
 *
 * @param secrets texts that must never be in one: hashes, tokens, the data folder
 */
export function wrongWith(
  shot: Shot,
  { status, type, headers, body }: Answer,
  secrets: readonly string[],
): string | null {
  if (status >= 500) return `answered with ${status}`;
  // refused by the HTTP parser before the program sees it
  if (status === 0 || (type === '' && body.length === 0)) return null;
  const text = body.toString('latin1');
  // what was sent may come back in the text for its sender
  const sent = `${decoded(shot.target)}${shot.body?.toString('latin1') ?? ''}`;
  if (!/image|zip|parquet|csv|jsonl/.test(type)) {
    for (const inside of INSIDE) {
      const found = inside.exec(text)?.[0];
      if (found !== undefined && !sent.includes(found)) return `shows the inside: ${found}`;
    }
  }
  for (const secret of secrets) if (text.includes(secret)) return `shows a secret: ${secret.slice(0, 12)}…`;
  for (const name of ['content-security-policy', 'x-content-type-options', 'x-frame-options', 'referrer-policy']) {
    if (headers[name] === undefined) return `has no ${name}`;
  }
  if (status >= 400) {
    if (!type.startsWith('application/problem+json')) return `a refusal of ${status} is ${type}`;
    if (shot.method !== 'HEAD') {
      const problem = JSON.parse(body.toString('utf8')) as { status?: number; code?: string };
      if (problem.status !== status || typeof problem.code !== 'string') return 'a refusal is no Problem Details';
    }
    return null;
  }
  const operation = (operations as Record<string, Operation>)[shot.operationId as OperationName];
  if (status < 300 && operation?.response && type.startsWith('application/json') && isPlain(shot)) {
    const result = operation.response.safeParse(JSON.parse(body.toString('utf8')));
    if (!result.success) return `its answer is not of its own contract: ${result.error.message.slice(0, 300)}`;
  }
  return null;
}

/** Whether it was sent to the operation that it was made for. */
const isPlain = ({ method, operationId, target }: Shot): boolean => {
  const operation = (operations as Record<string, Operation>)[operationId]!;
  const pattern = new RegExp(`^/api/v1${operation.path.replaceAll(/:\w+/g, '[^/]+')}(\\?|$)`);
  return method.toLowerCase() === operation.method && pattern.test(target);
};

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** A shot as a line that can be sent again. */
export const told = ({ method, target, headers, body, signedIn }: Shot): string =>
  `${method} ${target.slice(0, 300)} ${JSON.stringify(headers).slice(0, 300)} ${signedIn ? 'signed in' : 'as a stranger'} ${
    body === null ? 'no body' : JSON.stringify(body.subarray(0, 400).toString('utf8'))
  }`;
