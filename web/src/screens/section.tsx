import { Fragment } from 'preact';
import { useMemo } from 'preact/hooks';
import type { Section } from '../../../server/api/contract/dwelling.ts';
import type { Now, PlaceNow } from '../../../server/api/contract/figures.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import {
  Building,
  describe,
  drawNarrow,
  drawWide,
  leaderPath,
  Mark,
  narrowSheet,
  wideSheet,
} from '../drawing/section-drawing.tsx';
import { useHome } from '../home.ts';
import { Field, SaveForm } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { ago, NBSP, number, quantity, when } from '../words/format.ts';
import { figureLines, findingWords, stateWords } from '../words/place-figures.ts';
import { words } from '../words/words.ts';

/** The first screen: a sentence, then the drawing with every place where it stands. */
export function SectionScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`now ${home.slug}`, revisions.now.value, (signal) =>
    call('getNow', { params: { dwelling: home.slug } }, signal),
  );
  const now = loaded.kind === 'loading' ? null : loaded.value;
  return (
    <>
      <div class="headline" aria-live="polite">
        <h1>{now?.headline ?? words.loading}</h1>
        <p class="lead">{now?.detail ?? ''}</p>
        <p class="rests-on">{now === null ? '' : heardWords(now, home.zone)}</p>
      </div>
      <Show loaded={loaded} again={again} room="screen">
        {(value) =>
          value.places.length === 0 ? (
            <>
              <SectionSheet now={value} section={home.section} />
              <Empty
                title={words.section.noPlaces}
                next={<a href={withDwelling('/sensors')}>{words.section.noPlacesNext}</a>}
              />
            </>
          ) : (
            <SectionSheet now={value} section={home.section} />
          )
        }
      </Show>
      <div class="title-block">
        <p>{words.section.titleBlock(mm(home.section))}</p>
        <p>{words.section.draught}</p>
      </div>
      <Measurements />
    </>
  );
}

const mm = (section: Section): Readonly<Record<keyof Section, string>> => ({
  pitchDeg: `${number(section.pitchDeg)}°`,
  slopeLengthMm: quantity(section.slopeLengthMm, 'mm', 0),
  roomHeightMm: quantity(section.roomHeightMm, 'mm', 0),
  liningThicknessMm: section.liningThicknessMm > 0 ? quantity(section.liningThicknessMm, 'mm', 0) : words.none,
  loftInsulationMm: quantity(section.loftInsulationMm, 'mm', 0),
  eavesGapMm: quantity(section.eavesGapMm, 'mm', 0),
});

function heardWords(now: Now, zone: string): string {
  const { sensors, heard, lastReading } = now.heard;
  const at = when(zone, now.time, 'moment');
  if (sensors === 0) return `${at} · ${words.section.noSensors}`;
  const all =
    heard === sensors ? words.section.allHeard(number(sensors)) : words.section.heard(number(heard), number(sensors));
  const last = lastReading === null ? '' : ` · ${words.section.lastReading(ago(lastReading, Date.parse(now.time)))}`;
  return `${at} · ${all}${last}`;
}

function SectionSheet(props: { now: Now; section: Section }) {
  const { now, section } = props;
  const kinds = now.places.map(({ placeId, kind }) => `${placeId} ${kind}`).join();
  // The drawing depends on which places there are, not on their values.
  const drawn = useMemo(() => {
    const places = now.places.map(({ placeId, kind, position }) => ({ id: placeId, kind, position }));
    return { wide: drawWide(section, places), narrow: drawNarrow(section, places) };
  }, [kinds, section]);
  const byId = new Map(now.places.map((place) => [place.placeId, place]));
  const tone = (placeId: number) => byId.get(placeId)?.state.tone ?? 'unknown';
  return (
    <>
      <div class="sheet-wide">
        <svg viewBox={`0 0 ${wideSheet.width} ${wideSheet.height}`} role="img" aria-label={describe(section)}>
          <Building geometry={drawn.wide.geometry} section={section} id="w" dimensions="shown" />
          {drawn.wide.labels.map((label) => (
            <path key={label.placeId} class="leader" d={leaderPath(label.leader)} />
          ))}
          {drawn.wide.geometry.spots.map((spot) => (
            <g key={spot.placeId}>
              <path class="leader" d={leaderPath([spot.at, spot.mark])} />
              <Mark at={spot.mark} tone={tone(spot.placeId)} radius={7} />
            </g>
          ))}
        </svg>
        <ul class="labels" aria-label={words.section.list}>
          {drawn.wide.labels.map((label) => {
            const place = byId.get(label.placeId);
            return place === undefined ? null : (
              <li
                key={label.placeId}
                class={`label on-${label.side}`}
                style={{ top: `${(100 * label.y) / wideSheet.height}%` }}
              >
                <PlaceFigures place={place} />
              </li>
            );
          })}
        </ul>
      </div>
      <div class="sheet-narrow">
        <svg viewBox={`0 0 ${narrowSheet.width} ${narrowSheet.height}`} role="img" aria-label={describe(section)}>
          <Building geometry={drawn.narrow} section={section} id="n" dimensions="left-out" />
          {drawn.narrow.spots.map((spot, i) => (
            <g key={spot.placeId}>
              <path class="leader" d={leaderPath([spot.at, spot.mark])} />
              <Mark at={spot.mark} tone={tone(spot.placeId)} radius={10} text={String(i + 1)} />
            </g>
          ))}
        </svg>
        <ol class="values" aria-label={words.section.list}>
          {now.places.map((place) => (
            <li key={place.placeId}>
              <PlaceFigures place={place} />
            </li>
          ))}
        </ol>
      </div>
    </>
  );
}

/** Name, value and state of one place; the whole of it leads to the place's story. */
function PlaceFigures(props: { place: PlaceNow }) {
  const { place } = props;
  const home = useHome();
  const { main, beside } = figureLines(place);
  const state = stateWords(place);
  const found = findingWords(place.findings);
  return (
    <a class={`figures tone-${place.state.tone}`} href={withDwelling(`/place/${place.placeId}`)}>
      <span class="place-name">{place.name}</span>
      <span class="value">
        {main.length === 0
          ? words.section.noValue
          : main.map((figure, i) => (
              <Fragment key={figure.unit}>
                {i > 0 && ' · '}
                {figure.value}
                {figure.give !== null && <span class="give">{` ±${NBSP}${figure.give}`}</span>}
                {`${NBSP}${figure.unit}`}
              </Fragment>
            ))}
      </span>
      {state !== '' && <span class="state">{state}</span>}
      {beside.length > 0 && <span class="beside">{beside.join(' · ')}</span>}
      {found !== '' && <span class="beside">{found}</span>}
      {place.state.tone === 'unknown' && place.at !== null && (
        <span class="beside">{words.section.at(when(home.zone, place.at, 'moment'))}</span>
      )}
    </a>
  );
}

function Measurements() {
  const home = useHome();
  const t = words.section;
  return (
    <details class="aside">
      <summary>{t.measurements}</summary>
      <p>{t.measurementsLead}</p>
      <SaveForm
        submit={words.save}
        send={async (fields) => {
          const section = Object.fromEntries(
            Object.keys(t.fields).map((key) => [key, Number(fields.get(key))]),
          ) as unknown as Section;
          await call('changeDwelling', { params: { dwelling: home.slug }, body: { section } });
          revisions.story.value += 1;
        }}
      >
        <div class="field-row">
          {(Object.entries(t.fields) as [keyof Section, readonly [string, string]][]).map(([key, [label, unit]]) => (
            <Field key={key} label={`${label}, ${unit}`}>
              {(ids) => (
                <input {...ids} name={key} type="number" step="any" required defaultValue={String(home.section[key])} />
              )}
            </Field>
          ))}
        </div>
      </SaveForm>
    </details>
  );
}
