import { useEffect, useState } from 'preact/hooks';
import type { CalibrationRun } from '../../../server/api/contract/calibrations.ts';
import type { Sensor } from '../../../server/api/contract/dwelling.ts';
import type { SaturatedSalt } from '../../../server/physics/saturated-salts.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { correctionText, differenceUnit, halfWidth, places } from '../calibrating/figures.ts';
import {
  type JarSetup,
  kept,
  type ProposedSeries,
  type RunMethod,
  type Setup,
  seriesKey,
  takingPart,
  toRun,
  traceLine,
} from '../calibrating/setup.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { fromInput, toInput } from '../time/zone.ts';
import { calibratingWords as t } from '../words/calibrating.ts';
import { number, quantity } from '../words/format.ts';
import { words } from '../words/words.ts';
import { CalibrationList } from './calibration-list.tsx';
import '../style/sensors.css';
import { said } from '../words/say.ts';

type Method = RunMethod | 'reference-instrument';
const methods = Object.keys(t.methods) as Method[];
const salts = Object.keys(t.salts) as SaturatedSalt[];
const LOOK_AGAIN_MS = 10_000;
const HOUR_MS = 3_600_000;

/** Guides through a calibration: how it is done, live readings and their judgement, what they come to. */
export function CalibrateScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`sensors ${home.slug}`, revisions.story.value, (signal) =>
    call('listSensors', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
      </p>
      <h1>{words.screens.calibrate}</h1>
      <p class="lead">{t.lead}</p>
      <Show loaded={loaded} again={again} room="screen">
        {(sensors) => <Guided sensors={sensors} />}
      </Show>
      <CalibrationList />
    </>
  );
}

const storageName = (slug: string): string => `coomb calibration ${slug}`;

/** What was entered is kept in the browser: a run lasts longer than a page stays open. */
function remembered(slug: string, zone: string): Setup {
  const now = Date.now();
  const jar: JarSetup = {
    salt: 'sodium-chloride',
    madeAt: toInput(zone, now - 24 * HOUR_MS),
    from: toInput(zone, now),
    to: '',
  };
  const fresh: Setup = {
    method: 'side-by-side',
    sensorIds: [],
    referenceSensorId: null,
    from: toInput(zone, now),
    to: '',
    jars: [jar],
  };
  try {
    const text = localStorage.getItem(storageName(slug));
    return text === null ? fresh : { ...fresh, ...(JSON.parse(text) as Partial<Setup>) };
  } catch {
    // A browser that keeps nothing, or something else under this name: begin anew.
    return fresh;
  }
}

function remember(slug: string, setup: Setup): void {
  try {
    localStorage.setItem(storageName(slug), JSON.stringify(setup));
  } catch {
    // Without storage the page works as long as it is open.
  }
}

function Guided(props: { sensors: readonly Sensor[] }) {
  const home = useHome();
  const [setup, setSetup] = useState<Setup>(() => remembered(home.slug, home.zone));
  const [method, setMethod] = useState<Method>(setup.method);
  const change = (part: Partial<Setup>) => {
    const next = { ...setup, ...part };
    setSetup(next);
    remember(home.slug, next);
  };
  return (
    <>
      <fieldset class="methods">
        <legend>{t.howTitle}</legend>
        {methods.map((each) => (
          <label key={each} class="block choice">
            <input
              type="radio"
              name="method"
              checked={each === method}
              onChange={() => {
                setMethod(each);
                if (each !== 'reference-instrument') change({ method: each });
              }}
            />{' '}
            {t.methods[each]}
            <span class="small block">{t.methodLeads[each]}</span>
          </label>
        ))}
      </fieldset>
      <ol class="steps">
        {t.steps[method].map((step) => (
          <li key={step}>{step}</li>
        ))}
      </ol>
      <p class="caution">{t.cautions[method]}</p>
      <Owners what="calibrating">
        {method === 'reference-instrument' ? (
          <Instrument sensors={props.sensors} />
        ) : (
          <Run sensors={props.sensors} setup={setup} change={change} />
        )}
      </Owners>
    </>
  );
}

/** How long someone pauses before the readings are looked at again. */
const PAUSE_MS = 400;

/** A value that follows another once that one rests. */
function useSettled<T>(value: T): T {
  const [settled, settle] = useState(value);
  useEffect(() => {
    const timer = setTimeout(() => settle(value), PAUSE_MS);
    return () => clearTimeout(timer);
  }, [value]);
  return settled;
}

const NoneAble = () => (
  <Empty
    title={t.noneAble}
    next={
      <a class="no-print" href={withDwelling('/sensors/connect')}>
        {t.noneAbleNext}
      </a>
    }
  />
);

function Run(props: { sensors: readonly Sensor[]; setup: Setup; change: (part: Partial<Setup>) => void }) {
  const home = useHome();
  const { setup, change } = props;
  const asked = toRun(useSettled(setup), props.sensors, home.zone, Date.now());
  const able = takingPart(setup.method, props.sensors);
  if (able.length === 0) return <NoneAble />;
  const toggle = (id: number) =>
    change({
      sensorIds: setup.sensorIds.includes(id)
        ? setup.sensorIds.filter((each) => each !== id)
        : [...setup.sensorIds, id],
    });
  const jar = (index: number, part: Partial<JarSetup>) =>
    change({ jars: setup.jars.map((each, i) => (i === index ? { ...each, ...part } : each)) });
  return (
    <>
      <div class="two-columns">
        <fieldset class="taking-part">
          <legend>{t.which}</legend>
          {able.map((sensor) => (
            <label key={sensor.id} class="block choice">
              <input type="checkbox" checked={setup.sensorIds.includes(sensor.id)} onChange={() => toggle(sensor.id)} />{' '}
              {sensor.name}
            </label>
          ))}
          {setup.method === 'side-by-side' && (
            <Field label={t.reference}>
              {(ids) => (
                <select
                  {...ids}
                  value={String(setup.referenceSensorId ?? '')}
                  onChange={(event) =>
                    change({
                      referenceSensorId: event.currentTarget.value === '' ? null : Number(event.currentTarget.value),
                    })
                  }
                >
                  <option value="">{t.meanOfAll}</option>
                  {able
                    .filter(({ id }) => setup.sensorIds.includes(id))
                    .map(({ id, name }) => (
                      <option key={id} value={id}>
                        {name}
                      </option>
                    ))}
                </select>
              )}
            </Field>
          )}
        </fieldset>
        <div>
          {setup.method === 'salt' ? (
            <>
              {setup.jars.map((each, index) => (
                <fieldset key={index} class="jar">
                  <legend>{t.jar(number(index + 1))}</legend>
                  <Field label={t.salt}>
                    {(ids) => (
                      <select
                        {...ids}
                        value={each.salt}
                        onChange={(event) => jar(index, { salt: event.currentTarget.value as SaturatedSalt })}
                      >
                        {salts.map((salt) => (
                          <option key={salt} value={salt}>
                            {t.salts[salt]}
                          </option>
                        ))}
                      </select>
                    )}
                  </Field>
                  <Moment label={t.solutionMade} value={each.madeAt} change={(madeAt) => jar(index, { madeAt })} />
                  <Moment label={t.from} value={each.from} change={(from) => jar(index, { from })} />
                  <Moment label={t.to} hint={t.toHint} value={each.to} change={(to) => jar(index, { to })} />
                </fieldset>
              ))}
              <div class="buttons">
                {setup.jars.length === 1 ? (
                  <button
                    type="button"
                    onClick={() => change({ jars: [...setup.jars, { ...setup.jars[0]!, salt: 'magnesium-chloride' }] })}
                  >
                    {t.secondJar}
                  </button>
                ) : (
                  <button type="button" onClick={() => change({ jars: setup.jars.slice(0, 1) })}>
                    {t.oneJar}
                  </button>
                )}
              </div>
              <p class="hint">{t.secondJarHint}</p>
            </>
          ) : (
            <fieldset class="span">
              <legend>{t.span}</legend>
              <Moment label={t.from} value={setup.from} change={(from) => change({ from })} />
              <Moment label={t.to} hint={t.toHint} value={setup.to} change={(to) => change({ to })} />
            </fieldset>
          )}
        </div>
      </div>
      <h2>{t.readings}</h2>
      {asked.kind === 'fault' ? (
        <p role="status">{t.setupFaults[asked.fault]}</p>
      ) : (
        <Proposals key={asked.run.method} run={asked.run} sensors={props.sensors} />
      )}
    </>
  );
}

function Moment(props: { label: string; hint?: string; value: string; change: (value: string) => void }) {
  return (
    <Field label={props.label} {...(props.hint === undefined ? {} : { hint: props.hint })}>
      {(ids) => (
        <input
          {...ids}
          type="datetime-local"
          value={props.value}
          onInput={(event) => props.change(event.currentTarget.value)}
        />
      )}
    </Field>
  );
}

function Proposals(props: { run: CalibrationRun; sensors: readonly Sensor[] }) {
  const home = useHome();
  const [looked, look] = useState(0);
  const [leftOut, setLeftOut] = useState<ReadonlySet<string>>(new Set());
  const [said, say] = useState('');
  useEffect(() => {
    const timer = setInterval(() => look((n) => n + 1), LOOK_AGAIN_MS);
    return () => clearInterval(timer);
  }, []);
  const { loaded, again } = useLoad(`run ${home.slug} ${JSON.stringify(props.run)}`, looked, (signal) =>
    call('proposeCalibrations', { params: { dwelling: home.slug }, body: props.run }, signal),
  );
  const leave = (key: string) => {
    const next = new Set(leftOut);
    if (!next.delete(key)) next.add(key);
    setLeftOut(next);
  };
  return (
    <>
      <p class="small">{t.readingsNote}</p>
      <p role="status">{said}</p>
      <Show loaded={loaded} again={again} room="table">
        {(proposals) => {
          const proposed = proposals.series.filter(({ outcome }) => outcome?.kind === 'proposed');
          const corrected = proposed.some(({ sensorId, quantity: name }) =>
            props.sensors
              .find(({ id }) => id === sensorId)
              ?.series.some((series) => series.quantity === name && series.accuracy.calibrationId !== null),
          );
          return (
            <>
              <ul class="proposals">
                {proposals.series.map((series) => (
                  <li key={seriesKey(series)}>
                    <SeriesState
                      series={series}
                      taken={!leftOut.has(seriesKey(series))}
                      take={() => leave(seriesKey(series))}
                    />
                  </li>
                ))}
              </ul>
              {proposed.length === 0 ? (
                <p>{t.nothingYet}</p>
              ) : (
                <SaveForm
                  submit={t.keep}
                  send={async (fields) => {
                    const applies = textOf(fields, 'applies') as 'from-the-first' | 'from-the-comparison';
                    const calibrations = kept(proposals, leftOut, applies, textOf(fields, 'note'));
                    if (calibrations.length === 0) {
                      say(t.nothingYet);
                      return;
                    }
                    await call('addCalibrations', { params: { dwelling: home.slug }, body: { calibrations } });
                    say(t.keptCount(number(calibrations.length)));
                    revisions.story.value += 1;
                    revisions.now.value += 1;
                  }}
                >
                  <div class="field-row">
                    <Applies corrected={corrected} />
                    <Note />
                  </div>
                </SaveForm>
              )}
            </>
          );
        }}
      </Show>
    </>
  );
}

function Applies(props: { corrected: boolean }) {
  return (
    <Field label={t.applies} hint={t.appliesHint}>
      {(ids) => (
        <select {...ids} name="applies">
          {(['from-the-first', 'from-the-comparison'] as const).map((choice) => (
            <option key={choice} value={choice} selected={(choice === 'from-the-comparison') === props.corrected}>
              {t.appliesChoices[choice]}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

const Note = () => (
  <Field label={t.note} hint={t.noteHint}>
    {(ids) => <input {...ids} name="note" maxLength={1000} />}
  </Field>
);

const tones = { settling: 'watch', stable: 'quiet', unstable: 'act' } as const;

const inHours = (hours: number): string =>
  hours < 1 ? t.minutes(number(Math.max(1, Math.ceil(hours * 60)))) : t.hours(number(Math.ceil(hours)));

function SeriesState(props: { series: ProposedSeries; taken: boolean; take: () => void }) {
  const { series } = props;
  const name = t.seriesTitle(series.sensorName, words.quantities[series.quantity].toLowerCase());
  const last = series.trace.at(-1);
  const line = traceLine(series.trace, 240, 36);
  const figure = (value: number) => quantity(value, differenceUnit(series.unit), places(series.quantity));
  return (
    <section>
      <h3>{name}</h3>
      <div class="series-state">
        <div>
          {last !== undefined && <p class="value">{quantity(last.value, series.unit, places(series.quantity))}</p>}
          {line !== '' && (
            <svg class="trace" viewBox="-2 -3 244 42" preserveAspectRatio="none" aria-hidden="true">
              <path d={line} />
            </svg>
          )}
          {series.steadiness.map((steady, i) => (
            <p key={i}>
              <span class={`state-words tone-${tones[steady.kind]}`}>{t.steady[steady.kind]}</span>{' '}
              <span class="small">
                {[
                  steady.slopePerHour === null || steady.scatter === null
                    ? t.few(number(steady.readings))
                    : `${t.slope(figure(steady.slopePerHour), figure(steady.slopeLimitPerHour))} · ${t.scatter(figure(steady.scatter), figure(steady.scatterLimit))}`,
                  ...(steady.hoursLeft > 0 ? [t.hoursLeft(inHours(steady.hoursLeft))] : []),
                ].join(' · ')}
              </span>
            </p>
          ))}
        </div>
        <div>
          <OutcomeOf series={series} name={name} taken={props.taken} take={props.take} />
        </div>
      </div>
    </section>
  );
}

function OutcomeOf(props: { series: ProposedSeries; name: string; taken: boolean; take: () => void }) {
  const { series } = props;
  const { outcome, unit, quantity: measured } = series;
  if (outcome === null) return <p>{t.isReference}</p>;
  if (outcome.kind === 'not-yet') {
    return (
      <>
        <p>
          <strong>{t.notYet}</strong>
        </p>
        {outcome.reasons.map((reason) => (
          <p key={reason.code}>
            {said.term(reason.message)} {said.term(reason.mend)}
            {reason.hoursLeft !== null && ` (${t.waitFor(inHours(reason.hoursLeft))})`}
          </p>
        ))}
      </>
    );
  }
  const digits = places(measured);
  return (
    <>
      <p>
        {t.proposes}: <strong>{correctionText(outcome.correction, outcome.uncertainty, unit, measured)}</strong>
      </p>
      {outcome.points.length > 1 &&
        outcome.points.map((point) => (
          <p key={point.reading} class="small">
            {t.proposedLine(quantity(point.reading, unit, digits), quantity(point.reference, unit, digits))}
          </p>
        ))}
      {outcome.notices.map((notice) => (
        <p key={notice.code} class={`notice tone-${notice.severity === 'note' ? 'unknown' : 'watch'}`}>
          {said.term(notice.message)}
        </p>
      ))}
      <details>
        <summary>{t.doubts}</summary>
        <ul>
          {outcome.doubts.map((doubt) => (
            <li key={doubt.source}>
              {t.doubt(
                said.term(doubt.source),
                quantity(halfWidth(doubt.uncertainty), differenceUnit(unit), digits + 1),
                doubt.shared ? t.sharedMark : '',
              )}
            </li>
          ))}
        </ul>
        <p class="small">{t.repeatability(quantity(outcome.repeatability, differenceUnit(unit), digits + 1))}</p>
      </details>
      <label class="block choice">
        <input type="checkbox" checked={props.taken} onChange={props.take} /> {t.take}
        <span class="unseen">: {props.name}</span>
      </label>
    </>
  );
}

/** A comparison with an instrument, both read by eye. */
function Instrument(props: { sensors: readonly Sensor[] }) {
  const home = useHome();
  const [said, say] = useState('');
  const [wrong, setWrong] = useState(false);
  const all = props.sensors.flatMap((sensor) => sensor.series.map((series) => ({ sensor, series })));
  const [chosen, choose] = useState('0');
  const current = all[Number(chosen)];
  if (current === undefined) return <NoneAble />;
  const { unit } = current.series;
  const last = lastSent(current.series);
  return (
    <>
      <p role="status">{said}</p>
      <SaveForm
        submit={t.keep}
        send={async (fields) => {
          const [reading, reference, give] = ['reading', 'reference', 'give'].map((field) =>
            Number(textOf(fields, field).replace(',', '.')),
          ) as [number, number, number];
          const madeAt = fromInput(home.zone, textOf(fields, 'at'));
          const sound = [reading, reference, give].every(Number.isFinite) && give > 0 && madeAt !== null;
          setWrong(!sound);
          if (!sound || madeAt === null) return;
          await call('addCalibrations', {
            params: { dwelling: home.slug },
            body: {
              calibrations: [
                {
                  sensorId: current.sensor.id,
                  quantity: current.series.quantity,
                  method: 'reference-instrument',
                  from: textOf(fields, 'applies') === 'from-the-first' ? null : madeAt,
                  points: [{ reading, reference }],
                  uncertainty: give / halfWidth(1),
                  note: textOf(fields, 'note'),
                  madeAt,
                },
              ],
            },
          });
          say(t.keptCount(number(1)));
          revisions.story.value += 1;
          revisions.now.value += 1;
        }}
      >
        <Field label={t.series}>
          {(ids) => (
            <select {...ids} value={chosen} onChange={(event) => choose(event.currentTarget.value)}>
              {all.map(({ sensor, series }, i) => (
                <option key={`${sensor.id} ${series.quantity}`} value={String(i)}>
                  {t.seriesTitle(sensor.name, words.quantities[series.quantity].toLowerCase())}
                </option>
              ))}
            </select>
          )}
        </Field>
        <div class="field-row">
          <Field label={`${t.read}, ${unit}`} {...(last === null ? {} : { hint: t.asSent(last) })}>
            {(ids) => <input {...ids} name="reading" inputMode="decimal" required />}
          </Field>
          <Field label={`${t.should}, ${unit}`}>
            {(ids) => <input {...ids} name="reference" inputMode="decimal" required />}
          </Field>
          <Field label={`${t.give}, ${differenceUnit(unit)}`} hint={t.giveHint}>
            {(ids) => <input {...ids} name="give" inputMode="decimal" required />}
          </Field>
          <Field label={t.at}>
            {(ids) => (
              <input {...ids} name="at" type="datetime-local" required defaultValue={toInput(home.zone, Date.now())} />
            )}
          </Field>
          <Applies corrected={current.series.accuracy.calibrationId !== null} />
          <Note />
        </div>
        {wrong && (
          <p class="notice tone-act" role="alert">
            {t.badNumber}
          </p>
        )}
      </SaveForm>
    </>
  );
}

const lastSent = ({ last, unit, quantity: name }: Sensor['series'][number]): string | null =>
  last === null ? null : quantity(last.asSent, unit, places(name));
