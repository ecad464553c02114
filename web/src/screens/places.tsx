import { useState } from 'preact/hooks';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import { isOwner } from '../access/door.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { words } from '../words/words.ts';

const t = words.sensors;
const kinds = Object.keys(words.kinds) as Place['kind'][];
const facesAir = (kind: Place['kind']) => kind === 'ceiling-surface' || kind === 'control-surface';

/** The places of the home, each to be renamed or given another kind, and a way to add one. */
export function PlacesList(props: { places: readonly Place[] }) {
  const home = useHome();
  const [edited, setEdited] = useState<Place | 'new' | null>(null);
  const [said, say] = useState('');
  const mayChange = isOwner();
  const leave = () => setEdited(null);
  const rooms = props.places.filter(({ kind }) => kind === 'room-air');
  const nameOf = (id: number | null) => props.places.find((place) => place.id === id)?.name;
  return (
    <>
      {props.places.length === 0 ? (
        <p>{t.noPlaces}</p>
      ) : (
        <table class="folds">
          <caption class="unseen">{t.places}</caption>
          <thead>
            <tr>
              <th scope="col">{t.placeColumns.name}</th>
              <th scope="col">{t.placeColumns.kind}</th>
              <th scope="col">{t.placeColumns.faces}</th>
              {mayChange && <th scope="col">{t.placeColumns.change}</th>}
            </tr>
          </thead>
          <tbody>
            {props.places.map((place) => (
              <tr key={place.id}>
                <th scope="row">
                  <a href={withDwelling(`/place/${place.id}`)}>{place.name}</a>
                </th>
                <td>{words.kinds[place.kind]}</td>
                <td data-label={facesAir(place.kind) ? t.placeColumns.faces : undefined}>
                  {facesAir(place.kind) ? (nameOf(place.facesPlaceId) ?? t.facesFirst) : ''}
                </td>
                {mayChange && (
                  <td class="actions">
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.editPlace(place.name)}
                      onClick={() => setEdited(place)}
                    >
                      {words.edit}
                    </button>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {mayChange && (
        <div class="buttons">
          <button type="button" onClick={() => setEdited('new')}>
            {t.addPlace}
          </button>
        </div>
      )}
      <p class="small" role="status">
        {said}
      </p>
      {edited !== null && (
        <Sheet title={edited === 'new' ? t.addPlace : t.editPlace(edited.name)} close={leave}>
          <SaveForm
            submit={words.save}
            leave={leave}
            send={async (fields) => {
              const body = placeBody(fields);
              if (edited === 'new') {
                await call('addPlace', { params: { dwelling: home.slug }, body });
                say(t.placeAdded(body.name));
              } else {
                await call('changePlace', { params: { dwelling: home.slug, id: edited.id }, body });
                say(words.saved);
              }
              revisions.story.value += 1;
              revisions.now.value += 1;
              leave();
            }}
          >
            <PlaceFields place={edited === 'new' ? null : edited} rooms={rooms} />
          </SaveForm>
        </Sheet>
      )}
    </>
  );
}

/** What the fields of a place say. */
export function placeBody(fields: FormData): Pick<Place, 'name' | 'kind' | 'facesPlaceId'> {
  const kind = textOf(fields, 'kind') as Place['kind'];
  const faces = textOf(fields, 'faces');
  return {
    name: textOf(fields, 'name'),
    kind,
    facesPlaceId: facesAir(kind) && faces !== '' ? Number(faces) : null,
  };
}

export function PlaceFields(props: { place: Place | null; rooms: readonly Place[] }) {
  const [kind, setKind] = useState<Place['kind']>(props.place?.kind ?? 'room-air');
  return (
    <>
      <Field label={t.placeName}>
        {(ids) => <input {...ids} name="name" required maxLength={80} defaultValue={props.place?.name ?? ''} />}
      </Field>
      <Field label={t.placeKind} hint={words.kindHints[kind]}>
        {(ids) => (
          <select
            {...ids}
            name="kind"
            value={kind}
            onChange={(event) => setKind(event.currentTarget.value as Place['kind'])}
          >
            {kinds.map((each) => (
              <option key={each} value={each}>
                {words.kinds[each]}
              </option>
            ))}
          </select>
        )}
      </Field>
      {facesAir(kind) && (
        <Field label={t.placeFaces}>
          {(ids) => (
            <select {...ids} name="faces">
              <option value="">{t.facesFirst}</option>
              {props.rooms.map(({ id, name }) => (
                <option key={id} value={id} selected={id === props.place?.facesPlaceId}>
                  {name}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
    </>
  );
}
