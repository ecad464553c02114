import { useState } from 'preact/hooks';
import type { NoticesWire, NoticeWire } from '../../../server/api/contract/notices.ts';
import { isLandlord } from '../access/door.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { number, when } from '../words/format.ts';
import { noticeWords as t } from '../words/notices.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';
import '../style/notices.css';

const DAY_MS = 86_400_000;
const PAST_AT_ONCE = 20;

const severityTone = { note: 'unknown', caution: 'watch', warning: 'act' } as const;

/** What goes on, what to do about it, and what is over. */
export function NoticesScreen() {
  const home = useHome();
  const [past, setPast] = useState(PAST_AT_ONCE);
  const { loaded, again } = useLoad(`notices ${home.slug}`, revisions.notices.value + past, (signal) =>
    call('listNotices', { params: { dwelling: home.slug }, query: { past } }, signal),
  );
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <nav class="within" aria-label={t.more}>
        <ul>
          <li>
            <a href={withDwelling('/notices/rules')}>{t.toRules}</a>
          </li>
          <li>
            <a href={withDwelling('/notices/recipients')}>{words.screens.recipients}</a>
          </li>
          <li>
            <a href={withDwelling('/notices/forecast-score')}>{words.screens.forecastScore}</a>
          </li>
        </ul>
      </nav>
      <Show loaded={loaded} again={again} room="screen">
        {(notices) => (
          <>
            <Current notices={notices} />
            <Past notices={notices.past} />
            {notices.past.length === past && (
              <div class="buttons">
                <button type="button" onClick={() => setPast(past + PAST_AT_ONCE)}>
                  {t.morePast}
                </button>
              </div>
            )}
          </>
        )}
      </Show>
    </>
  );
}

function Current(props: { notices: NoticesWire }) {
  const home = useHome();
  const [told, tell] = useState('');
  const [snoozed, snooze] = useState<NoticeWire | null>(null);
  const { current, watchedTo } = props.notices;
  const changed = (text: string) => {
    tell(text);
    revisions.notices.value += 1;
  };
  return (
    <section aria-labelledby="going-on">
      <h2 id="going-on">{t.current}</h2>
      <p class="small" role="status">
        {told}
      </p>
      {current.length === 0 ? (
        watchedTo === null ? (
          <Empty
            title={t.notYet}
            next={
              <a class="no-print" href={withDwelling('/sensors')}>
                {t.notYetNext}
              </a>
            }
          />
        ) : (
          <Empty title={t.none} next={t.noneNext(when(home.zone, watchedTo, 'moment'))} />
        )
      ) : (
        <ol class="notice-list">
          {current.map((notice) => (
            <li key={notice.id} class={`notice-entry tone-edge-${severityTone[notice.severity]}`}>
              <NoticeBody notice={notice} />
              <Answer notice={notice} changed={changed} snooze={() => snooze(notice)} />
            </li>
          ))}
        </ol>
      )}
      {snoozed !== null && (
        <SnoozeSheet
          notice={snoozed}
          leave={() => snooze(null)}
          saved={() => {
            changed(t.saidSnoozed(said.notice(snoozed, home.zone).title));
            snooze(null);
          }}
        />
      )}
    </section>
  );
}

function NoticeBody(props: { notice: NoticeWire }) {
  const home = useHome();
  const { notice } = props;
  const { title, what, since, howSure, whatToDo, cautions } = said.notice(notice, home.zone);
  return (
    <>
      <h3>
        <span class={`state-words tone-${severityTone[notice.severity]}`}>{t.severities[notice.severity]}</span> {title}
      </h3>
      <p>{since}</p>
      <dl class="notice-facts">
        <dt>{t.found}</dt>
        <dd>{what}</dd>
        <dt>{t.howSure}</dt>
        <dd>{howSure}</dd>
        {whatToDo.length > 0 && (
          <>
            <dt>{t.whatToDo}</dt>
            <dd>
              <ul>
                {whatToDo.map((line) => (
                  <li key={line}>{line}</li>
                ))}
              </ul>
            </dd>
          </>
        )}
        {cautions.length > 0 && (
          <>
            <dt>{t.takeCare}</dt>
            <dd>
              {cautions.map(({ code, message }) => (
                <p key={code}>{message}</p>
              ))}
            </dd>
          </>
        )}
      </dl>
      <Where notice={notice} />
    </>
  );
}

function Where(props: { notice: NoticeWire }) {
  const { placeId, sensorId, code } = props.notice;
  if (placeId !== null)
    return (
      <a class="no-print" href={withDwelling(`/place/${placeId}`)}>
        {t.toPlace}
      </a>
    );
  return sensorId !== null || code === 'readings-stopped' ? (
    <a class="no-print" href={withDwelling('/sensors')}>
      {t.toSensors}
    </a>
  ) : null;
}

/** What the people say to a notice: seen, or later. */
function Answer(props: { notice: NoticeWire; changed: (said: string) => void; snooze: () => void }) {
  const home = useHome();
  const { notice, changed } = props;
  const { title } = said.notice(notice, home.zone);
  const params = { dwelling: home.slug, id: notice.id };
  if (notice.acknowledgedAt !== null) {
    return <p class="small">{t.acknowledged(when(home.zone, notice.acknowledgedAt, 'moment'))}</p>;
  }
  if (isLandlord()) return null;
  const rests = notice.snoozedUntil !== null && Date.parse(notice.snoozedUntil) > Date.now();
  return (
    <>
      {rests && <p class="small">{t.snoozed(when(home.zone, notice.snoozedUntil!, 'moment'))}</p>}
      <div class="buttons">
        <button
          type="button"
          aria-label={t.acknowledgeOne(title)}
          onClick={async () => {
            await call('acknowledgeNotice', { params });
            changed(t.saidAcknowledged(title));
          }}
        >
          {t.acknowledge}
        </button>
        {rests ? (
          <button
            type="button"
            aria-label={t.wakeOne(title)}
            onClick={async () => {
              await call('snoozeNotice', { params, body: { until: null } });
              changed(t.saidAwake(title));
            }}
          >
            {t.wake}
          </button>
        ) : (
          <button type="button" aria-label={t.snoozeOne(title)} onClick={props.snooze}>
            {t.snooze}
          </button>
        )}
      </div>
    </>
  );
}

function SnoozeSheet(props: { notice: NoticeWire; leave: () => void; saved: () => void }) {
  const home = useHome();
  const { notice } = props;
  const { title } = said.notice(notice, home.zone);
  return (
    <Sheet title={t.snoozeTitle} close={props.leave}>
      <SaveForm
        submit={t.snooze}
        leave={props.leave}
        send={async (fields) => {
          const until = new Date(Date.now() + Number(textOf(fields, 'days')) * DAY_MS).toISOString();
          await call('snoozeNotice', { params: { dwelling: home.slug, id: notice.id }, body: { until } });
          props.saved();
        }}
      >
        <p>{title}</p>
        <p class="small">{t.snoozeLead}</p>
        <Field label={t.snoozeFor}>
          {(ids) => (
            <select {...ids} name="days">
              {Object.entries(t.snoozeDays).map(([days, name]) => (
                <option key={days} value={days}>
                  {name}
                </option>
              ))}
            </select>
          )}
        </Field>
      </SaveForm>
    </Sheet>
  );
}

function Past(props: { notices: readonly NoticeWire[] }) {
  const home = useHome();
  const past = props.notices.map((notice) => ({ notice, words: said.notice(notice, home.zone) }));
  return (
    <section aria-labelledby="over">
      <h2 id="over">{t.past}</h2>
      {props.notices.length === 0 ? (
        <p>{t.noPast}</p>
      ) : (
        <ol class="notice-list is-past">
          {past.map(({ notice, words }) => (
            <li key={notice.id}>
              <details>
                <summary>
                  <strong>{words.title}</strong> <span class="small">{words.since}</span>
                </summary>
                <p>{words.what}</p>
                <p class="small">
                  {t.howSure}: {words.howSure} {notice.told === 0 ? t.notTold : t.told(number(notice.told))}
                </p>
                <Where notice={notice} />
              </details>
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}
