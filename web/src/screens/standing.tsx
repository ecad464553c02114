import { useState } from 'preact/hooks';
import { isOwner } from '../access/door.ts';
import { query, withDwelling } from '../address.ts';
import { addressOf, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { SaveForm, textOf } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { ago } from '../words/format.ts';
import { onboardingWords } from '../words/onboarding.ts';
import { words } from '../words/words.ts';
import '../style/recipients.css';

const t = onboardingWords.standing;

/** Where the label of a sensor leads: says on a phone, beside the sensor, where it stands from now on. */
export function StandingScreen() {
  const home = useHome();
  const key = query.value.get('sensor') ?? '';
  const params = { dwelling: home.slug };
  const [stands, setStands] = useState<string | null>(null);
  const { loaded, again } = useLoad(addressOf('listSensors', params), revisions.now.value, async (signal) => ({
    sensors: await call('listSensors', { params }, signal),
    places: await call('listPlaces', { params }, signal),
  }));
  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
      </p>
      <Show loaded={loaded} again={again} room="screen">
        {({ sensors, places }) => {
          const sensor = sensors.find((one) => one.key === key);
          if (sensor === undefined) {
            return (
              <>
                <h1>{t.unknown(key)}</h1>
                <p class="no-print">
                  <a href={withDwelling('/sensors')}>{t.unknownNext}</a>
                </p>
              </>
            );
          }
          const now = sensor.placements.find(({ to }) => to === null);
          const placeName = places.find(({ id }) => id === now?.placeId)?.name;
          const lasts = sensor.series.flatMap(({ last }) => (last === null ? [] : [last.time])).sort();
          const last = lasts.at(-1);
          return (
            <>
              <h1>{t.title(sensor.name)}</h1>
              <p class="lead">{placeName === undefined ? t.nowhere : t.stands(placeName)}</p>
              <p>{last === undefined ? t.neverHeard : t.heard(ago(last, Date.now()))}</p>
              <p class="caution">{t.caution}</p>
              {!isOwner() ? (
                <p>{t.ownerOnly}</p>
              ) : places.length === 0 ? (
                <Empty
                  title={t.noPlaces}
                  next={
                    <a class="no-print" href={withDwelling('/sensors')}>
                      {words.section.noPlacesNext}
                    </a>
                  }
                />
              ) : (
                <SaveForm
                  submit={t.submit}
                  send={async (fields) => {
                    const placeId = Number(textOf(fields, 'place'));
                    const from = new Date().toISOString();
                    await call('placeSensor', { params: { ...params, id: sensor.id }, body: { placeId, from } });
                    setStands(places.find(({ id }) => id === placeId)?.name ?? '');
                    again();
                  }}
                >
                  <fieldset class="codes">
                    <legend>{t.where}</legend>
                    {places.map(({ id, name }) => (
                      <label class="check" key={id}>
                        <input type="radio" name="place" value={id} required defaultChecked={id === now?.placeId} />
                        <span>{name}</span>
                      </label>
                    ))}
                  </fieldset>
                </SaveForm>
              )}
              <p role="status">{stands === null ? '' : t.placed(stands)}</p>
              <p class="no-print">
                <a href={withDwelling('/sensors/placing')}>{words.screens.placing}</a>
              </p>
            </>
          );
        }}
      </Show>
    </>
  );
}
