import type { Place } from '../../../server/api/contract/dwelling.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { ChartDesk, SpanChoice } from '../charts/desk.tsx';
import { loftAirTracks, loftTimberTracks } from '../charts/tracks.ts';
import { useHome } from '../home.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { digits, plusMinus } from '../words/format.ts';
import { stateWords } from '../words/place-figures.ts';
import { words } from '../words/words.ts';
import { PlaceCharts } from './place-charts.tsx';

const t = words.loft;

/** Is the draught still doing its work: loft air and timber against outdoors. */
export function LoftScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`places ${home.slug}`, revisions.story.value, (signal) =>
    call('listPlaces', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <p class="caution">{t.caution}</p>
      <Show loaded={loaded} again={again} room="screen">
        {(places) => <Loft places={places} />}
      </Show>
    </>
  );
}

function Loft(props: { places: readonly Place[] }) {
  const air = props.places.filter(({ kind }) => kind === 'loft-air');
  const timber = props.places.filter(({ kind }) => kind === 'loft-timber');
  const outdoors = props.places.filter(({ kind }) => kind === 'outdoor-air');
  if (air.length + timber.length === 0) {
    return (
      <Empty
        title={t.nothing}
        next={
          <a class="no-print" href={withDwelling('/sensors')}>
            {t.nothingNext}
          </a>
        }
      />
    );
  }
  return (
    <ChartDesk>
      <LoftNow />
      <SpanChoice label={t.title} />
      {air.length > 0 && (
        <>
          <h2>{t.airTitle}</h2>
          <p class="small">{outdoors.length > 0 ? t.airExplain : t.noOutdoors}</p>
          <PlaceCharts
            places={[...air, ...outdoors]}
            tracks={loftAirTracks}
            label={t.airTitle}
            heading="h3"
            diary="listed"
          />
        </>
      )}
      {timber.map((place) => (
        <section key={place.id}>
          <h2>
            <a href={withDwelling(`/place/${place.id}`)}>{place.name}</a>
          </h2>
          <PlaceCharts places={[place]} tracks={loftTimberTracks} label={place.name} heading="h3" diary="elsewhere" />
        </section>
      ))}
    </ChartDesk>
  );
}

function LoftNow() {
  const home = useHome();
  const { loaded, again } = useLoad(`now ${home.slug}`, revisions.now.value, (signal) =>
    call('getNow', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <Show loaded={loaded} again={again} room="list">
      {(now) => (
        <ul class="now-list room-list">
          {now.places
            .filter(({ kind }) => kind === 'loft-air' || kind === 'loft-timber' || kind === 'outdoor-air')
            .map((place) => (
              <li key={place.placeId}>
                <a href={withDwelling(`/place/${place.placeId}`)}>{place.name}</a>:{' '}
                {[
                  place.timberMoisture && plusMinus(place.timberMoisture, '%', 1),
                  place.temperature && plusMinus(place.temperature, '°C', digits.temperature),
                  place.humidity && plusMinus(place.humidity, '%', digits.percent),
                  place.vapourExcess && words.section.excess(plusMinus(place.vapourExcess, 'Pa', digits.pascal)),
                ]
                  .filter((text) => text !== null)
                  .join(' · ')}{' '}
                {stateWords(place) !== '' && (
                  <span class={`state-words tone-${place.state.tone}`}>{stateWords(place)}</span>
                )}
              </li>
            ))}
        </ul>
      )}
    </Show>
  );
}
