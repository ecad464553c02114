import { useState } from 'preact/hooks';
import type { Place, Sensor } from '../../../server/api/contract/dwelling.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { PlaceFields, placeBody } from '../screens/places.tsx';
import { fromInput, localMidnight, toInput } from '../time/zone.ts';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';

const t = words.sensors;
const NEW = 'new';

const standsNow = (sensor: Sensor) => sensor.placements.find(({ to }) => to === null);

/** Says where a sensor stands and since when; the place may be made at the same time. */
export function PlacingSheet(props: {
  sensor: Sensor;
  places: readonly Place[];
  leave: () => void;
  moved: (place: string) => void;
}) {
  const home = useHome();
  const { sensor, places } = props;
  const never = sensor.placements.length === 0;
  const stands = standsNow(sensor)?.placeId;
  const [chosen, choose] = useState(places.length === 0 ? NEW : String(stands ?? places[0]?.id ?? ''));
  return (
    <Sheet title={never ? settlingWords.placing.giveTitle(sensor.name) : t.moveTitle(sensor.name)} close={props.leave}>
      {!never && <p>{t.moveLead}</p>}
      <SaveForm
        submit={never ? settlingWords.placing.give : t.moveNow}
        leave={props.leave}
        send={async (fields) => {
          const from = fromInput(home.zone, textOf(fields, 'from'));
          if (from === null) return;
          const params = { dwelling: home.slug };
          const added = chosen === NEW ? await call('addPlace', { params, body: placeBody(fields) }) : null;
          const placeId = added?.id ?? (chosen === '' ? null : Number(chosen));
          await call('placeSensor', { params: { ...params, id: sensor.id }, body: { placeId, from } });
          revisions.story.value += 1;
          revisions.now.value += 1;
          props.moved(added?.name ?? places.find(({ id }) => id === placeId)?.name ?? t.taken);
        }}
      >
        <Field label={t.where}>
          {(ids) => (
            <select {...ids} name="place" value={chosen} onChange={(event) => choose(event.currentTarget.value)}>
              {places.map(({ id, name }) => (
                <option key={id} value={String(id)}>
                  {name}
                </option>
              ))}
              <option value={NEW}>{settlingWords.placing.newPlace}</option>
              {!never && <option value="">{t.takeAway}</option>}
            </select>
          )}
        </Field>
        {chosen === NEW && <PlaceFields place={null} rooms={places.filter(({ kind }) => kind === 'room-air')} />}
        <Field label={t.from} hint={never ? settlingWords.placing.fromHint : undefined}>
          {(ids) => (
            <input
              {...ids}
              name="from"
              type="datetime-local"
              required
              defaultValue={toInput(home.zone, never ? firstDay(home.zone, sensor) : Date.now())}
            />
          )}
        </Field>
      </SaveForm>
    </Sheet>
  );
}

/** The beginning of the day of its last readings: whoever has just put it up wants to see what it has sent today. */
function firstDay(zone: string, sensor: Sensor): number {
  const times = sensor.series.flatMap(({ last }) => (last === null ? [] : [Date.parse(last.time)]));
  return localMidnight(zone, times.length === 0 ? Date.now() : Math.min(...times));
}
