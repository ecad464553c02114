import type { ComponentChildren } from 'preact';
import type { TypicalPlace } from '../../../server/api/contract/played-night.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { ThroughCeiling } from '../drawing/through-ceiling.tsx';
import { useHome } from '../home.ts';
import { type Matched, typicalNow } from '../night/view-model.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { SectionHead } from '../parts/section-head.tsx';
import { SectionSheet, type ShownPlace } from '../parts/section-sheet.tsx';
import { digits, number, quantity } from '../words/format.ts';
import { said } from '../words/say.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';

const t = sectionWords.matched;

/** The section without or with its lining, with what is typical of cold nights of the same weather before or after. */
export function MatchedNights(props: { phase: 'before' | 'after'; choice: ComponentChildren }) {
  const home = useHome();
  const { phase } = props;
  const { loaded, again } = useLoad(`matched ${home.slug}`, revisions.hours.value, (signal) =>
    call('getMatchedNights', { params: { dwelling: home.slug } }, signal),
  );
  const found = loaded.kind === 'loading' ? null : loaded.value;
  const lined = phase === 'after';
  const section = lined ? home.section : { ...home.section, liningThicknessMm: 0 };
  const kelvin = (value: number) => quantity(value, 'K', 0);
  const celsius = (value: number, places: number) => quantity(value, '°C', places);
  return (
    <>
      <SectionHead
        headline={found === null ? words.loading : found.kind === 'matched' ? t[phase] : t.notEnough}
        detail={
          found?.kind === 'matched'
            ? t.lead(number(found.pairs), kelvin(found.settings.withinK ?? 0))
            : found?.kind === 'not-enough'
              ? said.term(found.message)
              : ''
        }
        restsOn={
          found?.kind === 'matched'
            ? t.rests(
                celsius(found.before.outdoorMeanC, 1),
                celsius(found.after.outdoorMeanC, 1),
                celsius(found.settings.coldBelowC ?? 0, 0),
              )
            : ''
        }
        spoken="polite"
      />
      {props.choice}
      <Show loaded={loaded} again={again} room="screen">
        {(value) => {
          if (value.kind === 'not-enough') {
            return (
              <>
                <SectionSheet places={[]} section={section} />
                <Empty title={t.notEnough} next={said.term(value.message)} />
              </>
            );
          }
          const places = value[phase].places
            // What stood there in only one of the phases is not drawn in the other.
            .filter(({ kind, state }) => state.code !== 'gap' && (lined || kind !== 'behind-lining'))
            .map((place): ShownPlace => ({ ...typicalNow(place), notes: notesOf(place) }));
          return (
            <>
              <SectionSheet places={places} section={section} />
              <ThroughCeiling places={places} lined={lined && home.section.liningThicknessMm > 0} />
              <p class="small">{t.figures}</p>
              <BothInFigures matched={value} />
              <p class="caution">
                {t.caution} <a href={withDwelling('/before-after')}>{words.screens.beforeAfter}</a>.
              </p>
            </>
          );
        }}
      </Show>
    </>
  );
}

function notesOf({ condensationNights, knownNights }: TypicalPlace): string[] {
  return condensationNights === null || knownNights === null
    ? []
    : [t.condensation(number(condensationNights), number(knownNights))];
}

const units = {
  temperature: ['°C', digits.temperature],
  margin: ['K', digits.kelvin],
  surfaceHumidity: ['%', digits.percent],
  vapourExcess: ['Pa', digits.pascal],
  timberMoisture: ['%', 1],
} as const;
type Told = keyof typeof units;

/** Which figures are told of a kind of place; none that would only repeat another. */
const toldOf = (kind: TypicalPlace['kind']): readonly Told[] => {
  if (kind === 'ceiling-surface' || kind === 'control-surface') return ['temperature', 'margin', 'surfaceHumidity'];
  if (kind === 'loft-timber') return ['timberMoisture'];
  if (kind === 'behind-lining') return ['temperature', 'surfaceHumidity'];
  return kind === 'room-air' || kind === 'loft-air' ? ['temperature', 'vapourExcess'] : ['temperature'];
};

/** Both sides in one table, with between what half of the nights lie. */
function BothInFigures(props: { matched: Matched }) {
  const { before, after } = props.matched;
  const cell = (place: TypicalPlace | undefined, name: Told) => {
    const figure = place?.figures[name] ?? null;
    const [unit, places] = units[name];
    return figure === null ? (
      '–'
    ) : (
      <>
        {quantity(figure.value, unit, places)}
        <span class="interval-words">{words.to(number(figure.low, places), number(figure.high, places))}</span>
      </>
    );
  };
  const nights = (place: TypicalPlace | undefined) =>
    place === undefined || place.condensationNights === null || place.knownNights === null
      ? '–'
      : t.ofNights(number(place.condensationNights), number(place.knownNights));
  return (
    <details>
      <summary>{t.table}</summary>
      <p class="small">{t.tableNote}</p>
      <table class="folds">
        <caption class="unseen">{t.table}</caption>
        <thead>
          <tr>
            <th scope="col">{t.columns.place}</th>
            <th scope="col">{t.columns.figure}</th>
            <th scope="col">{t.columns.before}</th>
            <th scope="col">{t.columns.after}</th>
          </tr>
        </thead>
        <tbody>
          {after.places.flatMap((place) => {
            const was = before.places.find(({ placeId }) => placeId === place.placeId);
            const isSurface = place.kind === 'ceiling-surface' || place.kind === 'control-surface';
            return [
              ...toldOf(place.kind).map((name) => (
                <tr key={`${place.placeId} ${name}`}>
                  <th scope="row">{place.name}</th>
                  <td>{t.names[name]}</td>
                  <td data-label={t.columns.before}>{cell(was, name)}</td>
                  <td data-label={t.columns.after}>{cell(place, name)}</td>
                </tr>
              )),
              ...(isSurface
                ? [
                    <tr key={`${place.placeId} nights`}>
                      <th scope="row">{place.name}</th>
                      <td>{t.names.nights}</td>
                      <td data-label={t.columns.before}>{nights(was)}</td>
                      <td data-label={t.columns.after}>{nights(place)}</td>
                    </tr>,
                  ]
                : []),
            ];
          })}
        </tbody>
      </table>
    </details>
  );
}
