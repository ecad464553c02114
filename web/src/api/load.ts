import { useEffect, useState } from 'preact/hooks';
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

/**
 * Loads and keeps loading: again when `identity` (what is asked for) or `revision` (how fresh) changes. While only the
 * revision changed the old value stays on the screen.
 */
export function useLoad<T>(
  identity: string,
  revision: number,
  load: (signal: AbortSignal) => Promise<T>,
): { readonly loaded: Loaded<T>; readonly again: () => void } {
  const [held, setHeld] = useState<Held<T>>({ identity, loaded: { kind: 'loading' } });
  const [attempt, setAttempt] = useState(0);
  const returned = returns.value;
  useEffect(() => {
    if (held.loaded.kind === 'failed' && held.loaded.failure.kind === 'unreachable') setAttempt((n) => n + 1);
  }, [returned]);
  // The identity stands for what `load` closes over.
  useEffect(() => {
    const abort = new AbortController();
    load(abort.signal).then(
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
    );
    return () => abort.abort();
  }, [identity, revision, attempt]);
  const loaded: Loaded<T> = held.identity === identity ? held.loaded : { kind: 'loading' };
  return { loaded, again: () => setAttempt((n) => n + 1) };
}
