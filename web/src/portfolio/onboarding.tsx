import { useState } from 'preact/hooks';
import { type AnswerOf, addressOf, CallFailed, call, type Failure, upload } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { save } from '../charts/save.ts';
import { Field } from '../parts/form.tsx';
import { FailureNotice, Show } from '../parts/notice.tsx';
import { number } from '../words/format.ts';
import { onboardingWords as t } from '../words/onboarding.ts';
import { said } from '../words/say.ts';

type Look = AnswerOf<'checkOnboarding'>;
type Done = AnswerOf<'onboardHomes'>;

type State =
  | { readonly kind: 'nothing' }
  | { readonly kind: 'working' }
  | { readonly kind: 'failed'; readonly failure: Failure }
  | { readonly kind: 'looked'; readonly look: Look }
  | { readonly kind: 'done'; readonly done: Done };

/** Many homes from one file: looked through first, then added, with passwords and labels to take along. */
export function Onboarding(props: { added: () => void }) {
  const [file, setFile] = useState<File | null>(null);
  const [state, setState] = useState<State>({ kind: 'nothing' });
  const work = async (begin: (file: File) => Promise<State>) => {
    if (file === null || state.kind === 'working') return;
    setState({ kind: 'working' });
    try {
      setState(await begin(file));
    } catch (reason) {
      if (!(reason instanceof CallFailed)) throw reason;
      setState({ kind: 'failed', failure: reason.failure });
    }
  };
  const check = () => work(async (sent) => ({ kind: 'looked', look: await upload('checkOnboarding', {}, sent) }));
  const run = () =>
    work(async (sent) => {
      const done = await upload('onboardHomes', {}, sent);
      props.added();
      return { kind: 'done', done };
    });
  return (
    <section id="onboarding" class="no-print">
      <h2>{t.title}</h2>
      <p>{t.lead}</p>
      <Columns />
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void check();
        }}
      >
        <Field label={t.file}>
          {(ids) => (
            <input
              {...ids}
              type="file"
              accept=".csv,text/csv"
              required
              onChange={({ currentTarget: { files } }) => {
                setFile(files?.[0] ?? null);
                setState({ kind: 'nothing' });
              }}
            />
          )}
        </Field>
        <div class="buttons">
          <button type="submit" class="main" aria-disabled={state.kind === 'working'}>
            {t.check}
          </button>
        </div>
      </form>
      <p role="status">{state.kind === 'working' ? t.looking : ''}</p>
      {state.kind === 'failed' && <FailureNotice failure={state.failure} again={check} />}
      {state.kind === 'looked' && <Looked look={state.look} run={run} />}
      {state.kind === 'done' && <Finished done={state.done} />}
    </section>
  );
}

function Columns() {
  const [isOpen, setOpen] = useState(false);
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{t.columns}</summary>
      {isOpen && <ColumnTable />}
    </details>
  );
}

function ColumnTable() {
  const { loaded, again } = useLoad('onboarding columns', 0, (signal) => call('listOnboardingColumns', {}, signal));
  return (
    <Show loaded={loaded} again={again} room="table">
      {(columns) => (
        <table class="folds">
          <caption class="unseen">{t.columns}</caption>
          <thead>
            <tr>
              <th scope="col">{t.column}</th>
              <th scope="col">{t.meaning}</th>
            </tr>
          </thead>
          <tbody>
            {columns.map(({ name, meaning }) => (
              <tr key={name}>
                <th scope="row">
                  <code>{name}</code>
                </th>
                <td class="wrap-anywhere">{t.meanings[name] ?? meaning}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </Show>
  );
}

function Looked({ look, run }: { look: Look; run: () => void }) {
  const { dwellings, places, sensors, mappings, accounts } = look.lacking;
  const isAny = dwellings + places + sensors + mappings + accounts > 0;
  return (
    <>
      <Faults faults={look.faults} />
      {look.dwellings.length > 0 && (
        <p role="status">
          {isAny ? t.found(number(dwellings), number(places), number(sensors), number(accounts)) : t.nothing}
        </p>
      )}
      {isAny && (
        <div class="buttons">
          <button type="button" class="main" onClick={run}>
            {t.run}
          </button>
        </div>
      )}
      <Labels dwellings={isAny ? [] : look.dwellings} />
    </>
  );
}

/** A fault in the reader's language: from its code and data, or as the program says it. */
function saidOf({ code, data, message, whatToDo }: Look['faults'][number]): readonly [string, string] {
  if (t.faultWords === null) return [message, whatToDo];
  // the code says of which form the data is
  const say = t.faultWords[code] as (given: unknown) => readonly [string, string];
  return say(typeof data.detail === 'string' ? { ...data, detail: said.term(data.detail) } : data);
}

function Faults({ faults }: { faults: Look['faults'] }) {
  if (faults.length === 0) return null;
  return (
    <div class="notice tone-act" role="alert">
      <p>
        <strong>{t.faults(number(faults.length), faults.length === 1)}</strong>
      </p>
      <p>{t.faultsLead}</p>
      <ul>
        {faults.map((fault) => {
          const { row, column } = fault;
          const [message, whatToDo] = saidOf(fault);
          return (
            <li key={`${row} ${column} ${message}`} class="wrap-anywhere">
              {row !== null && `${t.row} ${row}`}
              {column !== null && (
                <>
                  {' '}
                  <code>{column}</code>
                </>
              )}
              : {message}. {whatToDo}
            </li>
          );
        })}
      </ul>
    </div>
  );
}

function Finished({ done }: { done: Done }) {
  return (
    <>
      <Faults faults={done.faults} />
      <p role="status">{t.done(number(done.dwellings.length))}</p>
      {done.passwords.length > 0 && (
        <div class="notice tone-watch">
          <p>
            <strong>{t.passwords}</strong>
          </p>
          <p>{t.passwordsLead}</p>
          <button type="button" class="main" onClick={() => save(passwordFile(done.passwords), 'coomb-passwords.csv')}>
            {t.savePasswords}
          </button>
        </div>
      )}
      <Labels dwellings={done.dwellings} />
    </>
  );
}

/** Names and passwords are of letters, digits and a few signs none of which a table takes amiss. */
const passwordFile = (passwords: Done['passwords']): Blob => {
  const rows = passwords.map(({ dwelling, sensor, username, password }) => [dwelling, sensor, username, password]);
  const cell = (text: string): string => `"${text.replaceAll('"', '""')}"`;
  const lines = [['dwelling', 'sensor', 'username', 'password'], ...rows].map((row) => row.map(cell).join(','));
  return new Blob([`${lines.join('\r\n')}\r\n`], { type: 'text/csv' });
};

/** So many homes the program makes labels of at a time. */
const BATCH = 100;

function Labels({ dwellings }: { dwellings: readonly string[] }) {
  const [chosen, setChosen] = useState(0);
  if (dwellings.length === 0) return null;
  const batches = Array.from({ length: Math.ceil(dwellings.length / BATCH) }, (_, k) =>
    dwellings.slice(k * BATCH, (k + 1) * BATCH),
  );
  const batch = batches[chosen] ?? batches[0]!;
  const query = { dwellings: batch.join(','), base: location.origin };
  return (
    <>
      <h3>{t.labels}</h3>
      <p>{t.labelsLead}</p>
      {batches.length > 1 && (
        <Field label={t.labelsBatch(number(BATCH))}>
          {(ids) => (
            <select {...ids} value={chosen} onChange={(event) => setChosen(Number(event.currentTarget.value))}>
              {batches.map((homes, k) => (
                <option key={homes[0]} value={k}>
                  {t.labelsFrom(homes[0]!, homes.at(-1)!, number(k * BATCH + 1), number(k * BATCH + homes.length))}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      <div class="buttons">
        <a href={addressOf('getLabels', {}, { ...query, format: 'pdf' })}>{t.labelsPdf}</a>
        <a href={addressOf('getLabels', {}, { ...query, format: 'html' })}>{t.labelsHtml}</a>
      </div>
    </>
  );
}
