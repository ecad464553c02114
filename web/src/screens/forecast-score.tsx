import { useState } from 'preact/hooks';
import type { ForecastScores } from '../../../server/api/contract/tonight.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { ReliabilityDrawing } from '../charts/reliability.tsx';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { forecastScoreWords as t } from '../words/forecast-score.ts';
import { digits, NBSP, number, quantity, range, when } from '../words/format.ts';
import '../style/forecast-score.css';

type Score = ForecastScores['scores'][number];
type Night = ForecastScores['nights'][number];
type Range = Score['recallRange'];

const NIGHTS_AT_ONCE = 10;
/** Forecasts of the evening are those that most people read. */
const EVENING = 18;

/** How good the kept forecasts were, in plain words first. */
export function ForecastScoreScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`forecast-score ${home.slug}`, revisions.story.value, (signal) =>
    call('getForecastScore', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <nav class="within" aria-label={t.more}>
        <ul>
          <li>
            <a href={withDwelling('/notices')}>{t.toNotices}</a>
          </li>
          <li>
            <a href={withDwelling('/tonight')}>{t.toTonight}</a>
          </li>
        </ul>
      </nav>
      <Show loaded={loaded} again={again} room="screen">
        {(scores) => <Chosen scores={scores} />}
      </Show>
    </>
  );
}

function Chosen(props: { scores: ForecastScores }) {
  const { scores } = props;
  const [place, choosePlace] = useState<number | null>(null);
  const [hour, chooseHour] = useState(EVENING);
  const only = scores.places.length === 1 ? scores.places[0]! : null;
  const own = (place === null ? scores.scores : scores.places.find(({ placeId }) => placeId === place)?.scores) ?? [];
  const score = own.find((one) => one.hour === hour);
  const nights = scores.nights.filter((one) => one.hour === hour && (place === null || one.placeId === place));
  return (
    <>
      <fieldset class="choices">
        <legend>{t.choices}</legend>
        <div class="field-row">
          <Field label={t.surface}>
            {(ids) => (
              <select
                {...ids}
                value={place ?? ''}
                onChange={({ currentTarget: { value } }) => choosePlace(value === '' ? null : Number(value))}
              >
                <option value="">{only === null ? t.all : only.name}</option>
                {only === null &&
                  scores.places.map(({ placeId, name }) => (
                    <option key={placeId} value={placeId}>
                      {name}
                    </option>
                  ))}
              </select>
            )}
          </Field>
          <Field label={t.madeAt}>
            {(ids) => (
              <select {...ids} value={hour} onChange={(event) => chooseHour(Number(event.currentTarget.value))}>
                {scores.scores.map(({ hour: one }) => (
                  <option key={one} value={one}>
                    {hourWords(one)}
                  </option>
                ))}
              </select>
            )}
          </Field>
        </div>
      </fieldset>
      {score === undefined || score.standing === 'none' ? (
        <Empty title={t.none} next={t.noneNext} />
      ) : (
        <>
          <Plainly
            score={score}
            nights={nights}
            warningChance={scores.warningChance}
            together={place === null && only === null}
          />
          <Reliability score={score} />
          <Guesses score={score} />
        </>
      )}
      {scores.places.length > 0 && <EachScore scores={scores} />}
      {nights.length > 0 && <LastNights nights={nights} places={scores.places} />}
    </>
  );
}

const hourWords = (hour: number): string => t.hour(String(hour).padStart(2, '0'));
const percent = (share: number): string => quantity(share * 100, '%', digits.share);
const rangeWords = (of: Range): string | null =>
  of === null ? null : range(of.low * 100, of.high * 100, '%', digits.share);
const nightsWords = (count: number): string => t.nights(number(count), count === 1);
/** A local date; it has no zone of its own. */
const dateWords = (date: string, style: 'day' | 'date'): string => when('UTC', `${date}T12:00:00Z`, style);

function Plainly(props: { score: Score; nights: readonly Night[]; warningChance: number; together: boolean }) {
  const { score, nights, warningChance, together } = props;
  const { condensationNights: wet, hits, warnings, standing } = score;
  const scored = nights.filter(({ outcome }) => outcome !== null).map(({ night }) => night);
  return (
    <section aria-live="polite">
      <p class="said-plainly">
        {wet === 0 ? t.noneWet : t.caught(nightsWords(wet), number(hits))}{' '}
        {warnings === 0 ? t.noWarnings : t.cameTrue(number(warnings), warnings === 1, number(hits))}
      </p>
      {standing !== 'enough' && <p class="notice tone-unknown">{t.standings[standing]}</p>}
      <p class="small">
        {t.nightsScored(nightsWords(score.nights), dateWords(scored.at(-1)!, 'date'), dateWords(scored[0]!, 'date'))}{' '}
        {together && t.together} {t.warning(percent(warningChance))}
      </p>
    </section>
  );
}

function Reliability(props: { score: Score }) {
  const bins = props.score.reliability.filter(({ nights }) => nights > 0);
  return (
    <section>
      <h2>{t.reliability}</h2>
      <p>{t.reliabilityLead}</p>
      <figure>
        <ReliabilityDrawing bins={bins} />
      </figure>
      <table class="reliability-table">
        <caption class="unseen">{t.reliabilityTable}</caption>
        <thead>
          <tr>
            <th scope="col">{t.columns.said}</th>
            <th scope="col">{t.columns.nights}</th>
            <th scope="col">{t.columns.mean}</th>
            <th scope="col">{t.columns.happened}</th>
            <th scope="col">{t.columns.range}</th>
          </tr>
        </thead>
        <tbody>
          {bins.map((bin) => (
            <tr key={bin.from}>
              <th scope="row">{range(bin.from * 100, bin.to * 100, '%', digits.share)}</th>
              <td>{number(bin.nights)}</td>
              <td>{percent(bin.meanChance!)}</td>
              <td>{percent(bin.rate!)}</td>
              <td>{rangeWords(bin.rateRange)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function skillWords(skill: number | null): string {
  if (skill === null) return t.unknown;
  if (Math.abs(skill) < 0.005) return t.same;
  return skill > 0 ? t.better(percent(skill)) : t.worse(percent(-skill));
}

function Guesses(props: { score: Score }) {
  const { score } = props;
  return (
    <section>
      <h2>{t.compared}</h2>
      <dl class="guess-list">
        <dt>{t.lastNight}</dt>
        <dd>
          {skillWords(score.skillAgainstLastNight)} {t.lastNightExplain}
        </dd>
        <dt>{t.season}</dt>
        <dd>
          {skillWords(score.skillAgainstSeason)}{' '}
          {t.seasonExplain(number(score.condensationNights), nightsWords(score.nights))}
        </dd>
      </dl>
      <details>
        <summary>{t.working}</summary>
        <p>{t.brier(number(score.brier!, 3))}</p>
      </details>
    </section>
  );
}

function EachScore(props: { scores: ForecastScores }) {
  const { places } = props.scores;
  const share = (part: number, whole: number, of: Range): string => {
    const words = t.ofAll(number(part), number(whole));
    const ends = rangeWords(of);
    return ends === null ? words : t.oneRange(words, ends);
  };
  return (
    <section>
      <h2>{t.each}</h2>
      <table class="folds">
        <caption class="unseen">{t.each}</caption>
        <thead>
          <tr>
            <th scope="col">{t.eachColumns.surface}</th>
            <th scope="col">{t.eachColumns.hour}</th>
            <th scope="col">{t.eachColumns.nights}</th>
            <th scope="col">{t.eachColumns.warned}</th>
            <th scope="col">{t.eachColumns.cameTrue}</th>
          </tr>
        </thead>
        <tbody>
          {places.flatMap(({ placeId, name, scores }) =>
            scores.map((score) => (
              <tr key={`${placeId} ${score.hour}`}>
                <th scope="row">
                  <a href={withDwelling(`/place/${placeId}`)}>{name}</a>
                </th>
                <td data-label={t.eachColumns.hour}>{hourWords(score.hour)}</td>
                <td data-label={t.eachColumns.nights}>{number(score.nights)}</td>
                <td data-label={t.eachColumns.warned}>
                  {share(score.hits, score.condensationNights, score.recallRange)}
                </td>
                <td data-label={t.eachColumns.cameTrue}>{share(score.hits, score.warnings, score.precisionRange)}</td>
              </tr>
            )),
          )}
        </tbody>
      </table>
    </section>
  );
}

/** No forecast is sure to the last hundredth. */
function chanceWords(chance: number): string {
  const text = (share: number): string => `${number(share * 100)}${NBSP}%`;
  if (chance < 0.01) return t.under(text(0.01));
  return chance > 0.99 ? t.over(text(0.99)) : text(chance);
}

function LastNights(props: { nights: readonly Night[]; places: ForecastScores['places'] }) {
  const [shown, show] = useState(NIGHTS_AT_ONCE);
  const { nights, places } = props;
  const margin = (value: number): string => quantity(value, 'K', digits.kelvin);
  return (
    <section>
      <h2>{t.last}</h2>
      <table class="folds">
        <caption class="unseen">{t.last}</caption>
        <thead>
          <tr>
            <th scope="col">{t.lastColumns.night}</th>
            <th scope="col">{t.surface}</th>
            <th scope="col">{t.lastColumns.said}</th>
            <th scope="col">{t.lastColumns.expected}</th>
            <th scope="col">{t.lastColumns.came}</th>
          </tr>
        </thead>
        <tbody>
          {nights.slice(0, shown).map(({ night, placeId, chance, minimumMargin: { value, low, high }, outcome }) => (
            <tr key={`${night} ${placeId}`}>
              <th scope="row">{dateWords(night, 'date')}</th>
              <td data-label={t.surface}>{places.find((one) => one.placeId === placeId)?.name}</td>
              <td data-label={t.lastColumns.said}>{chanceWords(chance)}</td>
              <td data-label={t.lastColumns.expected}>
                {margin(value)} <span class="interval-words">{range(low, high, 'K', digits.kelvin)}</span>
              </td>
              <td data-label={t.lastColumns.came}>
                {outcome === null ? t.notKnown : t.came[outcome.wet ? 'wet' : 'dry'](margin(outcome.lowest))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {nights.length > shown && (
        <div class="buttons">
          <button type="button" onClick={() => show(shown + NIGHTS_AT_ONCE)}>
            {t.morePast}
          </button>
        </div>
      )}
    </section>
  );
}
