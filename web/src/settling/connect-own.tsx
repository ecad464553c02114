import { useEffect, useState } from 'preact/hooks';
import { withDwelling } from '../address.ts';
import { type AnswerOf, call } from '../api/client.ts';
import { type Arrival, hear, returns } from '../api/live.ts';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { quantity } from '../words/format.ts';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';
import '../style/settling.css';
import { said } from '../words/say.ts';

const t = settlingWords.own;
const LOOK_AGAIN_MS = 4000;
const units = { temperature: '°C', humidity: '%', timberMoisture: '%', co2: 'ppm', battery: 'V' } as const;
const places = { temperature: 1, humidity: 0, timberMoisture: 1, co2: 0, battery: 2 } as const;

/** Where and what to send, an example to paste, and what comes while the page is watched. */
export function ConnectOwn() {
  const home = useHome();
  const [sensor, setSensor] = useState('ceiling-1');
  const [broker, setBroker] = useState<string | null>(null);
  useEffect(() => {
    if (location.hash === '#connect') document.getElementById('connect')?.scrollIntoView();
    const abort = new AbortController();
    fetch('/healthz', { signal: abort.signal })
      .then((response) => response.json())
      .then((health: { broker: { address: string } }) => setBroker(health.broker.address))
      // the address is a help; without it the rest still is
      .catch(() => {
        if (!abort.signal.aborted) setBroker((last) => last ?? words.notKnown);
      });
    return () => abort.abort();
  }, [returns.value]);
  const topic = `coomb/${home.slug}/${sensor}`;
  const message = JSON.stringify({ temperature_c: 16.4, humidity_pct: 61.5 });
  const address = `${location.origin}/api/v1/dwellings/${home.slug}/readings/${sensor}`;
  return (
    <section id="connect" class="no-print">
      <h2>{t.title}</h2>
      <p>{t.lead}</p>
      <Field label={t.name} hint={t.nameHint}>
        {(ids) => (
          <input
            {...ids}
            value={sensor}
            maxLength={100}
            autocomplete="off"
            onInput={(event) => setSensor(event.currentTarget.value.trim().replace(/[\s/+#]+/g, '-'))}
          />
        )}
      </Field>
      <dl class="pairs">
        <dt>{t.broker}</dt>
        <dd>
          <code>{broker ?? '…'}</code>
        </dd>
        <dt>{t.topic}</dt>
        <dd>
          <code>{topic}</code>
        </dd>
      </dl>
      {broker !== null && /\/\/(127\.|localhost|\[::1\])/.test(broker) && <p class="small">{t.brokerLoopback}</p>}
      <p>{t.message}</p>
      <pre>
        {JSON.stringify({ temperature_c: 16.4, humidity_pct: 61.5, battery_v: 2.93, time: '2026-01-14T22:10:00Z' })}
      </pre>
      <Listening sensor={sensor} topic={topic} />
      <details>
        <summary>{t.curl}</summary>
        <p>{t.try}</p>
        <pre>{`curl -H 'content-type: application/json' \\\n  -d '${message}' \\\n  ${address}`}</pre>
      </details>
      <p class="small">{t.time}</p>
      <p>
        {t.other} <a href={withDwelling('/sensors/connect')}>{words.screens.connect}</a>. {t.file}{' '}
        <a href={withDwelling('/sensors/import')}>{words.screens.importing}</a>.
      </p>
      <p class="caution">{t.caution}</p>
    </section>
  );
}

/** Says what arrives while it is watched, understood or not. */
function Listening(props: { sensor: string; topic: string }) {
  const [latest, setLatest] = useState<{ key: string; figures: Partial<Record<Arrival['quantity'], number>> } | null>(
    null,
  );
  const [missed, setMissed] = useState<AnswerOf<'listQuarantine'>['groups'][number] | null>(null);
  useEffect(
    () =>
      hear(({ sensorKey, quantity: name, value }) => {
        setMissed(null);
        setLatest((last) => ({
          key: sensorKey,
          figures: { ...(last?.key === sensorKey ? last.figures : {}), [name]: value },
        }));
      }),
    [],
  );
  useEffect(() => {
    const begun = new Date().toISOString();
    const look = () =>
      call('listQuarantine', {}).then(
        ({ groups }) => {
          const newest = groups
            .filter(({ lastAt }) => lastAt > begun)
            .sort((a, b) => (a.lastAt < b.lastAt ? 1 : -1))[0];
          setMissed(newest ?? null);
        },
        // the connection says for itself that it is lost
        () => undefined,
      );
    const again = setInterval(look, LOOK_AGAIN_MS);
    return () => clearInterval(again);
  }, []);
  const figures = Object.entries(latest?.figures ?? {}) as [Arrival['quantity'], number][];
  return (
    <div class="notice tone-quiet heard-line" role="status">
      {latest === null ? (
        <p>{t.waiting(props.topic)}</p>
      ) : (
        <p>
          <strong>
            {t.heard(
              latest.key,
              figures.map(([name, value]) => quantity(value, units[name], places[name])).join(' · '),
            )}
          </strong>{' '}
          {t.heardNext}
        </p>
      )}
      {missed !== null && (
        <p>
          {t.notUnderstood(missed.topic, said.term(missed.message))}{' '}
          <a href={withDwelling(`/sensors/connect?topic=${encodeURIComponent(missed.topic)}`)}>{t.explain}</a>
        </p>
      )}
    </div>
  );
}
