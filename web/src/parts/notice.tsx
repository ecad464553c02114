import type { ComponentChildren } from 'preact';
import type { Failure } from '../api/client.ts';
import type { Loaded } from '../api/load.ts';
import { saidFirst } from '../words/say-first.ts';
import { words } from '../words/words.ts';

export function failureWords(failure: Failure): string {
  switch (failure.kind) {
    case 'unreachable':
      return words.failure.unreachable;
    case 'not-understood':
      return words.failure.notUnderstood(failure.status);
    case 'problem':
      return saidFirst.problem(failure.problem);
  }
}

export function FailureNotice(props: { failure: Failure; again: () => void; stale?: boolean }) {
  return (
    <div class="notice tone-act" role="alert">
      <p>{failureWords(props.failure)}</p>
      {props.stale && <p>{words.failure.stale}</p>}
      <button type="button" onClick={props.again}>
        {words.again}
      </button>
    </div>
  );
}

/** What to show while an answer is on its way, when it came, and when it did not. `room` keeps the page from jumping. */
export function Show<T>(props: {
  loaded: Loaded<T>;
  again: () => void;
  room: 'line' | 'list' | 'table' | 'chart' | 'screen';
  waiting?: string;
  /** height to keep, rem, where it is known better than `room` knows it */
  keep?: number;
  children: (value: T) => ComponentChildren;
}) {
  const { loaded } = props;
  switch (loaded.kind) {
    case 'loading':
      return (
        <div
          class={`waiting room-${props.room}`}
          role="status"
          style={props.keep === undefined ? undefined : { minHeight: `${props.keep}rem` }}
        >
          {props.waiting ?? words.loading}
        </div>
      );
    case 'ready':
      return <>{props.children(loaded.value)}</>;
    case 'failed':
      return (
        <>
          <FailureNotice failure={loaded.failure} again={props.again} stale={loaded.value !== null} />
          {loaded.value === null ? null : props.children(loaded.value)}
        </>
      );
  }
}

export function Empty(props: { title: string; next: ComponentChildren }) {
  return (
    <div class="notice tone-unknown">
      <p>
        <strong>{props.title}</strong>
      </p>
      <p>{props.next}</p>
    </div>
  );
}
