import { useEffect, useRef, useState } from 'preact/hooks';
import type { Mapping, UnassignedTopic } from '../../../server/api/contract/mapping.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { choose, query, withDwelling } from '../address.ts';
import { type AnswerOf, CallFailed, call } from '../api/client.ts';
import { type Arrival, hear, revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { type Draft, draftOf, emptyDraft, toggle, toMapping, withSuggested } from '../mapping/draft.ts';
import { MeaningFields, NamingFields, PatternFields } from '../mapping/draft-fields.tsx';
import { PayloadTree } from '../mapping/payload-tree.tsx';
import { SaveForm, Sheet } from '../parts/form.tsx';
import { Empty, failureWords, Show } from '../parts/notice.tsx';
import { connectingWords as t } from '../words/connecting.ts';
import { number, quantity, when } from '../words/format.ts';
import { words } from '../words/words.ts';
import '../style/sensors.css';
import { said } from '../words/say.ts';

/** What waits in quarantine makes no event of its own: it is asked for again this often. */
const LOOK_AGAIN_MS = 4000;

type Answer = AnswerOf<'addMapping'>;

/** Says what messages of any form mean: the topics that wait, the values in them, and what is explained already. */
export function ConnectScreen() {
  const [looked, look] = useState(0);
  useEffect(() => {
    const again = setInterval(() => look((n) => n + 1), LOOK_AGAIN_MS);
    return () => clearInterval(again);
  }, []);
  const { loaded, again } = useLoad('unassigned', looked, (signal) => call('listUnassigned', {}, signal));
  const wanted = query.value.get('topic');
  const [done, setDone] = useState<{ readonly answer: Answer; readonly sensors: readonly string[] } | null>(null);
  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
      </p>
      <h1>{words.screens.connect}</h1>
      <p class="lead">{t.lead}</p>
      <p class="small">
        {t.ownForm} <a href={withDwelling('/sensors')}>{t.ownFormLink}</a>.
      </p>
      {done !== null && <Saved {...done} />}
      <Show loaded={loaded} again={again} room="screen">
        {(topics) => (
          <>
            <Waiting
              topics={topics}
              wanted={wanted}
              saved={(answer, sensors) => {
                setDone({ answer, sensors });
                choose({ topic: null });
                look((n) => n + 1);
                revisions.story.value += 1;
                scrollTo(0, 0);
              }}
              begun={() => setDone(null)}
            />
            <Mappings />
          </>
        )}
      </Show>
    </>
  );
}

function Waiting(props: {
  topics: readonly UnassignedTopic[];
  wanted: string | null;
  saved: (answer: Answer, sensors: readonly string[]) => void;
  begun: () => void;
}) {
  const home = useHome();
  const mayExplain = isOwner();
  const chosen = props.topics.find(({ topic }) => topic === props.wanted) ?? null;
  return (
    <section>
      <h2>{t.waiting}</h2>
      <Owners what="connecting" />
      {props.topics.length === 0 ? (
        <Empty title={t.noWaiting} next={t.noWaitingNext} />
      ) : (
        <table class="folds named-rows">
          <caption class="unseen">{t.waitingTable}</caption>
          <thead>
            <tr>
              <th scope="col">{t.columns.topic}</th>
              <th scope="col">{t.columns.why}</th>
              <th scope="col">{t.columns.count}</th>
              <th scope="col">{t.columns.last}</th>
              {mayExplain && <th scope="col">{t.columns.do}</th>}
            </tr>
          </thead>
          <tbody>
            {props.topics.map((topic) => (
              <tr key={`${topic.topic} ${topic.fault.code}`}>
                <th scope="row" class="wrap-anywhere">
                  <code>{topic.topic}</code>
                </th>
                <td>{said.term(topic.fault.message)}</td>
                <td data-label={t.columns.count}>{number(topic.count)}</td>
                <td data-label={t.columns.last}>{when(home.zone, topic.lastAt, 'full')}</td>
                {mayExplain && (
                  <td>
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.explainTopic(topic.topic)}
                      aria-expanded={chosen === topic}
                      onClick={() => {
                        props.begun();
                        choose({ topic: topic.topic });
                      }}
                    >
                      {t.explain}
                    </button>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {mayExplain && chosen !== null && <Explain key={chosen.topic} topic={chosen} saved={props.saved} />}
    </section>
  );
}

type PreviewState =
  | { readonly kind: 'none' | 'asking' }
  | { readonly kind: 'fault'; readonly why: string }
  | { readonly kind: 'ready'; readonly preview: AnswerOf<'previewMapping'> };

/** How long someone pauses before the preview is worked out. */
const PAUSE_MS = 350;

function usePreview(draft: Draft, revision: number): PreviewState {
  const home = useHome();
  const [state, setState] = useState<PreviewState>({ kind: 'none' });
  useEffect(() => {
    const made = toMapping(draft);
    if (made.kind === 'fault') {
      setState(
        made.fault === 'nothing-chosen'
          ? { kind: 'none' }
          : { kind: 'fault', why: faultWords(made.fault, made.pointer) },
      );
      return;
    }
    const abort = new AbortController();
    const ask = setTimeout(() => {
      call('previewMapping', { params: { dwelling: home.slug }, body: made.mapping }, abort.signal).then(
        (preview) => setState({ kind: 'ready', preview }),
        (reason) => {
          if (abort.signal.aborted) return;
          if (!(reason instanceof CallFailed)) throw reason;
          setState({ kind: 'fault', why: failureWords(reason.failure) });
        },
      );
    }, PAUSE_MS);
    return () => {
      clearTimeout(ask);
      abort.abort();
    };
  }, [draft, revision, home.slug]);
  return state;
}

const faultWords = (fault: keyof typeof t.faults, pointer: string | null): string =>
  pointer === null ? t.faults[fault] : `${t.faults[fault]} ${t.faultAt(pointer)}`;

const sensorsIn = (state: PreviewState): string[] =>
  state.kind === 'ready'
    ? [...new Set(state.preview.messages.flatMap(({ readings }) => readings.map(({ sensorKey }) => sensorKey)))]
    : [];

function Explain(props: { topic: UnassignedTopic; saved: (answer: Answer, sensors: readonly string[]) => void }) {
  const home = useHome();
  const { topic } = props;
  const [draft, setDraft] = useState<Draft>(() =>
    emptyDraft(topic.suggestion.topicPattern, topic.suggestion.sensorKey),
  );
  const [missing, setMissing] = useState<string | null>(null);
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus(), []);
  const preview = usePreview(draft, topic.count);
  const change = (next: Draft) => {
    setMissing(null);
    setDraft(next);
  };
  return (
    <section class="explain">
      <h3 ref={heading} tabIndex={-1} class="wrap-anywhere">
        {t.title(topic.topic)}
      </h3>
      <div class="two-columns">
        <div>
          <h4>{t.message}</h4>
          {topic.tree === null ? (
            <>
              <p class="notice tone-watch">{t.noTree}</p>
              <p class="small">{t.textOf}</p>
              <pre>{topic.text}</pre>
            </>
          ) : (
            <>
              <p class="small">{t.messageLead}</p>
              <PayloadTree topic={topic} draft={draft} choose={(leaf) => change(toggle(draft, leaf))} />
              {topic.leaves.some((leaf) => leaf.quantity !== null) && (
                <div class="buttons">
                  <button type="button" onClick={() => change(withSuggested(draft, topic.leaves))}>
                    {t.suggest}
                  </button>
                </div>
              )}
            </>
          )}
        </div>
        <SaveForm
          submit={t.saveMapping}
          leave={() => choose({ topic: null })}
          leaveWords={t.leave}
          send={async () => {
            const made = toMapping(draft);
            if (made.kind === 'fault') {
              setMissing(faultWords(made.fault, made.pointer));
              return;
            }
            const answer = await call('addMapping', { params: { dwelling: home.slug }, body: made.mapping });
            props.saved(answer, sensorsIn(preview));
          }}
        >
          <h4>{t.meanings}</h4>
          {draft.values.length === 0 ? <p>{t.noneChosen}</p> : <MeaningFields draft={draft} change={change} />}
          <NamingFields topic={topic.topic} draft={draft} change={change} />
          <h4>{t.preview}</h4>
          <Preview state={preview} />
          {missing !== null && (
            <p class="notice tone-act" role="alert">
              {missing}
            </p>
          )}
        </SaveForm>
      </div>
    </section>
  );
}

const MOST_PREVIEWED = 8;

function Preview(props: { state: PreviewState }) {
  const home = useHome();
  const { state } = props;
  if (state.kind !== 'ready') {
    return (
      <p role="status">{state.kind === 'fault' ? state.why : state.kind === 'none' ? t.previewNone : words.loading}</p>
    );
  }
  const { messages } = state.preview;
  const readings = messages.flatMap((message) => message.readings);
  const faults = [...new Set(messages.flatMap(({ fault }) => (fault === null ? [] : [said.term(fault.message)])))];
  return (
    <>
      <p role="status">
        {messages.length === 0 ? t.previewEmpty : t.previewCount(number(readings.length), number(messages.length))}
      </p>
      {faults.map((fault) => (
        <p key={fault} class="notice tone-watch">
          {fault}
        </p>
      ))}
      {readings.length > 0 && (
        <ReadingsTable
          caption={t.preview}
          zone={home.zone}
          readings={readings.slice(0, MOST_PREVIEWED).map((reading) => ({ ...reading, value: shown(reading) }))}
        />
      )}
    </>
  );
}

const shown = ({ value, unit }: { value: number; unit: string }): string => quantity(value, unit, 2);

function ReadingsTable(props: {
  caption: string;
  zone: string;
  readings: readonly { sensorKey: string; quantity: Arrival['quantity']; value: string; time: string }[];
}) {
  return (
    <table class="folds readings">
      <caption class="unseen">{props.caption}</caption>
      <thead>
        <tr>
          {Object.values(t.previewColumns).map((column) => (
            <th key={column} scope="col">
              {column}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {props.readings.map((reading, i) => (
          <tr key={`${reading.sensorKey} ${reading.quantity} ${reading.time} ${i}`}>
            <th scope="row" class="wrap-anywhere">
              <code>{reading.sensorKey}</code>
            </th>
            <td>{words.quantities[reading.quantity]}</td>
            <td>{reading.value}</td>
            <td>{when(props.zone, reading.time, 'moment')}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const MOST_ARRIVALS = 8;
const unitOf = { temperature: '°C', humidity: '%', timberMoisture: '%', co2: 'ppm', battery: 'V' } as const;

/** What became of saving, and the next readings as they come. */
function Saved(props: { answer: Answer; sensors: readonly string[] }) {
  const home = useHome();
  const { mapping, readIn } = props.answer;
  const [arrivals, setArrivals] = useState<readonly Arrival[]>([]);
  const heading = useRef<HTMLHeadingElement>(null);
  const sensors = props.sensors.join('\n');
  useEffect(() => {
    heading.current?.focus();
    setArrivals([]);
    return hear((arrival) => {
      if (!sensors.split('\n').includes(arrival.sensorKey)) return;
      setArrivals((last) => [arrival, ...last].slice(0, MOST_ARRIVALS));
    });
  }, [mapping.id, sensors]);
  return (
    <section class="notice tone-quiet saved">
      <h2 ref={heading} tabIndex={-1}>
        {t.savedMapping(mapping.topicPattern)}
      </h2>
      <p role="status">
        {readIn.messages === 0 ? t.readInNone : t.readIn(number(readIn.messages), number(readIn.readings))}
        {readIn.left > 0 && ` ${t.left(number(readIn.left))}`}
      </p>
      {!mapping.subscribed && <p class="notice tone-watch">{t.notSubscribed(mapping.filter)}</p>}
      <h3>{t.arriving}</h3>
      <div aria-live="polite">
        {arrivals.length === 0 ? (
          <p class="small">{t.arrivingNone}</p>
        ) : (
          <ReadingsTable
            caption={t.arriving}
            zone={home.zone}
            readings={arrivals.map((arrival) => ({
              ...arrival,
              value: shown({ value: arrival.value, unit: unitOf[arrival.quantity] }),
            }))}
          />
        )}
      </div>
      <h3>{t.next}</h3>
      <p>
        <a href={withDwelling('/sensors')}>{t.nextPlace}</a>: {t.nextPlaceWhy}
      </p>
      <p>
        <a href={withDwelling('/sensors/calibrate')}>{words.screens.calibrate}</a>: {t.nextCalibrate}
      </p>
      <p>
        <a href={withDwelling('/sensors/placing')}>{words.screens.placing}</a>: {t.nextGuide}
      </p>
    </section>
  );
}

type Doing = { readonly kind: 'none' } | { readonly kind: 'change' | 'remove'; readonly mapping: Mapping };

function Mappings() {
  const home = useHome();
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`mappings ${home.slug}`, revisions.story.value, (signal) =>
    call('listMappings', { params }, signal),
  );
  const [doing, setDoing] = useState<Doing>({ kind: 'none' });
  const [said, say] = useState('');
  const leave = () => setDoing({ kind: 'none' });
  const reload = () => {
    revisions.story.value += 1;
    again();
  };
  return (
    <section>
      <h2>{t.mappings}</h2>
      <p>{t.mappingsLead}</p>
      <p class="small" role="status">
        {said}
      </p>
      <Show loaded={loaded} again={again} room="line">
        {(mappings) =>
          mappings.length === 0 ? (
            <p>{t.noMappings}</p>
          ) : (
            <table class="folds">
              <caption class="unseen">{t.mappings}</caption>
              <thead>
                <tr>
                  {Object.values(t.mappingColumns).map((column) => (
                    <th key={column} scope="col">
                      {column}
                    </th>
                  ))}
                </tr>
              </thead>
              <tbody>
                {mappings.map((mapping) => (
                  <tr key={mapping.id}>
                    <th scope="row" class="wrap-anywhere">
                      <code>{mapping.topicPattern}</code>
                      {!mapping.subscribed && <span class="small block">{t.notSubscribed(mapping.filter)}</span>}
                    </th>
                    <td data-label={t.mappingColumns.sensor}>
                      <code>{mapping.sensorKey}</code>
                    </td>
                    <td>
                      <ul class="plain-list">
                        {mappingLines(mapping).map((line) => (
                          <li key={line} class="wrap-anywhere">
                            {line}
                          </li>
                        ))}
                      </ul>
                    </td>
                    <td>
                      <button
                        type="button"
                        class="plain"
                        aria-label={t.changeMapping(mapping.topicPattern)}
                        onClick={() => setDoing({ kind: 'change', mapping })}
                      >
                        {words.edit}
                      </button>
                      <button
                        type="button"
                        class="plain"
                        aria-label={t.removeMapping(mapping.topicPattern)}
                        onClick={() => setDoing({ kind: 'remove', mapping })}
                      >
                        {words.remove}
                      </button>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          )
        }
      </Show>
      {doing.kind === 'change' && (
        <ChangeMapping
          mapping={doing.mapping}
          leave={leave}
          saved={({ mapping, readIn }) => {
            say(
              `${t.savedMapping(mapping.topicPattern)} ${
                readIn.messages === 0 ? '' : t.readIn(number(readIn.messages), number(readIn.readings))
              }`,
            );
            reload();
            leave();
          }}
        />
      )}
      {doing.kind === 'remove' && (
        <Sheet title={t.removeMapping(doing.mapping.topicPattern)} close={leave}>
          <p>{t.removeLead}</p>
          <SaveForm
            submit={words.removeSure}
            leave={leave}
            leaveWords={words.keep}
            send={async () => {
              await call('removeMapping', { params: { ...params, id: doing.mapping.id } });
              say(t.removed(doing.mapping.topicPattern));
              reload();
              leave();
            }}
          >
            {null}
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}

const mappingLines = ({ values, time }: Mapping): string[] => [
  ...(values.length === 0 ? [t.selfNamed] : []),
  ...values.map((value) =>
    t.valueLine(
      value.pointer === '' ? t.wholeMessage : value.pointer,
      words.quantities[value.quantity].toLowerCase(),
      t.units[value.unit],
    ),
  ),
  ...(time === null ? [] : [t.timeLine(time.pointer, t.forms[time.form])]),
];

function ChangeMapping(props: { mapping: Mapping; leave: () => void; saved: (answer: Answer) => void }) {
  const home = useHome();
  const [draft, setDraft] = useState<Draft>(() => draftOf(props.mapping));
  const [missing, setMissing] = useState<string | null>(null);
  const change = (next: Draft) => {
    setMissing(null);
    setDraft(next);
  };
  return (
    <Sheet title={t.changeMapping(props.mapping.topicPattern)} close={props.leave}>
      <SaveForm
        submit={t.saveMapping}
        leave={props.leave}
        send={async () => {
          const made = toMapping(draft);
          if (made.kind === 'fault' && !(made.fault === 'nothing-chosen' && props.mapping.values.length === 0)) {
            setMissing(faultWords(made.fault, made.pointer));
            return;
          }
          const body =
            made.kind === 'mapping'
              ? made.mapping
              : { topicPattern: draft.topicPattern.trim(), sensorKey: draft.sensorKey.trim() };
          props.saved(await call('changeMapping', { params: { dwelling: home.slug, id: props.mapping.id }, body }));
        }}
      >
        <PatternFields draft={draft} change={change} shown="open" />
        <MeaningFields draft={draft} change={change} />
        {missing !== null && (
          <p class="notice tone-act" role="alert">
            {missing}
          </p>
        )}
      </SaveForm>
    </Sheet>
  );
}
