import { signal } from '@preact/signals';

/**
 * The last answers of the program, kept on this device so that the page still shows something without a connection. Only
 * what was asked for is kept, never what was sent; only where the browser allows it (localhost, https).
 */
const ANSWERS = 'coomb-answers';
/** Also filled by the service worker, with photos that were looked at. */
const PHOTOS = 'coomb-photos';
const MOST_ANSWERS = 150;
const TRIM_EVERY = 25;
/** Answers of the last minute come again and again while sensors report: the disk need not see each, ms. */
const REST_MS = 15_000;
const KEPT_AT = 'x-kept-at';

/** UTC ms of the oldest answer out of the store that is on the screen; null: all are from the program itself. */
export const keptSince = signal<number | null>(null);

/** When an answer out of the store was kept, by the answer itself. */
const keptTimes = new WeakMap<object, number>();

/** UTC ms at which an answer was kept; null: it is fresh from the program. */
export const keptAt = (answer: object): number | null => keptTimes.get(answer) ?? null;

const canKeep = typeof caches !== 'undefined';
const lastKept = new Map<string, number>();
let sinceTrim = 0;
let timesForgotten = 0;

/** To be asked when an answer is asked for, and told to {@link keep}: what was forgotten meanwhile is not kept after all. */
export const forgottenSoFar = (): number => timesForgotten;

/** Where the answer to a question that is too long for an address is kept: the question stands behind it. */
export const askedAt = (address: string, question: string): string =>
  `${address}${address.includes('?') ? '&' : '?'}asked=${encodeURIComponent(question)}`;

/** Keeps an answer; that it cannot is no reason to show less. */
export async function keep(address: string, text: string, forgotten: number): Promise<void> {
  const now = Date.now();
  if (!canKeep || forgotten !== timesForgotten || now - (lastKept.get(address) ?? 0) < REST_MS) return;
  lastKept.set(address, now);
  try {
    const cache = await caches.open(ANSWERS);
    await cache.put(
      address,
      new Response(text, { headers: { [KEPT_AT]: String(now), 'content-type': 'application/json' } }),
    );
    sinceTrim += 1;
    if (sinceTrim < TRIM_EVERY) return;
    sinceTrim = 0;
    // in order of keeping
    const keys = await cache.keys();
    await Promise.all(keys.slice(0, -MOST_ANSWERS).map((key) => cache.delete(key)));
  } catch {
    lastKept.delete(address);
  }
}

/** The last answer to this address, with the time it was kept; null: there is none. */
export async function keptAnswer(address: string): Promise<{ readonly answer: object; readonly at: number } | null> {
  if (!canKeep) return null;
  try {
    const found = await (await caches.open(ANSWERS)).match(address);
    const at = Number(found?.headers.get(KEPT_AT));
    if (found === undefined || !Number.isFinite(at)) return null;
    const answer: object = await found.json();
    keptTimes.set(answer, at);
    return { answer, at };
  } catch {
    return null;
  }
}

/** Forgets everything of any home that is kept on this device. To be called when somebody signs out. */
export async function forgetKept(): Promise<void> {
  timesForgotten += 1;
  lastKept.clear();
  keptSince.value = null;
  if (!canKeep) return;
  await Promise.all([ANSWERS, PHOTOS].map((name) => caches.delete(name)));
}
