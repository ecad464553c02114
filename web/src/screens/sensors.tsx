import { useState } from 'preact/hooks';
import type { BatteryState, Place, Sensor } from '../../../server/api/contract/dwelling.ts';
import { isLandlord, isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { ClockDoubts } from '../parts/clock-doubts.tsx';
import { FindingList } from '../parts/findings.tsx';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { NotKept, RemoveQuarantined } from '../parts/quarantine-room.tsx';
import { ConnectOwn } from '../settling/connect-own.tsx';
import { PlacingSheet } from '../settling/placing-sheet.tsx';
import { ago, number, quantity, when } from '../words/format.ts';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';
import { PlacesList } from './places.tsx';
import '../style/sensors.css';
import { said as told } from '../words/say.ts';

const t = words.sensors;

/** Where sensors stand, what they last said, how to connect one, and what could not be used. */
export function SensorsScreen() {
  const home = useHome();
  const story = revisions.story.value;
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`sensors ${home.slug}`, story + revisions.now.value, async (signal) => {
    const [sensors, places] = await Promise.all([
      call('listSensors', { params }, signal),
      call('listPlaces', { params }, signal),
    ]);
    return { sensors, places };
  });
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <nav class="within" aria-label={t.more}>
        <ul>
          {!isLandlord() && (
            <>
              <li>
                <a href={withDwelling('/sensors/connect')}>{words.screens.connect}</a>
              </li>
              <li>
                <a href={withDwelling('/sensors/import')}>{words.screens.importing}</a>
              </li>
            </>
          )}
          <li>
            <a href={withDwelling('/sensors/calibrate')}>{words.screens.calibrate}</a>
          </li>
          <li>
            <a href={withDwelling('/sensors/placing')}>{words.screens.placing}</a>
          </li>
        </ul>
      </nav>
      <Show loaded={loaded} again={again} room="screen">
        {({ sensors, places }) => (
          <>
            {sensors.length === 0 ? (
              <Empty title={t.noSensors} next={t.noSensorsNext} />
            ) : (
              <SensorTable sensors={sensors} places={places} />
            )}
            {sensors.length > 0 && <Findings sensors={sensors} />}
            <h2>{t.places}</h2>
            <p>{t.placesLead}</p>
            <PlacesList places={places} />
            <Owners what="sensors" />
            {!isLandlord() && (
              <>
                <ConnectOwn />
                <Conflicts />
                <Quarantine />
              </>
            )}
          </>
        )}
      </Show>
    </>
  );
}

type Change = { readonly kind: 'none' } | { readonly kind: 'move' | 'rename'; readonly sensor: Sensor };

function SensorTable(props: { sensors: readonly Sensor[]; places: readonly Place[] }) {
  const home = useHome();
  const [change, setChange] = useState<Change>({ kind: 'none' });
  const mayChange = isOwner();
  const [said, say] = useState('');
  const leave = () => setChange({ kind: 'none' });
  return (
    <>
      <p class="small" role="status">
        {said}
      </p>
      <table class="folds">
        <caption class="unseen">{t.table}</caption>
        <thead>
          <tr>
            <th scope="col">{t.columns.sensor}</th>
            <th scope="col">{t.columns.stands}</th>
            <th scope="col">{t.columns.last}</th>
            <th scope="col">{t.columns.health}</th>
            {mayChange && <th scope="col">{t.columns.change}</th>}
          </tr>
        </thead>
        <tbody>
          {props.sensors.map((sensor) => (
            <tr key={sensor.id}>
              <th scope="row">
                {sensor.name}
                <span class="small block">
                  {sensor.model ?? t.noModel} · <code>{sensor.key}</code>
                </span>
              </th>
              <td>
                <Stands sensor={sensor} />
              </td>
              <td>
                <LastReadings sensor={sensor} />
              </td>
              <td>
                <span class={`state-words tone-${healthTone[sensor.health.state]}`}>
                  {told.term(sensor.health.words)}
                </span>
                <HealthLines sensor={sensor} />
              </td>
              {mayChange && (
                <td class="actions">
                  <button
                    type="button"
                    class="plain"
                    aria-label={
                      sensor.placements.length === 0
                        ? settlingWords.placing.giveTitle(sensor.name)
                        : t.moveTitle(sensor.name)
                    }
                    onClick={() => setChange({ kind: 'move', sensor })}
                  >
                    {sensor.placements.length === 0 ? settlingWords.placing.give : t.move}
                  </button>
                  <button
                    type="button"
                    class="plain"
                    aria-label={t.editTitle(sensor.name)}
                    onClick={() => setChange({ kind: 'rename', sensor })}
                  >
                    {t.edit}
                  </button>
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
      {change.kind === 'move' && (
        <PlacingSheet
          sensor={change.sensor}
          places={props.places}
          leave={leave}
          moved={(place) => {
            say(t.moved(change.sensor.name, place));
            leave();
          }}
        />
      )}
      {change.kind === 'rename' && (
        <Sheet title={t.editTitle(change.sensor.name)} close={leave}>
          <SaveForm
            submit={words.save}
            leave={leave}
            send={async (fields) => {
              const model = textOf(fields, 'model');
              await call('changeSensor', {
                params: { dwelling: home.slug, id: change.sensor.id },
                body: { name: textOf(fields, 'name'), model: model === '' ? null : model },
              });
              say(words.saved);
              revisions.story.value += 1;
              leave();
            }}
          >
            <Field label={t.name}>
              {(ids) => <input {...ids} name="name" required maxLength={80} defaultValue={change.sensor.name} />}
            </Field>
            <Field label={t.model} hint={t.modelHint}>
              {(ids) => <input {...ids} name="model" maxLength={60} defaultValue={change.sensor.model ?? ''} />}
            </Field>
          </SaveForm>
        </Sheet>
      )}
    </>
  );
}

const healthTone = { heard: 'quiet', late: 'watch', silent: 'act', 'never-heard': 'unknown' } as const;

const standsNow = (sensor: Sensor) => sensor.placements.find(({ to }) => to === null);

function Stands(props: { sensor: Sensor }) {
  const home = useHome();
  const { placements } = props.sensor;
  const current = standsNow(props.sensor);
  const earlier = placements.filter((placement) => placement !== current);
  return (
    <>
      {current ? (
        <>
          {current.placeName} <span class="small">{t.since(when(home.zone, current.from, 'date'))}</span>
        </>
      ) : (
        <span>{placements.length === 0 ? t.nowhere : t.taken}</span>
      )}
      {earlier.length > 0 && (
        <details class="small">
          <summary>{t.history}</summary>
          <ul class="plain-list">
            {[...earlier].reverse().map((placement) => (
              <li key={placement.from}>
                {t.span(
                  placement.placeName,
                  when(home.zone, placement.from, 'date'),
                  placement.to === null ? '' : when(home.zone, placement.to, 'date'),
                )}
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

/** What was found of one sensor in a few words, and how long its battery may last. */
function HealthLines(props: { sensor: Sensor }) {
  const { findings, battery } = props.sensor.health;
  const names = [...new Set(findings.map(({ code }) => words.findings.names[code]))];
  return (
    <>
      {names.length > 0 && (
        <span class="small block">
          <a href="#findings">{names.join(', ')}</a>
        </span>
      )}
      {battery?.daysLeft && <span class="small block">{batteryWords(battery.volts, battery.daysLeft)}</span>}
    </>
  );
}

function batteryWords(volts: number, { value, low, high }: NonNullable<BatteryState['daysLeft']>): string {
  const w = words.findings;
  const said = `${w.battery(quantity(volts, 'V', 2))}, ${w.daysLeft(number(value))}`;
  if (high === null) return `${said} (${w.daysAtLeast(number(low))})`;
  return number(low) === number(high) ? said : `${said} (${words.to(number(low), number(high))})`;
}

function Findings(props: { sensors: readonly Sensor[] }) {
  const rank = { warning: 0, caution: 1, note: 2 } as const;
  const all = props.sensors
    .flatMap(({ health }) => health.findings)
    .sort((a, b) => rank[a.severity] - rank[b.severity]);
  return (
    <section id="findings">
      <h2>{words.findings.title}</h2>
      {all.length === 0 ? (
        <p>{words.findings.none}</p>
      ) : (
        <>
          <p>{words.findings.lead}</p>
          <FindingList findings={all} />
        </>
      )}
    </section>
  );
}

const readingDigits = { temperature: 1, humidity: 0, timberMoisture: 1, co2: 0, battery: 2 } as const;

function LastReadings(props: { sensor: Sensor }) {
  const known = props.sensor.series.flatMap(({ quantity, unit, last }) =>
    last === null ? [] : [{ quantity, unit, last }],
  );
  if (known.length === 0) return <>{t.noReading}</>;
  const latest = known.reduce((a, b) => (a.last.time >= b.last.time ? a : b)).last.time;
  return (
    <>
      {known.map((one) => quantity(one.last.value, one.unit, readingDigits[one.quantity])).join(' · ')}
      <span class="small block">{ago(latest, Date.now())}</span>
    </>
  );
}

function Conflicts() {
  const home = useHome();
  const { loaded, again } = useLoad(`conflicts ${home.slug}`, revisions.hours.value, (signal) =>
    call('listConflicts', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <section>
      <h2>{t.conflicts}</h2>
      <Show loaded={loaded} again={again} room="line">
        {(list) =>
          list.length === 0 ? (
            <p>{t.noConflicts}</p>
          ) : (
            <>
              <p>{t.conflictsLead}</p>
              <table class="folds">
                <caption class="unseen">{t.conflicts}</caption>
                <thead>
                  <tr>
                    {Object.values(t.conflictColumns).map((column) => (
                      <th key={column} scope="col">
                        {column}
                      </th>
                    ))}
                  </tr>
                </thead>
                <tbody>
                  {list.map((conflict) => (
                    <tr key={`${conflict.sensorKey} ${conflict.quantity} ${conflict.time} ${conflict.receivedAt}`}>
                      <th scope="row">
                        <code>{conflict.sensorKey}</code>
                      </th>
                      <td>{quantityWords(conflict.quantity)}</td>
                      <td>{when(home.zone, conflict.time, 'full')}</td>
                      <td data-label={t.conflictColumns.kept}>{number(conflict.keptValue, 2)}</td>
                      <td data-label={t.conflictColumns.other}>{number(conflict.otherValue, 2)}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </>
          )
        }
      </Show>
    </section>
  );
}

const quantityWords = (name: string): string =>
  (words.quantities as Readonly<Record<string, string | undefined>>)[name] ?? name;

function Quarantine() {
  const home = useHome();
  const { loaded, again } = useLoad('quarantine', revisions.now.value, (signal) => call('listQuarantine', {}, signal));
  return (
    <section>
      <h2>{t.quarantine}</h2>
      <Show loaded={loaded} again={again} room="line">
        {({ total, groups, notKept }) =>
          groups.length === 0 ? (
            <p>{t.noQuarantine}</p>
          ) : (
            <>
              <NotKept notKept={notKept} />
              <p>
                {t.quarantineLead} {t.quarantineTotal(number(total))}
              </p>
              <p>
                {t.quarantineExplain} <a href={withDwelling('/sensors/connect')}>{words.screens.connect}</a>.
              </p>
              <table class="folds named-rows">
                <caption class="unseen">{t.quarantine}</caption>
                <thead>
                  <tr>
                    {Object.values(t.quarantineColumns).map((column) => (
                      <th key={column} scope="col">
                        {column}
                      </th>
                    ))}
                  </tr>
                </thead>
                <tbody>
                  {groups.map((group) => (
                    <tr key={`${group.topic} ${group.code}`}>
                      <th scope="row" class="wrap-anywhere">
                        <code>{group.topic}</code>
                      </th>
                      <td>{told.term(group.message)}</td>
                      <td data-label={t.quarantineColumns.count}>{number(group.count)}</td>
                      <td data-label={t.quarantineColumns.last}>{when(home.zone, group.lastAt, 'full')}</td>
                      <td class="wrap-anywhere">
                        <code>{shortened(group.lastPayload)}</code>
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
              {groups.some(({ code }) => code === 'clock-ahead') && <ClockDoubts again={again} />}
              <RemoveQuarantined total={total} again={again} />
            </>
          )
        }
      </Show>
    </section>
  );
}

const shortened = (text: string): string => (text.length > 160 ? `${text.slice(0, 160)} …` : text);
