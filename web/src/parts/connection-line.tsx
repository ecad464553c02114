import { useEffect, useState } from 'preact/hooks';
import { connection } from '../api/live.ts';
import { keptSince } from '../offline/kept.ts';
import { ago, when } from '../words/format.ts';
import { words } from '../words/words.ts';

const MINUTE_MS = 60_000;

/** The present time, UTC ms, a minute at a time. */
function useMinute(): number {
  const [now, setNow] = useState(() => Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), MINUTE_MS);
    return () => clearInterval(timer);
  }, []);
  return now;
}

/**
 * How the line to the program is doing, and from when what is shown is, where it does not come from the program itself.
 * Who does not listen to a home (there is none, or it is another's) is told only that there is no line.
 */
export function ConnectionLine(props: { zone: string | null; listens: boolean }) {
  const now = Math.max(useMinute(), Date.now());
  const since = keptSince.value;
  const isLost = connection.value === 'lost' || (since !== null && connection.value !== 'live');
  const state = isLost ? 'lost' : props.listens ? connection.value : 'none';
  const zone = props.zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;
  const said = (): string => {
    if (state === 'none') return '';
    if (state !== 'lost' || since === null) return words.connection[state];
    const time = when(zone, since, 'moment');
    return now - since < MINUTE_MS ? words.connection.keptNow(time) : words.connection.kept(time, ago(since, now));
  };
  return (
    <p class={`connection is-${state}`} role="status">
      {said()}
    </p>
  );
}
