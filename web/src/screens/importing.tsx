import { useEffect, useState } from 'preact/hooks';
import type { ImportOptions, ImportState } from '../../../server/api/contract/imports.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { CallFailed, call, upload } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { failureWords, Show } from '../parts/notice.tsx';
import { number, quantity, when, withUnit } from '../words/format.ts';
import { importingWords as t } from '../words/importing.ts';
import { words } from '../words/words.ts';
import '../style/settling.css';
import { said } from '../words/say.ts';

type Plan = NonNullable<ImportState['plan']>;
type Step =
  | { readonly kind: 'choosing' }
  | { readonly kind: 'sending'; readonly share: number }
  | { readonly kind: 'sent'; readonly state: ImportState };

const LOOK_AGAIN_MS = 400;
const share = (part: number | null): string => withUnit(number(100 * (part ?? 0)), '%');

/** The importer speaks of its options as the command line calls them; here they have labels. */
const inWords = (text: string): string =>
  t.optionNames.reduce((said, [option, label]) => said.replaceAll(option, label), text);

/** Reads a logger's file in: chosen, looked at, read. */
export function ImportingScreen() {
  const home = useHome();
  const [step, setStep] = useState<Step>({ kind: 'choosing' });
  const [why, setWhy] = useState<string | null>(null);
  const state = step.kind === 'sent' ? step.state : null;
  const running = state?.state === 'checking' || state?.state === 'reading';

  const failed = (reason: unknown): void => {
    if (!(reason instanceof CallFailed)) throw reason;
    setWhy(failureWords(reason.failure));
  };
  const follow = (next: ImportState): void => {
    setWhy(null);
    setStep({ kind: 'sent', state: next });
    if (next.state === 'done') {
      revisions.story.value += 1;
      revisions.now.value += 1;
    }
  };
  const params = { dwelling: home.slug, id: state?.id ?? '' };
  useEffect(() => {
    if (!running) return;
    // an answer that is overtaken must not bring back what was
    const leaving = new AbortController();
    const look = () =>
      call('getImport', { params }, leaving.signal).then(follow, (reason) => {
        if (!leaving.signal.aborted) failed(reason);
      });
    const again = setInterval(look, LOOK_AGAIN_MS);
    return () => {
      clearInterval(again);
      leaving.abort();
    };
  }, [running, params.id]);

  const send = (file: File | undefined): void => {
    if (file === undefined) return;
    setWhy(null);
    setStep({ kind: 'sending', share: 0 });
    const request = { params: { dwelling: home.slug }, query: { name: file.name } };
    upload('beginImport', request, file, (part) => setStep({ kind: 'sending', share: part })).then(follow, (reason) => {
      setStep({ kind: 'choosing' });
      failed(reason);
    });
  };
  const another = (): void => {
    // whatever comes of it: the program forgets such files by itself
    if (state !== null) call('removeImport', { params }).catch(() => undefined);
    setStep({ kind: 'choosing' });
    setWhy(null);
  };

  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
      </p>
      <h1>{words.screens.importing}</h1>
      <p class="lead">{t.lead}</p>
      {why !== null && (
        <p class="notice tone-act" role="alert">
          {why}
        </p>
      )}
      {step.kind === 'choosing' && (
        <Owners what="importing">
          <Field label={t.choose} hint={t.chooseHint}>
            {(ids) => (
              <input
                {...ids}
                type="file"
                accept=".csv,.txt,.tsv,text/csv,text/plain"
                onChange={(event) => send(event.currentTarget.files?.[0])}
              />
            )}
          </Field>
        </Owners>
      )}
      <p role="status">
        {step.kind === 'sending' && t.sending(share(step.share))}
        {state?.state === 'checking' && t.checking(share(state.share))}
        {state?.state === 'reading' && t.reading(share(state.share))}
      </p>
      {(step.kind === 'sending' || running) && (
        <progress max={1} value={step.kind === 'sending' ? step.share : (state?.share ?? 0)} aria-label={t.choose} />
      )}
      {state?.state === 'unusable' && (
        <section>
          <h2>{t.unusable(state.name)}</h2>
          <p class="notice tone-watch">{inWords(said.term(state.problem?.message ?? ''))}</p>
        </section>
      )}
      {state?.state === 'failed' && (
        <p class="notice tone-act" role="alert">
          {t.failed} {said.term(state.problem?.message ?? '')}
        </p>
      )}
      {state?.state === 'checked' && state.plan !== null && <Found name={state.name} plan={state.plan} />}
      {(state?.state === 'checked' || state?.state === 'unusable') && (
        <>
          {state.state === 'checked' && (state.plan?.readings ?? 0) > 0 && (
            <SaveForm
              submit={t.run}
              send={async (fields) => {
                follow(await call('runImport', { params, body: { sensorKey: textOf(fields, 'sensor') } }));
              }}
            >
              <Field label={t.sensor} hint={t.sensorHint}>
                {(ids) => (
                  <input
                    {...ids}
                    name="sensor"
                    required
                    maxLength={100}
                    pattern="[^\s\/+#]+"
                    defaultValue={keyOf(state.name)}
                  />
                )}
              </Field>
            </SaveForm>
          )}
          <OtherWay
            key={state.id}
            state={state}
            send={async (body) => follow(await call('checkImport', { params, body }))}
          />
        </>
      )}
      {state?.state === 'done' && state.outcome !== null && (
        <Done outcome={state.outcome} from={state.plan?.first ?? null} />
      )}
      {state !== null && !running && (
        <div class="buttons">
          <button type="button" onClick={another}>
            {t.another}
          </button>
        </div>
      )}
    </>
  );
}

const keyOf = (file: string): string =>
  file
    .replace(/\.[^.]*$/, '')
    .trim()
    .replace(/[\s/+#]+/g, '-')
    .slice(0, 100);

const every = (seconds: number): string =>
  seconds < 120 ? t.seconds(number(seconds)) : t.minutes(number(seconds / 60));

function clockWords({ kind, name }: Plan['zone']): string {
  return kind === 'in-cells' ? t.clocks['in-cells'] : t.clocks[kind](name ?? '');
}

function Found(props: { name: string; plan: Plan }) {
  const home = useHome();
  const { plan } = props;
  const used = new Set([...plan.timeColumns, ...plan.quantities.map(({ column }) => column)]);
  const ignored = plan.columns.filter((column) => !used.has(column));
  return (
    <section>
      <h2>{t.found(props.name)}</h2>
      <dl class="pairs">
        <dt>{t.rows}</dt>
        <dd>
          {plan.gaps > 0 ? t.rowsOf(number(plan.rows), number(plan.gaps)) : number(plan.rows)}
          {plan.intervalSeconds !== null && `, ${t.every(every(plan.intervalSeconds))}`}
        </dd>
        <dt>{t.span}</dt>
        <dd>
          {plan.first === null || plan.last === null
            ? t.nothing
            : words.to(when(home.zone, plan.first, 'full'), when(home.zone, plan.last, 'full'))}
        </dd>
        <dt>{t.clock}</dt>
        <dd>{clockWords(plan.zone)}</dd>
        <dt>{t.date}</dt>
        <dd>{t.dates[plan.dateOrder]}</dd>
        {ignored.length > 0 && (
          <>
            <dt>{t.ignored}</dt>
            <dd>{ignored.join(', ')}</dd>
          </>
        )}
      </dl>
      <table class="folds">
        <caption class="unseen">{t.table}</caption>
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
          {plan.quantities.map((found) => (
            <tr key={found.quantity}>
              <th scope="row">{words.quantities[found.quantity]}</th>
              <td data-label={t.columns.column} class="wrap-anywhere">
                {t.inUnit(found.column, found.fileUnit)}
              </td>
              <td data-label={t.columns.count}>{number(found.count)}</td>
              <td data-label={t.columns.range}>
                {found.min === null || found.max === null
                  ? t.nothing
                  : words.to(quantity(found.min, found.unit, 1), quantity(found.max, found.unit, 1))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {plan.notes.length > 0 && (
        <div class="notice tone-watch">
          <p>{t.look}</p>
          <ul>
            {plan.notes.map((note) => (
              <li key={note}>{inWords(said.term(note))}</li>
            ))}
          </ul>
        </div>
      )}
      {plan.rejected > 0 && (
        <details>
          <summary>{t.leftOut(number(plan.rejected))}</summary>
          <p>{t.leftOutLead}</p>
          <ul>
            {plan.rejects.map(({ line, reason }) => (
              <li key={`${line} ${reason}`} class="wrap-anywhere">
                {t.line(number(line))}: {inWords(said.term(reason))}
              </li>
            ))}
          </ul>
          {plan.rejected > plan.rejects.length && <p>{t.leftOutMore(number(plan.rejected - plan.rejects.length))}</p>}
        </details>
      )}
    </section>
  );
}

const quantityNames = ['temperature', 'humidity', 'timberMoisture', 'co2', 'battery'] as const;

/** What the person importing knows better than the guess. */
function OtherWay(props: { state: ImportState; send: (options: ImportOptions) => Promise<void> }) {
  const { state } = props;
  const columns = state.plan?.columns ?? [];
  return (
    <details open={state.state === 'unusable'}>
      <summary>{t.other}</summary>
      <p class="small">{t.otherLead}</p>
      <SaveForm
        submit={t.again}
        send={(fields) => {
          const given = [...fields].flatMap(([name, value]) => {
            const text = String(value).trim();
            return text === '' ? [] : [[name, text]];
          });
          return props.send(Object.fromEntries(given) as ImportOptions);
        }}
      >
        <datalist id="import-columns">
          {columns.map((column) => (
            <option key={column} value={column} />
          ))}
        </datalist>
        <div class="field-row">
          <Choice name="dateOrder" label={t.date} options={{ ymd: t.dates.ymd, dmy: t.dates.dmy, mdy: t.dates.mdy }} />
          <Choice name="temperatureUnit" label={t.unit} options={{ C: '°C', F: '°F' }} />
          <Choice name="decimal" label={t.decimal} options={t.decimals} />
          <Field label={t.clock} hint={t.zoneHint}>
            {(ids) => <input {...ids} name="zone" maxLength={60} autocomplete="off" />}
          </Field>
          <Field label={t.time}>
            {(ids) => <input {...ids} name="time" list="import-columns" autocomplete="off" />}
          </Field>
          {quantityNames.map((name) => (
            <Field key={name} label={t.columnOf(words.quantities[name].toLowerCase())}>
              {(ids) => <input {...ids} name={name} list="import-columns" autocomplete="off" />}
            </Field>
          ))}
        </div>
      </SaveForm>
    </details>
  );
}

function Choice(props: { name: string; label: string; options: Readonly<Record<string, string>> }) {
  return (
    <Field label={props.label}>
      {(ids) => (
        <select {...ids} name={props.name}>
          <option value="">{t.guessed}</option>
          {Object.entries(props.options).map(([value, text]) => (
            <option key={value} value={value}>
              {text}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

/** What came of it, and the next thing: a place for the sensor, from its first reading on. */
function Done(props: { outcome: NonNullable<ImportState['outcome']>; from: string | null }) {
  const home = useHome();
  const { sensorKey, stored, repeated, conflicting } = props.outcome;
  const params = { dwelling: home.slug };
  const [said, say] = useState('');
  const { loaded, again } = useLoad(`imported ${home.slug} ${sensorKey}`, revisions.story.value, async (signal) => {
    const [sensors, places] = await Promise.all([
      call('listSensors', { params }, signal),
      call('listPlaces', { params }, signal),
    ]);
    return { sensor: sensors.find(({ key }) => key === sensorKey) ?? null, places };
  });
  return (
    <section>
      <p role="status" class="notice tone-quiet">
        {[
          t.stored(number(stored), sensorKey),
          ...(repeated > 0 ? [t.repeated(number(repeated))] : []),
          ...(conflicting > 0 ? [t.conflicting(number(conflicting))] : []),
        ].join(' ')}
      </p>
      <p role="status">{said}</p>
      <Show loaded={loaded} again={again} room="line">
        {({ sensor, places }) => {
          const { from } = props;
          if (sensor === null || sensor.placements.length > 0 || from === null) return null;
          if (places.length === 0) {
            return (
              <p>
                {t.placeLead} <a href={withDwelling('/sensors')}>{t.place}</a>
              </p>
            );
          }
          return (
            <SaveForm
              submit={t.place}
              send={async (fields) => {
                const placeId = Number(textOf(fields, 'place'));
                await call('placeSensor', { params: { ...params, id: sensor.id }, body: { placeId, from } });
                say(t.placed(sensor.name, places.find(({ id }) => id === placeId)?.name ?? ''));
                revisions.story.value += 1;
                again();
              }}
            >
              <p>{t.placeLead}</p>
              <Field label={words.sensors.where}>
                {(ids) => (
                  <select {...ids} name="place">
                    {places.map(({ id, name }) => (
                      <option key={id} value={id}>
                        {name}
                      </option>
                    ))}
                  </select>
                )}
              </Field>
            </SaveForm>
          );
        }}
      </Show>
    </section>
  );
}
