import { useEffect, useState } from 'preact/hooks';
import type { Health } from '../../../server/api/contract/figures.ts';
import { connection, revisions } from '../api/live.ts';
import { when } from '../words/format.ts';
import { words } from '../words/words.ts';

type Trouble = NonNullable<Health['trouble']>;

/** What the program says of itself; what cannot be asked is said elsewhere, by the line about the connection. */
async function askTrouble(signal: AbortSignal): Promise<Trouble | null> {
  const response = await fetch('/healthz', { signal });
  const health = (await response.json()) as Partial<Health>;
  return health.trouble ?? null;
}

/** Says over every screen that readings are not being kept, and why. */
export function Storing(props: { zone: string }) {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const revision = revisions.storing.value;
  const isLost = connection.value === 'lost';
  useEffect(() => {
    if (isLost) return;
    const abort = new AbortController();
    askTrouble(abort.signal).then(setTrouble, () => undefined);
    return () => abort.abort();
  }, [revision, isLost]);
  return (
    <div aria-live="assertive" class="storing">
      {trouble !== null && (
        <div class="notice tone-act">
          <p>
            <strong>{words.storing.title}</strong> {words.storing.since(when(props.zone, trouble.since, 'moment'))}
          </p>
          <p>{words.storing.why[trouble.code]}</p>
        </div>
      )}
    </div>
  );
}
