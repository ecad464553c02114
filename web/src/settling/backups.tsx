import { useEffect, useState } from 'preact/hooks';
import { type AnswerOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Show } from '../parts/notice.tsx';
import { backupWords as t } from '../words/backups.ts';
import { quantity, when } from '../words/format.ts';
import { said } from '../words/say.ts';

/** While one is being made it is asked for again so often, ms. */
const ASK_EVERY_MS = 2000;

const size = (bytes: number): string => quantity(bytes / 1e6, 'MB', 1);
const plain = (value: number): string => quantity(value, '', 0);

/** Where backups go, how the last one went, and one at once. */
export function Backups() {
  const [asked, setAsked] = useState(0);
  const { loaded, again } = useLoad('backups', asked, (signal) => call('listBackups', {}, signal));
  return (
    <section id="backups">
      <h2>{t.title}</h2>
      <Show loaded={loaded} again={again} room="list">
        {(state) => <State state={state} look={() => setAsked((n) => n + 1)} />}
      </Show>
    </section>
  );
}

function State({ state, look }: { state: AnswerOf<'listBackups'>; look: () => void }) {
  const { zone } = useHome();
  const { folder, running, backups, lastFailure, elsewhere } = state;
  const [begun, setBegun] = useState(false);
  const busy = running || begun;
  useEffect(() => {
    if (!busy) return;
    const timer = setInterval(() => {
      setBegun(false);
      look();
    }, ASK_EVERY_MS);
    return () => clearInterval(timer);
  }, [busy]);
  if (elsewhere) return <p>{t.elsewhere}</p>;
  if (folder === null)
    return (
      <>
        <p>{t.lead}</p>
        <p class="notice tone-unknown">{t.none}</p>
      </>
    );
  const newest = backups[0];
  const told = (at: string): string => when(zone, Date.parse(at), 'full');
  return (
    <>
      <p>{t.lead}</p>
      <p class="breaks">{t.where(folder, plain(state.everyHours), plain(state.keep))}</p>
      {state.sameDisk && <p>{t.sameDisk}</p>}
      <p>{t.secret}</p>
      <p role="status">
        {busy ? t.running : newest === undefined ? t.nothingYet : t.last(told(newest.at), size(newest.bytes))}
      </p>
      {lastFailure !== null && (
        <p class="notice tone-act breaks" role="alert">
          {t.failed(told(lastFailure.at), said.term(lastFailure.message))}
        </p>
      )}
      <div class="buttons">
        <button
          type="button"
          disabled={busy}
          onClick={() => {
            setBegun(true);
            call('startBackup', {}).then(look, look);
          }}
        >
          {t.make}
        </button>
      </div>
      {newest !== undefined && (
        <details>
          <summary>{t.older(plain(backups.length))}</summary>
          <table class="folds">
            <caption class="unseen">{t.title}</caption>
            <thead>
              <tr>
                {Object.values(t.columns).map((column) => (
                  <th key={column} scope="col">
                    {column}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {backups.map(({ name, at, bytes }) => (
                <tr key={name}>
                  <th scope="row">{told(at)}</th>
                  <td data-label={t.columns.size}>{size(bytes)}</td>
                  <td data-label={t.columns.name} class="breaks">
                    {name}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
          <p>
            {t.restore} <code class="breaks">coomb restore --from {newest.name} --replace</code>
          </p>
          <p>{t.after}</p>
        </details>
      )}
    </>
  );
}
