import { useMemo, useRef, useState } from 'preact/hooks';
import type { Place, Section, SectionPosition } from '../../../server/api/contract/dwelling.ts';
import type { Point } from '../../../server/drawing/section-geometry.ts';
import { Owners } from '../access/owners.tsx';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { Building, drawWide, Mark, wideSheet } from '../drawing/section-drawing.tsx';
import { useHome } from '../home.ts';
import { Field, SaveForm } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { quantity } from '../words/format.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';

const t = sectionWords.move;

/** Sets where places are drawn, by dragging in the drawing or by sliders that do the same. */
export function PlaceMover(props: { section: Section }) {
  const home = useHome();
  const { loaded, again } = useLoad(`places ${home.slug}`, revisions.story.value, (signal) =>
    call('listPlaces', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <Show loaded={loaded} again={again} room="chart">
      {(places) =>
        places.length === 0 ? (
          <Empty title={words.section.noPlaces} next={words.section.noPlacesNext} />
        ) : (
          <Owners>
            <Mover places={places} section={props.section} />
          </Owners>
        )
      }
    </Show>
  );
}

/** The part of the wide sheet that holds the drawing. */
const view = { x: 236, y: 0, width: 752, height: wideSheet.height } as const;

function Mover(props: { places: readonly Place[]; section: Section }) {
  const { places, section } = props;
  const home = useHome();
  const [chosen, choosePlace] = useState(places[0]!.id);
  const [moved, setMoved] = useState<{ readonly id: number; readonly position: SectionPosition | null } | null>(null);
  const [said, say] = useState('');
  const drawing = useRef<SVGSVGElement>(null);
  const shown = places.map((place) => (moved?.id === place.id ? { ...place, position: moved.position } : place));
  const { geometry } = useMemo(() => drawWide(section, shown), [section, places, moved]);
  const place = places.find(({ id }) => id === chosen) ?? places[0]!;
  const spot = geometry.spots.find(({ placeId }) => placeId === place.id)!;
  const hasHeight = geometry.hasHeight(place.kind);
  const move = (position: SectionPosition | null) => {
    say('');
    setMoved({ id: place.id, position });
  };
  const pointOf = (event: PointerEvent): Point | null => {
    const matrix = drawing.current?.getScreenCTM();
    if (!matrix) return null;
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    return { x, y };
  };
  return (
    <>
      <p>{t.lead}</p>
      <svg
        ref={drawing}
        class="mover"
        viewBox={`${view.x} ${view.y} ${view.width} ${view.height}`}
        role="img"
        aria-label={t.drawing}
      >
        <Building geometry={geometry} section={section} id="m" dimensions="left-out" />
        {geometry.spots.map((each) => (
          <g
            key={each.placeId}
            class={each.placeId === place.id ? 'is-chosen' : undefined}
            data-place={each.placeId}
            onPointerDown={(event) => {
              event.preventDefault();
              event.currentTarget.setPointerCapture(event.pointerId);
              choosePlace(each.placeId);
            }}
            onPointerMove={(event) => {
              if (!event.currentTarget.hasPointerCapture(event.pointerId)) return;
              const point = pointOf(event);
              const own = places.find(({ id }) => id === each.placeId);
              if (point === null || own === undefined) return;
              say('');
              setMoved({ id: own.id, position: geometry.positionAt(own.kind, point) });
            }}
          >
            <circle class="grip" cx={each.at.x} cy={each.at.y} r={26} />
            <Mark at={each.at} tone={each.placeId === place.id ? 'watch' : 'quiet'} radius={10} />
          </g>
        ))}
      </svg>
      <SaveForm
        submit={words.save}
        send={async () => {
          const position = moved?.id === place.id ? moved.position : place.position;
          await call('changePlace', { params: { dwelling: home.slug, id: place.id }, body: { position } });
          say(t.saved(place.name));
          revisions.story.value += 1;
          revisions.now.value += 1;
        }}
      >
        <Field label={t.place}>
          {(ids) => (
            <select
              {...ids}
              value={String(place.id)}
              onChange={(event) => {
                choosePlace(Number(event.currentTarget.value));
                setMoved(null);
              }}
            >
              {places.map(({ id, name }) => (
                <option key={id} value={String(id)}>
                  {name}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Share label={t.along} value={spot.position.along} set={(along) => move({ ...spot.position, along })} />
        {hasHeight && <Share label={t.up} value={spot.position.up} set={(up) => move({ ...spot.position, up })} />}
        <div class="buttons">
          <button type="button" onClick={() => move(null)}>
            {t.usual}
          </button>
        </div>
      </SaveForm>
      <p class="small" role="status">
        {said}
      </p>
    </>
  );
}

function Share(props: { label: string; value: number; set: (share: number) => void }) {
  const percent = Math.round(props.value * 100);
  return (
    <Field label={props.label}>
      {(ids) => (
        <input
          {...ids}
          type="range"
          min={0}
          max={100}
          step={1}
          value={percent}
          aria-valuetext={t.percent(quantity(percent, '%', 0))}
          onInput={(event) => props.set(Number(event.currentTarget.value) / 100)}
        />
      )}
    </Field>
  );
}
