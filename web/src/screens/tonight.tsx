import type { Advices, Now } from '../../../server/api/contract/figures.ts';
import type { Tonight } from '../../../server/api/contract/tonight.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { chancePath, forecastWorkings, lowestPath } from '../night/forecast-working.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { PlaceFigures } from '../parts/section-sheet.tsx';
import { Figure, Workings } from '../parts/working.tsx';
import { forecastWorkingWords as working } from '../words/forecast-working.ts';
import { digits, NBSP, number, quantity, range, when } from '../words/format.ts';
import { detailWords } from '../words/place-figures.ts';
import { said } from '../words/say.ts';
import { saidFirst } from '../words/say-first.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';
import '../style/section.css';

const t = sectionWords.tonight;

interface Seen {
  readonly now: Now;
  readonly tonight: Tonight;
  readonly advice: Advices;
}

/** One glance: how it is now, what the night brings, and what to do. */
export function TonightScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`tonight ${home.slug}`, revisions.now.value, async (signal): Promise<Seen> => {
    const params = { dwelling: home.slug };
    const [now, tonight, advice] = await Promise.all([
      call('getNow', { params }, signal),
      call('getTonight', { params }, signal),
      call('getAdvice', { params }, signal),
    ]);
    return { now, tonight, advice };
  });
  const seen = loaded.kind === 'loading' ? null : loaded.value;
  return (
    <>
      <div class="headline" aria-live="polite">
        <h1>{seen === null ? (loaded.kind === 'failed' ? t.title : words.loading) : nightSentence(seen.tonight)}</h1>
        <p class="lead">{seen === null ? '' : lowestSentence(seen.tonight, home.zone)}</p>
        <p class="rests-on">{seen === null ? '' : when(home.zone, seen.now.time, 'moment')}</p>
      </div>
      <Show loaded={loaded} again={again} room="screen">
        {(value) => (
          <>
            <Todo advice={value.advice.advice} now={value.now} />
            <NowPart now={value.now} />
            <NightPart tonight={value.tonight} />
            <p class="caution">{t.caution}</p>
          </>
        )}
      </Show>
    </>
  );
}

type Surface = Tonight['surfaces'][number];
type Forecast = Extract<Surface, { kind: 'forecast' }>;

const forecastsOf = ({ surfaces }: Tonight): Forecast[] =>
  surfaces.filter((surface) => surface.kind === 'forecast').sort((a, b) => b.chance - a.chance);

/**
 * What a chance is called.
 *
 * @source IPCC, calibrated language of the Fifth Assessment Report (Mastrandrea et al., 2010): likely from 66 %, as likely
 * as not from 33 %, unlikely below that, very unlikely below 10 %
 */
const called = { likely: 0.66, even: 0.33, unlikely: 0.1 } as const;

export function nightSentence(tonight: Tonight): string {
  const [worst] = forecastsOf(tonight);
  if (tonight.surfaces.length === 0) return t.noSurfaces;
  if (worst === undefined) return t.unknown;
  if (worst.chance >= called.likely) return t.likely(worst.name);
  if (worst.chance >= called.even) return t.even(worst.name);
  if (worst.chance >= called.unlikely) return t.unlikely(worst.name);
  return tonight.surfaces.some(({ kind }) => kind === 'not-enough') ? t.mixed : t.dry;
}

const intervalOf = ({ minimumMargin: { low, high } }: Forecast): string => range(low, high, 'K', digits.kelvin);

function lowestSentence(tonight: Tonight, zone: string): string {
  const lowest = forecastsOf(tonight).sort((a, b) => a.minimumMargin.value - b.minimumMargin.value)[0];
  if (lowest === undefined) return '';
  const size = quantity(Math.abs(lowest.minimumMargin.value), 'K', digits.kelvin);
  const say = lowest.minimumMargin.value >= 0 ? t.lowest : t.lowestBelow;
  return `${lowest.name}. ${say(size, intervalOf(lowest), when(zone, lowest.at, 'time'))}`;
}

function Todo(props: { advice: Advices['advice']; now: Now }) {
  const { advice } = props;
  const { sensors, heard } = props.now.heard;
  return (
    <section>
      <h2>{t.todo}</h2>
      {advice.length === 0 ? (
        heard > 0 ? (
          <p>{t.nothing}</p>
        ) : (
          <Empty
            title={sensors === 0 ? t.nothingHeard : t.nothingHeardLately}
            next={
              sensors === 0 ? (
                <a class="no-print" href={withDwelling('/sensors#connect')}>
                  {t.nothingHeardNext}
                </a>
              ) : (
                <a class="no-print" href={withDwelling('/sensors')}>
                  {t.nothingHeardLatelyNext}
                </a>
              )
            }
          />
        )
      ) : (
        <ol class="todo">
          {advice.map((each) => (
            <li key={`${each.code} ${each.placeId} ${each.message}`} class={`tone-${each.tone}`}>
              <h3>
                {t.adviceTitles[each.code]}
                {each.tone === 'act' && <span class="state-words tone-act">{t.urgent}</span>}
              </h3>
              <p>{said.advice(each)}</p>
              {each.cautions.map((caution) => (
                <p key={caution.code} class="caution">
                  {said.caution(caution)}
                </p>
              ))}
            </li>
          ))}
        </ol>
      )}
    </section>
  );
}

function NowPart(props: { now: Now }) {
  const { now } = props;
  const told = now.places.filter(
    ({ kind }) => kind === 'room-air' || kind === 'ceiling-surface' || kind === 'control-surface',
  );
  return (
    <section>
      <h2>{t.now}</h2>
      <p>
        {saidFirst.headline(now)} {detailWords(now)}
      </p>
      {told.length > 0 && (
        <ul class="now-row" aria-label={words.section.list}>
          {told.map((place) => (
            <li key={place.placeId}>
              <PlaceFigures place={place} />
            </li>
          ))}
        </ul>
      )}
      <p class="no-print">
        <a href={withDwelling('/')}>{t.section}</a>
      </p>
    </section>
  );
}

function NightPart(props: { tonight: Tonight }) {
  const { tonight } = props;
  const home = useHome();
  const runs = Date.parse(tonight.time) >= Date.parse(tonight.night.from);
  return (
    <section>
      <h2>{runs ? t.running : t.night}</h2>
      <p class="small">
        {t.span(when(home.zone, tonight.night.from, 'moment'), when(home.zone, tonight.night.to, 'moment'))}
      </p>
      {tonight.surfaces.length === 0 ? (
        <Empty
          title={t.noSurfaces}
          next={
            <a class="no-print" href={withDwelling('/sensors')}>
              {t.noSurfacesNext}
            </a>
          }
        />
      ) : (
        <Workings.Provider value={forecastWorkings(tonight, home.zone)}>
          <table class="folds forecast">
            <caption class="unseen">{t.table}</caption>
            <thead>
              <tr>
                <th scope="col">{t.columns.surface}</th>
                <th scope="col">{t.columns.chance}</th>
                <th scope="col">{t.columns.lowest}</th>
                <th scope="col">{t.columns.when}</th>
              </tr>
            </thead>
            <tbody>
              {tonight.surfaces.map((surface) => (
                <ForecastRow key={surface.placeId} surface={surface} />
              ))}
            </tbody>
          </table>
          <Score score={tonight.score} />
        </Workings.Provider>
      )}
    </section>
  );
}

function ForecastRow(props: { surface: Surface }) {
  const { surface } = props;
  const home = useHome();
  const name = (
    <th scope="row">
      <a href={withDwelling(`/place/${surface.placeId}`)}>{surface.name}</a>
    </th>
  );
  if (surface.kind === 'not-enough') {
    return (
      <tr>
        {name}
        <td colSpan={3} data-label={t.columns.chance}>
          <span class="state-words tone-unknown">{t.notEnough}</span>{' '}
          {surface.reasons.map(said.forecastReason).join(' ')}
        </td>
      </tr>
    );
  }
  const { value } = surface.minimumMargin;
  const tone = surface.chance >= called.likely ? 'act' : surface.chance >= called.unlikely ? 'watch' : 'quiet';
  return (
    <tr>
      {name}
      <td data-label={t.columns.chance}>
        <span class={`state-words tone-${tone}`}>
          <Figure
            path={chancePath(surface.placeId)}
            text={chanceWords(surface.chance)}
            of={working.chanceOf(surface.name)}
          />
        </span>
      </td>
      <td data-label={t.columns.lowest}>
        <Figure
          path={lowestPath(surface.placeId)}
          text={quantity(value, 'K', digits.kelvin)}
          of={working.lowestOf(surface.name)}
        />{' '}
        <span class="interval-words">{intervalOf(surface)}</span>
        <span class="interval-words">{t.basis(t.bases[surface.basis], number(surface.working.pastNights))}</span>
      </td>
      <td data-label={t.columns.when}>{when(home.zone, surface.at, 'time')}</td>
    </tr>
  );
}

/** No forecast is sure to the last hundredth. */
function chanceWords(chance: number): string {
  const percent = (share: number) => `${number(share * 100)}${NBSP}%`;
  if (chance < 0.01) return t.under(percent(0.01));
  return chance > 0.99 ? t.over(percent(0.99)) : percent(chance);
}

function Score(props: { score: Tonight['score'] }) {
  const { score } = props;
  const more = (
    <a class="no-print" href={withDwelling('/notices/forecast-score')}>
      {words.screens.forecastScore}
    </a>
  );
  if (score === null || score.nights === 0) {
    return (
      <p class="small">
        {t.noScore} {more}
      </p>
    );
  }
  const percent = (share: number) => quantity(share * 100, '%', 0);
  return (
    <p class="small">
      {score.recall === null || score.precision === null
        ? t.scoreFew(number(score.nights))
        : t.score(number(score.nights), percent(score.recall), percent(score.precision))}{' '}
      {more}
    </p>
  );
}
