import { existsSync } from 'node:fs';
import { join } from 'node:path';
import express, { type Express, type NextFunction, type Request, type Response } from 'express';
import type { Logger } from 'pino';
import type { Access } from './access/access.ts';
import { createDoor } from './access/door.ts';
import { requireReach } from './access/homes.ts';
import { limitSignIn } from './access/limits.ts';
import { digestOf, sameDigest } from './access/token.ts';
import { may } from './access/visit.ts';
import type { Health } from './contract/figures.ts';
import { liveQuery } from './contract/live.ts';
import { type ApiParts, createHandlers } from './handlers.ts';
import type { LiveHub } from './live.ts';
import { EXPOSITION_TYPE, exposition, type Metric } from './metrics.ts';
import { openApiDocument } from './openapi.ts';
import { isFromThisMachine, isPassedOn, strictHeaders } from './outer.ts';
import { problemHandler, RequestProblem } from './problem.ts';
import { check, createRouter } from './router.ts';
import { unsubscribeRouter } from './unsubscribe.ts';

export interface AppParts extends ApiParts {
  readonly live: LiveHub;
  /** whether this process serves page and API; one that does not still says how it is */
  readonly servesPages: boolean;
  readonly log: Logger;
  readonly version: string;
  readonly health: () => Omit<Health, 'version'>;
  readonly metrics: () => Promise<readonly Metric[]>;
  /** addresses and ranges of proxies that are believed whom they pass on */
  readonly trustedProxies: readonly string[];
  /** opens /metrics; null: none does */
  readonly metricsToken: string | null;
  /** whether a proxy on this machine may pass on what others ask, without saying so */
  readonly isProxied: boolean;
  /** folder of the built page */
  readonly webFolder: string;
}

/** How the reason begins when nothing can be written. */
export const CANNOT_STORE = 'readings cannot be stored';

/** The HTTP side: health, API, live stream, and the page. */
export function createApp(parts: AppParts): Express {
  const { store, live, log, version, health, webFolder, access, clock, trustedProxies } = parts;
  const app = express();
  app.disable('x-powered-by');
  app.set('etag', false);
  // an empty list believes nobody: then a request comes from where its socket does
  app.set('trust proxy', [...trustedProxies]);
  app.use(logRequests(log));
  app.use(strictHeaders());
  const changed = (dwellingId: number): void => live.publish(dwellingId, { name: 'deliveries', data: {} });
  if (parts.servesPages) app.use('/shared', parts.shares.router);
  app.get('/robots.txt', (_request, response) => {
    response.type('text').send('User-agent: *\nDisallow: /\n');
  });
  if (parts.servesPages) app.use('/unsubscribe', unsubscribeRouter({ store, clock, changed }));
  app.use(onlyThisSite(access));
  const door = createDoor(store, access, clock);

  app.get('/healthz', async (request, response) => {
    const state = health();
    response.status(state.status === 'ok' ? 200 : 503);
    // why, and where the broker is, is for those who live here
    if (may((await access.visit(request, response)).actor, 'household')) {
      response.json({ ...state, version } satisfies Health);
    } else response.json({ status: state.status });
  });

  // ready: readings and requests are taken, so it says no only where a restart or another machine would help
  app.get('/readyz', async (request, response) => {
    const { reasons } = health();
    const stuck = reasons.filter((reason) => reason.startsWith(CANNOT_STORE));
    response.status(stuck.length === 0 ? 200 : 503);
    const inside = may((await access.visit(request, response)).actor, 'household');
    response.json({ ready: stuck.length === 0, ...(inside ? { reasons: stuck } : {}) });
  });
  app.get('/metrics', async (request, response) => {
    const known = (!parts.isProxied && isFromThisMachine(request)) || hasToken(request, parts.metricsToken);
    if (!known && !may((await access.visit(request, response)).actor, 'household')) {
      throw new RequestProblem(
        'sign-in-needed',
        'Sign in, ask from the machine that runs coomb, or set COOMB_METRICS_TOKEN and send it as a bearer token.',
      );
    }
    response
      .set({ 'content-type': EXPOSITION_TYPE, 'cache-control': 'no-store' })
      .end(exposition(await parts.metrics()));
  });

  if (!parts.servesPages) {
    app.use(() => {
      throw new RequestProblem('not-found', 'This process serves no pages: see COOMB_DUTIES.');
    });
    app.use(problemHandler(log));
    return app;
  }

  let document: ReturnType<typeof openApiDocument> | null = null;
  app.use('/api', (_request, response, next) => {
    response.set('cache-control', 'no-store');
    next();
  });
  app.get('/api/v1/openapi.json', (_request, response) => {
    document ??= openApiDocument(version);
    response.json(document);
  });
  app.get('/api/v1/dwellings/:dwelling/live', async (request, response) => {
    const { actor } = await access.visit(request, response);
    if (!may(actor, 'household')) throw new RequestProblem('sign-in-needed', 'Sign in with your name and passphrase.');
    const dwelling = await store.findDwelling(request.params.dwelling);
    if (actor.kind === 'person') await requireReach(store, actor, dwelling?.id ?? null, null);
    if (!dwelling) throw new RequestProblem('not-found', `There is no dwelling ${request.params.dwelling}.`);
    const { ago = null } = check('query', liveQuery, request.query);
    live.stream(dwelling.id, response, { ago, sessionId: actor.kind === 'person' ? actor.session.id : null });
  });
  access.onEnded(live.endSession);
  app.use('/api/v1/access', limitSignIn());
  app.use('/api/v1', createRouter(createHandlers(parts), door));
  app.use('/api', (request) => {
    throw new RequestProblem('not-found', `There is nothing at ${request.originalUrl}; see /api/v1/openapi.json.`);
  });

  const page = join(webFolder, 'index.html');
  app.use(express.static(webFolder, { index: false, maxAge: '1h', setHeaders: cacheHashedFiles }));
  app.get('/*splat', (_request, response) => {
    if (!existsSync(page)) throw new RequestProblem('not-found', 'The page has not been built: run npm run build.');
    response.set('cache-control', 'no-cache').sendFile(page);
  });
  app.get('/', (_request, response) => {
    if (!existsSync(page)) throw new RequestProblem('not-found', 'The page has not been built: run npm run build.');
    response.set('cache-control', 'no-cache').sendFile(page);
  });
  app.use((request) => {
    throw new RequestProblem('not-found', `Nothing takes ${request.method} there.`);
  });
  app.use(problemHandler(log));
  return app;
}

/** One line for each answer, for whoever looks for a fault; what of an address is secret the log hides. */
function logRequests(log: Logger) {
  return ({ method, originalUrl }: Request, response: Response, next: NextFunction): void => {
    const begun = performance.now();
    const path = originalUrl.split('?', 1)[0];
    response.once('close', () => {
      const ms = Math.round(performance.now() - begun);
      log.debug({ method, path, status: response.statusCode, ms }, 'answered');
    });
    next();
  };
}

/** RFC 6750, 2.1. */
function hasToken({ headers }: Request, token: string | null): boolean {
  const given = /^Bearer +(\S+)$/i.exec(headers.authorization ?? '')?.[1];
  return token !== null && given !== undefined && sameDigest(digestOf(given), digestOf(token));
}

function cacheHashedFiles(response: Response, path: string): void {
  // a browser must see a new version of the page at once, not an hour later
  if (path.endsWith('sw.js')) response.set('cache-control', 'no-cache');
  if (path.includes('/assets/')) response.set('cache-control', 'public, max-age=31536000, immutable');
}

/**
 * Without a passphrase the page is for this machine alone: a request must name it as its host (a foreign name that
 * resolves to loopback is turned away). With one, the session's cookie belongs to the host it was given by. In either
 * case a change must not come from another site's page.
 */
function onlyThisSite(access: Pick<Access, 'isGuarded'>) {
  return (request: Request, _response: Response, next: NextFunction): void => {
    const host = request.headers.host ?? '';
    const name = host.replace(/:\d+$/, '');
    if (!access.isGuarded() && !['localhost', '127.0.0.1', '[::1]'].includes(name)) {
      throw new RequestProblem('foreign-origin', `Open the page as http://localhost; it does not answer to ${name}.`);
    }
    if (!access.isGuarded() && isPassedOn(request)) {
      throw new RequestProblem('foreign-origin', 'Set a passphrase before the page is passed on by a proxy.');
    }
    if (request.method !== 'GET' && request.method !== 'HEAD' && isForeign(request, host)) {
      throw new RequestProblem(
        'foreign-origin',
        `Changes are not taken from ${request.headers.origin ?? 'another site'}.`,
      );
    }
    next();
  };
}

/** By the page's origin, and by what the browser says of it (Fetch Metadata) where it sends none. */
function isForeign({ headers }: Request, host: string): boolean {
  if (headers['sec-fetch-site'] === 'cross-site') return true;
  if (headers.origin === undefined) return false;
  return !URL.canParse(headers.origin) || new URL(headers.origin).host !== host;
}
