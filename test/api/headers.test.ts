import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { request } from 'node:https';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Operation, operations } from '../../server/api/contract/operations.ts';
import { readConfig } from '../../server/config.ts';
import { startCoomb } from '../../server/main.ts';
import { newCertificates } from '../watch/certificates.ts';
import { givenHome, startServer, type TestServer } from './server.ts';

let server: TestServer;
beforeAll(async () => {
  server = await startServer();
  await givenHome(server);
});
afterAll(() => server.close());

/** Content Security Policy Level 3, 2.2.1: directives parted by semicolons, names once. */
function policyOf(header: string | null): ReadonlyMap<string, readonly string[]> {
  const directives = (header ?? '').split(';').map((one) => one.trim().split(/\s+/));
  const policy = new Map(directives.map(([name = '', ...sources]) => [name.toLowerCase(), sources]));
  expect(policy.size, header ?? 'no policy').toBe(directives.length);
  return policy;
}

/** What must hold for every answer, whoever asked for what. */
function expectStrict(path: string, headers: Headers): void {
  const policy = policyOf(headers.get('content-security-policy'));
  const all = [...policy.values()].flat();
  for (const lax of [
    "'unsafe-inline'",
    "'unsafe-eval'",
    "'unsafe-hashes'",
    "'wasm-unsafe-eval'",
    '*',
    'http:',
    'https:',
  ]) {
    expect(all, `${path}: ${lax}`).not.toContain(lax);
  }
  const fallback = policy.get('default-src');
  expect(["'self'", "'none'"], path).toContain(fallback?.join(' '));
  // scripts come from this program's files, or from nowhere; data: holds for pictures alone
  const scripts = policy.get('script-src') ?? fallback;
  expect(["'self'", "'none'"], path).toContain(scripts?.join(' '));
  // these do not fall back to default-src (CSP3, 6.1)
  if (!policy.has('sandbox')) {
    expect(policy.get('base-uri'), path).toEqual(["'none'"]);
    expect(policy.get('frame-ancestors'), path).toEqual(["'none'"]);
    expect(["'self'", "'none'"], path).toContain(policy.get('form-action')?.join(' '));
  }
  expect(headers.get('x-content-type-options'), path).toBe('nosniff');
  expect(headers.get('x-frame-options'), path).toBe('DENY');
  expect(headers.get('referrer-policy'), path).toBe('no-referrer');
  expect(headers.get('cross-origin-opener-policy'), path).toBe('same-origin');
  expect(headers.get('cross-origin-resource-policy'), path).toBe('same-origin');
  expect(headers.get('permissions-policy'), path).toContain('camera=()');
  for (const told of ['x-powered-by', 'server', 'access-control-allow-origin'])
    expect(headers.get(told), path).toBeNull();
}

describe('every answer has strict headers, and none over plain HTTP promises TLS', () => {
  const pages = [
    '/',
    '/sensors',
    '/settings/people',
    '/place/1',
    '/nowhere/at/all',
    '/robots.txt',
    '/sw.js',
    '/manifest.webmanifest',
  ];
  const beside = [
    '/healthz',
    '/readyz',
    '/metrics',
    '/shared/x',
    '/shared/x/report.pdf',
    '/unsubscribe/x',
    '/unsubscribe/page.css',
  ];
  const wrong = ['/api', '/api/v1/nothing', '/api/v1/openapi.json', '/%', '/assets/none.js', '/..%2f..%2fetc%2fpasswd'];
  const ofTable = (Object.values(operations) as Operation[]).map(
    ({ method, path }) =>
      [method.toUpperCase(), `/api/v1${path.replace(':dwelling', 'mill-cottage').replace(/:\w+/g, '1')}`] as const,
  );
  const gets = [...pages, ...beside, ...wrong].map((path) => ['GET', path] as const);
  const others = [
    ['POST', '/'],
    ['PUT', '/sensors'],
    ['DELETE', '/shared/x'],
    ['OPTIONS', '/api/v1/dwellings'],
    ['HEAD', '/'],
  ] as const;

  it.each([...gets, ...ofTable, ...others])('%s %s', async (method, path) => {
    // a page of this site that sends nothing that fits
    const headers = { 'content-type': 'application/json' };
    const response = await fetch(`${server.coomb.address}${path}`, {
      method,
      ...(method === 'GET' || method === 'HEAD' ? {} : { body: '"nothing"', headers }),
    });
    await response.body?.cancel();
    expectStrict(`${method} ${path}`, response.headers);
    expect(response.headers.get('strict-transport-security')).toBeNull();
    if (path.startsWith('/api/')) expect(response.headers.get('cache-control'), path).toMatch(/no-store|private/);
  });
});

const certificates = newCertificates();
it.skipIf(certificates === null)(
  'over TLS the browser is told to stay with it, for this host and a month',
  async () => {
    const folder = mkdtempSync(join(tmpdir(), 'coomb-tls-headers-'));
    const { authority, key, certificate } = certificates!;
    writeFileSync(join(folder, 'key.pem'), key, { mode: 0o600 });
    writeFileSync(join(folder, 'certificate.pem'), certificate);
    const config = readConfig(
      {},
      {
        dataFolder: folder,
        httpPort: 0,
        mqttPort: 0,
        tlsKey: join(folder, 'key.pem'),
        tlsCertificate: join(folder, 'certificate.pem'),
      },
    );
    const coomb = await startCoomb(config, pino({ level: 'silent' }));
    try {
      const url = new URL(coomb.address);
      const header = await new Promise((resolve, reject) => {
        request({ hostname: 'localhost', port: url.port, path: '/readyz', ca: authority }, (response) => {
          response.resume();
          resolve(response.headers['strict-transport-security']);
        })
          .on('error', reject)
          .end();
      });
      expect(header).toBe('max-age=2592000');
    } finally {
      await coomb.close();
      rmSync(folder, { recursive: true });
    }
  },
);

it('the page itself holds no script and no style of its own text', () => {
  // as it is built and served
  const html = readFileSync(new URL('../../dist/web/index.html', import.meta.url), 'utf8');
  expect(html).not.toMatch(/<script(?![^>]*\bsrc=)[^>]*>\s*\S/i);
  expect(html).not.toMatch(/<style|\sstyle=|\son\w+=|javascript:/i);
});
