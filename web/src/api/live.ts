import { signal } from '@preact/signals';
import type { LiveEvent, MissedName } from '../../../server/api/contract/live.ts';

/** How the live stream is doing; shown in words at the top of every screen. */
export type Connection = 'connecting' | 'live' | 'lost';

export const connection = signal<Connection>('connecting');

/** Each grows by one when what it names may have changed; a screen that shows it asks again. */
export const revisions = {
  now: signal(0),
  hours: signal(0),
  story: signal(0),
  deliveries: signal(0),
  notices: signal(0),
  storing: signal(0),
};

const bump = (name: keyof typeof revisions) => {
  revisions[name].value += 1;
};

/** Grows by one whenever the program answers again after it did not: what could not be had is asked for once more. */
export const returns = signal(0);

/** The program answers again. What was said while the line was down is not said again: everything is asked for. */
export function askForEverything(): void {
  for (const name of ['now', 'hours', 'story', 'deliveries', 'notices', 'storing'] as const) bump(name);
  returns.value += 1;
}

/** A reading as it arrives. */
export type Arrival = Extract<LiveEvent, { name: 'reading' }>['data'];
type Missed = Extract<LiveEvent, { name: 'missed' }>['data'];

const hearers = new Set<(arrival: Arrival) => void>();

/** Calls `hearer` with each reading that arrives, until the returned function is called. */
export function hear(hearer: (arrival: Arrival) => void): () => void {
  hearers.add(hearer);
  return () => hearers.delete(hearer);
}

/** Readings come one by one, several a second; the page asks again at most this often. Hours are heavier to ask for. */
const SETTLE_MS = 1500;
const HOURS_SETTLE_MS = 20_000;
const MINUTE_MS = 60_000;
const AGAIN_MS = 5000;

/** Calls `act` once, `wait` ms after the first of a burst. */
function settled(wait: number, act: () => void): () => void {
  let waiting = false;
  return () => {
    if (waiting) return;
    waiting = true;
    setTimeout(() => {
      waiting = false;
      act();
    }, wait);
  };
}

/** Looks at how things are now each minute, for those who do not listen, until the returned function is called. */
export function lookEachMinute(): () => void {
  const minutes = setInterval(() => bump('now'), MINUTE_MS);
  return () => clearInterval(minutes);
}

/**
 * Listens to a dwelling until the returned function is called.
 *
 * @param since when the page began to ask about it, on the clock of `performance.now()`: what happened before it listens is
 * asked for as well
 * @param refused called when the program answers, but lets nobody listen: whoever was signed in may be so no more
 */
export function listen(dwelling: string, since: number, refused: () => void): () => void {
  let source: EventSource | null = null;
  let again: ReturnType<typeof setTimeout> | null = null;
  const heard: Record<MissedName, () => void> = {
    reading: settled(SETTLE_MS, () => bump('now')),
    hours: settled(HOURS_SETTLE_MS, () => bump('hours')),
    deliveries: settled(SETTLE_MS, () => bump('deliveries')),
    story: settled(SETTLE_MS, () => {
      bump('story');
      bump('now');
      bump('hours');
      bump('notices');
    }),
    notice: settled(SETTLE_MS, () => bump('notices')),
    storing: () => bump('storing'),
  };
  const open = () => {
    const ago = Math.round(performance.now() - since);
    source = new EventSource(`/api/v1/dwellings/${encodeURIComponent(dwelling)}/live?ago=${ago}`);
    source.onopen = () => {
      if (connection.value === 'lost') askForEverything();
      connection.value = 'live';
    };
    source.onerror = () => {
      connection.value = 'lost';
      if (source?.readyState !== EventSource.CLOSED) return;
      refused();
      again = setTimeout(open, AGAIN_MS);
    };
    source.addEventListener('reading', ({ data }: MessageEvent<string>) => {
      if (hearers.size === 0) return;
      const arrival = JSON.parse(data) as Arrival;
      for (const hearer of hearers) hearer(arrival);
    });
    source.addEventListener('missed', ({ data }: MessageEvent<string>) => {
      for (const name of (JSON.parse(data) as Missed).names) heard[name]();
    });
    for (const [name, act] of Object.entries(heard)) source.addEventListener(name, act);
  };
  open();
  // A place grows stale by the passing of time alone.
  const looks = lookEachMinute();
  return () => {
    source?.close();
    looks();
    if (again !== null) clearTimeout(again);
    connection.value = 'connecting';
  };
}
