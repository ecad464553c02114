/**
 * The service worker: keeps the page itself on the device, one whole version at a time, and the photos that were looked at.
 * It answers nothing of the API; the page keeps its own answers (kept.ts). A new version waits until the reader takes it.
 */
interface Extendable extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface Fetching extends Extendable {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface WorkerScope {
  readonly location: Location;
  addEventListener(name: 'install' | 'activate', hear: (event: Extendable) => void): void;
  addEventListener(name: 'fetch', hear: (event: Fetching) => void): void;
  addEventListener(name: 'message', hear: (event: MessageEvent) => void): void;
  skipWaiting(): Promise<void>;
}
const scope = self as unknown as WorkerScope;

/** Filled in by the build: every file of this version, its version first. */
const [version, ...files] = '%SHELL%'.split(' ') as [string, ...string[]];
const SHELL = `coomb-shell-${version}`;
const PHOTOS = 'coomb-photos';
const MOST_PHOTOS = 60;
/** A page on a slow network waits this long for the newest version of itself, ms. */
const PATIENCE_MS = 4000;

scope.addEventListener('install', (event) => {
  event.waitUntil(caches.open(SHELL).then((cache) => cache.addAll(['/', ...files])));
});

scope.addEventListener('activate', (event) => {
  const old = (name: string) => name.startsWith('coomb-shell-') && name !== SHELL;
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name)))));
});

scope.addEventListener('message', ({ data }) => {
  if (data === 'take-over') void scope.skipWaiting();
});

scope.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== scope.location.origin) return;
  if (request.mode === 'navigate') event.respondWith(page(request));
  else if (files.includes(pathname)) event.respondWith(shellFile(request));
  else if (/^\/api\/v1\/dwellings\/[^/]+\/photos\/\d+\/(?:full|thumbnail)$/.test(pathname)) {
    event.respondWith(photo(request));
  }
});

async function page(request: Request): Promise<Response> {
  const kept = await (await caches.open(SHELL)).match('/');
  if (kept === undefined) return fetch(request);
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    return kept;
  }
}

async function shellFile(request: Request): Promise<Response> {
  return (await (await caches.open(SHELL)).match(request)) ?? fetch(request);
}

async function photo(request: Request): Promise<Response> {
  const cache = await caches.open(PHOTOS);
  try {
    const response = await fetch(request);
    if (response.ok) {
      await cache.put(request, response.clone());
      const keys = await cache.keys();
      await Promise.all(keys.slice(0, -MOST_PHOTOS).map((key) => cache.delete(key)));
    } else {
      await cache.delete(request);
    }
    return response;
  } catch (error) {
    const kept = await cache.match(request);
    if (kept !== undefined) return kept;
    throw error;
  }
}
