import { useEffect, useRef, useState } from 'preact/hooks';
import { CallFailed, type Failure } from './client.ts';
import { returns } from './live.ts';

/** What is known of an answer. A failure keeps the last good value, so that the screen can go on showing it. */
export type Loaded<T> =
  | { readonly kind: 'loading' }
  | { readonly kind: 'ready'; readonly value: T }
  | { readonly kind: 'failed'; readonly failure: Failure; readonly value: T | null };

interface Held<T> {
  readonly identity: string;
  readonly loaded: Loaded<T>;
}

const failureOf = (reason: unknown): Failure => {
  if (reason instanceof CallFailed) return reason.failure;
  throw reason;
};

/** What is asked for under one identity, one question after the other. */
interface Asking {
  isUnderWay: boolean;
  /** something changed while an answer was on its way */
  isDue: boolean;
}

/**
 * Loads and keeps loading: again when `identity` (what is asked for) or `revision` (how fresh) changes. While only the
 * revision changed the old value stays on the screen, and an answer that is on its way is waited for and shown: readings
 * come more often than a slow machine can answer, and it would never get to the end of one.
 */
export function useLoad<T>(
  identity: string,
  revision: number,
  load: (signal: AbortSignal) => Promise<T>,
): { readonly loaded: Loaded<T>; readonly again: () => void } {
  const [held, setHeld] = useState<Held<T>>({ identity, loaded: { kind: 'loading' } });
  const [attempt, setAttempt] = useState(0);
  const latest = useRef(load);
  latest.current = load;
  const asking = useRef<(() => void) | null>(null);
  const state = useRef<Asking>({ isUnderWay: false, isDue: false });
  const returned = returns.value;
  useEffect(() => {
    // what was asked for over a line that broke may never be answered
    const isLost = held.loaded.kind === 'failed' && held.loaded.failure.kind === 'unreachable';
    if (isLost || state.current.isUnderWay) setAttempt((n) => n + 1);
  }, [returned]);
  // The identity stands for what `load` closes over.
  useEffect(() => {
    const abort = new AbortController();
    const own: Asking = { isUnderWay: false, isDue: false };
    state.current = own;
    const ask = (): void => {
      own.isDue = own.isUnderWay;
      if (own.isUnderWay) return;
      own.isUnderWay = true;
      latest
        .current(abort.signal)
        .then(
          (value) => {
            if (!abort.signal.aborted) setHeld({ identity, loaded: { kind: 'ready', value } });
          },
          (reason) => {
            if (abort.signal.aborted) return;
            const failure = failureOf(reason);
            setHeld((last) => {
              const value = last.identity === identity && last.loaded.kind !== 'loading' ? last.loaded.value : null;
              return { identity, loaded: { kind: 'failed', failure, value } };
            });
          },
        )
        .finally(() => {
          own.isUnderWay = false;
          if (own.isDue && !abort.signal.aborted) ask();
        });
    };
    asking.current = ask;
    return () => abort.abort();
  }, [identity, attempt]);
  useEffect(() => asking.current?.(), [identity, attempt, revision]);
  const loaded: Loaded<T> = held.identity === identity ? held.loaded : { kind: 'loading' };
  return { loaded, again: () => setAttempt((n) => n + 1) };
}
