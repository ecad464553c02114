import { useMemo } from 'preact/hooks';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import type { PlaceNow } from '../../../server/api/contract/figures.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { ChartDesk, SpanChoice } from '../charts/desk.tsx';
import { tracksOf } from '../charts/tracks.ts';
import { useHome } from '../home.ts';
import { FindingList, FindingsBeside } from '../parts/findings.tsx';
import { Show } from '../parts/notice.tsx';
import { digits, plusMinus } from '../words/format.ts';
import { stateWords, trendFigures } from '../words/place-figures.ts';
import { words } from '../words/words.ts';
import { PlaceCharts } from './place-charts.tsx';
import { WinterRisk } from './winter-risk.tsx';

const t = words.place;

/** The story of one place: its last days or winters, with works and diary on the same axis. */
export function PlaceScreen(props: { id: number }) {
  const home = useHome();
  const { loaded, again } = useLoad(`places ${home.slug}`, revisions.story.value, (signal) =>
    call('listPlaces', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <Show loaded={loaded} again={again} room="screen">
      {(places) => {
        const place = places.find(({ id }) => id === props.id);
        return place === undefined ? (
          <>
            <h1>{t.notHere}</h1>
            <p>
              <a class="no-print" href={withDwelling('/')}>
                {words.nowhere.back}
              </a>
            </p>
          </>
        ) : (
          <Story place={place} />
        );
      }}
    </Show>
  );
}

function Story(props: { place: Place }) {
  const { place } = props;
  const isSurface = place.kind === 'ceiling-surface' || place.kind === 'control-surface';
  const places = useMemo(() => [place], [place]);
  const tracks = useMemo(() => tracksOf(place.kind), [place.kind]);
  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/')}>{words.screens.section}</a>
      </p>
      <h1>{place.name}</h1>
      <NowOf place={place} />
      <ChartDesk>
        <SpanChoice label={t.charts} />
        <PlaceCharts places={places} tracks={tracks} label={t.charts} heading="h2" diary="listed" />
      </ChartDesk>
      {isSurface && <WinterRisk place={place} />}
      <FoundHere place={place} />
      {isSurface && <p class="caution">{t.mouldCaution}</p>}
      {place.kind === 'behind-lining' && <p class="caution">{t.hiddenCaution}</p>}
      {(place.kind === 'loft-air' || place.kind === 'loft-timber') && <p class="caution">{words.loft.caution}</p>}
    </>
  );
}

function useNowAt(place: Place): PlaceNow | undefined {
  const home = useHome();
  const { loaded } = useLoad(`now ${home.slug}`, revisions.now.value, (signal) =>
    call('getNow', { params: { dwelling: home.slug } }, signal),
  );
  const now = loaded.kind === 'loading' ? null : loaded.value;
  return now?.places.find(({ placeId }) => placeId === place.id);
}

function NowOf(props: { place: Place }) {
  // What a probe on a surface says of humidity is that of its own air; the surface's stands beside it.
  const isSurface = props.place.kind === 'ceiling-surface' || props.place.kind === 'control-surface';
  const here = useNowAt(props.place);
  const said =
    here === undefined
      ? []
      : [
          here.temperature && plusMinus(here.temperature, '°C', digits.temperature),
          here.humidity && !isSurface && plusMinus(here.humidity, '%', digits.percent),
          here.timberMoisture && plusMinus(here.timberMoisture, '%', 1),
          here.margin &&
            (here.margin.value >= 0 ? words.section.margin : words.section.marginBelow)(
              plusMinus({ ...here.margin, value: Math.abs(here.margin.value) }, 'K', digits.kelvin),
            ),
          here.surfaceHumidity && words.section.surfaceHumidity(plusMinus(here.surfaceHumidity, '%', digits.percent)),
        ].filter((text) => text !== null && text !== false);
  return (
    <p class="lead now-line" aria-live="polite">
      {here && (
        <>
          {stateWords(here) !== '' && <span class={`state-words tone-${here.state.tone}`}>{stateWords(here)}</span>}{' '}
          {said.join(' · ')}
          {here.trends.length > 0 && <span class="block small">{here.trends.map(trendFigures).join(' · ')}</span>}
          <FindingsBeside findings={here.findings} />
        </>
      )}
    </p>
  );
}

/** Findings about the sensors of this place, with their evidence. */
function FoundHere(props: { place: Place }) {
  const findings = useNowAt(props.place)?.findings ?? [];
  if (findings.length === 0) return null;
  return (
    <section>
      <h2>{words.findings.here}</h2>
      <FindingList findings={findings} />
    </section>
  );
}
