import { useEffect, useMemo, useState } from 'preact/hooks';
import type { Dwelling } from '../../server/api/contract/dwelling.ts';
import { access, askAccess, isLandlord, isShut, watchDoor } from './access/door.ts';
import { choose, query, screen, withDwelling } from './address.ts';
import { call } from './api/client.ts';
import { askForEverything, connection, listen, lookEachMinute, revisions } from './api/live.ts';
import { useLoad } from './api/load.ts';
import { Home } from './home.ts';
import { later } from './later.tsx';
import { newerWaits, takeNewer } from './offline/register.ts';
import { ConnectionLine } from './parts/connection-line.tsx';
import { Show } from './parts/notice.tsx';
import { OpenNotices } from './parts/open-notices.tsx';
import { Storing } from './parts/storing.tsx';
import type { Screen } from './screen.ts';
import { SectionScreen } from './screens/section.tsx';
import { settlingWords } from './words/settling.ts';
import { words } from './words/words.ts';

const First = later(() => import('./screens/first-home.tsx').then((m) => m.FirstHome));
const Sensors = later(() => import('./screens/sensors.tsx').then((m) => m.SensorsScreen));

const Tonight = later(() => import('./screens/tonight.tsx').then((m) => m.TonightScreen));
const Place = later(() => import('./screens/place.tsx').then((m) => m.PlaceScreen));

const BeforeAfter = later(() => import('./screens/before-after.tsx').then((m) => m.BeforeAfterScreen));
const Loft = later(() => import('./screens/loft.tsx').then((m) => m.LoftScreen));
const Lining = later(() => import('./screens/lining.tsx').then((m) => m.LiningScreen));
const Diary = later(() => import('./screens/diary.tsx').then((m) => m.DiaryScreen));

const Notices = later(() => import('./screens/notices.tsx').then((m) => m.NoticesScreen));
const NoticeRules = later(() => import('./screens/notice-rules.tsx').then((m) => m.NoticeRulesScreen));
const ForecastScore = later(() => import('./screens/forecast-score.tsx').then((m) => m.ForecastScoreScreen));

const SignIn = later(() => import('./access/sign-in.tsx').then((m) => m.SignIn));
const People = later(() => import('./screens/people.tsx').then((m) => m.PeopleScreen));
const Recipients = later(() => import('./screens/recipients.tsx').then((m) => m.RecipientsScreen));
const Connect = later(() => import('./screens/connect.tsx').then((m) => m.ConnectScreen));
const Importing = later(() => import('./screens/importing.tsx').then((m) => m.ImportingScreen));
const Settings = later(() => import('./screens/settings.tsx').then((m) => m.SettingsScreen));
const Calibrate = later(() => import('./screens/calibrate.tsx').then((m) => m.CalibrateScreen));
const Placing = later(() => import('./screens/placing.tsx').then((m) => m.PlacingScreen));

const NotShared = later(() => import('./access/not-shared.tsx').then((m) => m.NotShared));
const Portfolio = later(() => import('./screens/portfolio.tsx').then((m) => m.PortfolioScreen));
const Standing = later(() => import('./screens/standing.tsx').then((m) => m.StandingScreen));

const Evidence = later(() => import('./screens/evidence.tsx').then((m) => m.EvidenceScreen));

/** Screens that are reached from another, which the navigation marks for them. */
const under: { readonly [K in Screen['kind']]?: Screen['kind'] } = {
  connect: 'sensors',
  importing: 'sensors',
  calibrate: 'sensors',
  placing: 'sensors',
  standing: 'sensors',
  people: 'settings',
  'notice-rules': 'notices',
  'forecast-score': 'notices',
  recipients: 'notices',
};

const entries: readonly { readonly kind: Screen['kind']; readonly path: string; readonly words: string }[] = [
  { kind: 'section', path: '/', words: words.screens.section },
  { kind: 'tonight', path: '/tonight', words: words.screens.tonight },
  { kind: 'before-after', path: '/before-after', words: words.screens.beforeAfter },
  { kind: 'notices', path: '/notices', words: words.screens.notices },
  { kind: 'loft', path: '/loft', words: words.screens.loft },
  { kind: 'lining', path: '/lining', words: words.screens.lining },
  { kind: 'diary', path: '/diary', words: words.screens.diary },
  { kind: 'sensors', path: '/sensors', words: words.screens.sensors },
  { kind: 'evidence', path: '/evidence', words: words.screens.evidence },
  { kind: 'settings', path: '/settings', words: words.screens.settings },
];

/** What is offered depends on who asks: it waits for that to be known, or for nobody to answer. */
function Current() {
  const shown = screen.value;
  if (access.value === null && connection.value !== 'lost') {
    return (
      <div class="waiting room-screen" role="status">
        {words.loading}
      </div>
    );
  }
  if (isWithheld(shown.kind)) return <NotShared />;
  switch (shown.kind) {
    case 'section':
      return <SectionScreen />;
    case 'place':
      return <Place id={shown.id} key={shown.id} />;
    case 'tonight':
      return <Tonight />;
    case 'before-after':
      return <BeforeAfter />;
    case 'loft':
      return <Loft />;
    case 'lining':
      return <Lining />;
    case 'notices':
      return <Notices />;
    case 'notice-rules':
      return <NoticeRules />;
    case 'forecast-score':
      return <ForecastScore />;
    case 'diary':
      return <Diary />;
    case 'sensors':
      return <Sensors />;
    case 'connect':
      return <Connect />;
    case 'importing':
      return <Importing />;
    case 'settings':
      return <Settings />;
    case 'calibrate':
      return <Calibrate />;
    case 'placing':
      return <Placing />;
    case 'portfolio':
      return <Portfolio />;
    case 'standing':
      return <Standing />;
    case 'evidence':
      return <Evidence />;
    case 'people':
      return <People />;
    case 'recipients':
      return <Recipients />;
    case 'nowhere':
      return (
        <>
          <h1>{words.nowhere.title}</h1>
          <p>
            <a class="no-print" href={withDwelling('/')}>
              {words.nowhere.back}
            </a>
          </p>
        </>
      );
  }
}

/** Homes that are asked for to choose among; with more, the list of all is the place to choose. */
const MOST_CHOICES = 30;

/** How long after an answer that did not come the page asks again who is at it. */
const ASK_AGAIN_MS = 5000;

const currentIn = (kind: Screen['kind']): 'page' | 'true' | undefined =>
  screen.value.kind === kind ? 'page' : under[screen.value.kind] === kind ? 'true' : undefined;

/** Offered, never forced: what someone is typing must not vanish. */
function Newer() {
  if (!newerWaits.value) return null;
  return (
    <p class="newer small no-print" role="status">
      {words.newer}{' '}
      <button type="button" class="plain" onClick={takeNewer}>
        {words.takeNewer}
      </button>
    </p>
  );
}

/** What a landlord is never shown is not offered either. */
const withheld: readonly Screen['kind'][] = ['lining', 'diary', 'settings', 'recipients', 'connect', 'importing'];
const isWithheld = (kind: Screen['kind']): boolean => isLandlord() && withheld.includes(kind);

function Masthead(props: { dwellings: readonly Dwelling[]; home: Dwelling | null }) {
  return (
    <header class="masthead">
      <div class="masthead-line">
        <p class="home-name">
          {props.dwellings.length > 1 && props.dwellings.length <= MOST_CHOICES && props.home ? (
            <label>
              <span class="unseen">{words.chooseDwelling}</span>
              <select value={props.home.slug} onChange={(event) => choose({ dwelling: event.currentTarget.value })}>
                {props.dwellings.map(({ slug, name }) => (
                  <option key={slug} value={slug}>
                    {name}
                  </option>
                ))}
              </select>
            </label>
          ) : (
            <span>{props.home?.name ?? words.name}</span>
          )}
          {(props.dwellings.length > 1 || isLandlord()) && (
            <a
              class="all-homes no-print"
              href="/portfolio"
              aria-current={screen.value.kind === 'portfolio' ? 'page' : undefined}
            >
              {words.screens.portfolio}
            </a>
          )}
          {props.home?.isExample && (
            <a class="example-tag" href={withDwelling('/settings#example')} title={settlingWords.example.remove}>
              {settlingWords.example.tag}
            </a>
          )}
        </p>
        <ConnectionLine zone={props.home?.zone ?? null} listens={props.home !== null && !isLandlord()} />
      </div>
      <nav aria-label={words.navigation}>
        <ul>
          {entries
            .filter(({ kind }) => !isWithheld(kind))
            .map((entry) => (
              <li key={entry.path}>
                <a href={withDwelling(entry.path)} aria-current={currentIn(entry.kind)}>
                  {entry.words}
                  {entry.kind === 'notices' && (
                    // room for the count from the start, so that nothing moves when it comes
                    <span class="nav-slot">
                      {props.home !== null && <OpenNotices home={props.home} key={props.home.slug} />}
                    </span>
                  )}
                </a>
              </li>
            ))}
        </ul>
      </nav>
    </header>
  );
}

const titles: Record<Screen['kind'], string> = {
  section: words.section.title,
  place: words.screens.place,
  tonight: words.screens.tonight,
  'before-after': words.screens.beforeAfter,
  loft: words.screens.loft,
  lining: words.screens.lining,
  diary: words.screens.diary,
  notices: words.screens.notices,
  'notice-rules': words.screens.noticeRules,
  'forecast-score': words.screens.forecastScore,
  sensors: words.screens.sensors,
  connect: words.screens.connect,
  importing: words.screens.importing,
  settings: words.screens.settings,
  calibrate: words.screens.calibrate,
  placing: words.screens.placing,
  evidence: words.screens.evidence,
  portfolio: words.screens.portfolio,
  standing: words.screens.standing,
  people: words.screens.people,
  recipients: words.screens.recipients,
  nowhere: words.nowhere.title,
};

export function App() {
  const shut = isShut.value;
  useEffect(() => {
    watchDoor();
    // what the page may offer; a page that was opened without a connection asks until somebody answers
    let again: ReturnType<typeof setTimeout> | null = null;
    const ask = (): void => {
      askAccess().then(
        () => {
          if (again === null) return;
          connection.value = 'connecting';
          askForEverything();
        },
        () => {
          connection.value = 'lost';
          again = setTimeout(ask, ASK_AGAIN_MS);
        },
      );
    };
    ask();
    return () => {
      if (again !== null) clearTimeout(again);
    };
  }, []);
  const chosen = query.value.get('dwelling');
  // one that is not among the first is asked for by its name
  const [named, setNamed] = useState(chosen);
  const asked = { most: MOST_CHOICES + 1, ...(named === null ? {} : { with: named }) };
  const who = access.value?.signedIn?.personId ?? '';
  const { loaded, again } = useLoad(`dwellings ${shut ? 'shut out' : who} ${named}`, revisions.story.value, (signal) =>
    call('listDwellings', { query: asked }, signal),
  );
  const dwellings = loaded.kind === 'loading' ? [] : (loaded.value ?? []);
  const isMissing = chosen !== null && chosen !== named && !dwellings.some(({ slug }) => slug === chosen);
  useEffect(() => {
    if (isMissing && loaded.kind === 'ready') setNamed(chosen);
  }, [isMissing, loaded.kind]);
  const home = dwellings.find(({ slug }) => slug === chosen) ?? dwellings[0] ?? null;
  const slug = home?.slug ?? null;
  // from here on its screens ask about it
  const asking = useMemo(() => performance.now(), [slug]);
  const listens = slug !== null && !shut && access.value !== null && !isLandlord();
  const looks = slug !== null && !shut && isLandlord();
  useEffect(
    () =>
      listens ? listen(slug, asking, () => askAccess().catch(() => undefined)) : looks ? lookEachMinute() : undefined,
    [slug, listens, looks],
  );
  useEffect(() => {
    document.title = [titles[screen.value.kind], home?.name ?? words.name].join(' · ');
  }, [screen.value.kind, home?.name]);
  return (
    <>
      <a class="skip" href="#main">
        {words.skip}
      </a>
      <Masthead dwellings={dwellings} home={home} />
      <Newer />
      {home !== null && !shut && <Storing zone={home.zone} />}
      <main id="main" tabIndex={-1}>
        {shut ? (
          <SignIn />
        ) : (
          <Show loaded={loaded} again={again} room="screen">
            {() =>
              screen.value.kind === 'portfolio' || (home === null && isLandlord()) ? (
                <Portfolio />
              ) : home === null ? (
                <First
                  added={(added) => {
                    choose({ dwelling: added });
                    again();
                  }}
                />
              ) : (
                <Home.Provider value={home}>
                  <Current key={home.slug} />
                </Home.Provider>
              )
            }
          </Show>
        )}
      </main>
    </>
  );
}
