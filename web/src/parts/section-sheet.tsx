import { Fragment } from 'preact';
import { useEffect, useLayoutEffect, useMemo, useRef } from 'preact/hooks';
import type { Section } from '../../../server/api/contract/dwelling.ts';
import type { PlaceNow, TrendWire } from '../../../server/api/contract/figures.ts';
import { withDwelling } from '../address.ts';
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
import { NBSP, when } from '../words/format.ts';
import { figureLines, findingWords, stateWords, trendFigures } from '../words/place-figures.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';

/** A place as the sheet shows it; notes are lines of its own beside the figures. */
export type ShownPlace = PlaceNow & { readonly notes?: readonly string[] };

/** The drawing with every place where it stands; wide with the values beside it, narrow with them in a list below. */
export function SectionSheet(props: { places: readonly ShownPlace[]; section: Section }) {
  const { places, section } = props;
  const standing = places
    .map(({ placeId, kind, position }) => `${placeId} ${kind} ${position?.along} ${position?.up}`)
    .join();
  // The drawing depends on which places there are and where, not on their values.
  const drawn = useMemo(() => {
    const spots = places.map(({ placeId, kind, position }) => ({ id: placeId, kind, position }));
    return { wide: drawWide(section, spots), narrow: drawNarrow(section, spots) };
  }, [standing, section]);
  const sheet = useRoom();
  const byId = new Map(places.map((place) => [place.placeId, place]));
  const tone = (placeId: number) => byId.get(placeId)?.state.tone ?? 'unknown';
  return (
    <div class="sheet-of-section" ref={sheet}>
      <div class="sheet-wide">
        <svg viewBox={`0 0 ${wideSheet.width} ${wideSheet.height}`} role="img" aria-label={describe(section)}>
          <Building geometry={drawn.wide.geometry} section={section} id="w" dimensions="shown" />
          {drawn.wide.labels.map((label) => (
            <path key={label.placeId} class="leader" d={leaderPath(label.leader)} />
          ))}
          {drawn.wide.geometry.spots.map((spot) => (
            <Mark key={spot.placeId} at={spot.mark} tone={tone(spot.placeId)} radius={7} />
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
              <Mark at={spot.mark} tone={tone(spot.placeId)} radius={12} text={String(i + 1)} />
            </g>
          ))}
        </svg>
        <ol class="values" aria-label={words.section.list}>
          {places.map((place) => (
            <li key={place.placeId}>
              <PlaceFigures place={place} />
            </li>
          ))}
        </ol>
      </div>
    </div>
  );
}

/**
 * Goes over to the list below the drawing wherever the labels beside it would lie on each other: long names, large text
 * or a narrow window. Decided before anything is painted.
 */
function useRoom() {
  const sheet = useRef<HTMLDivElement>(null);
  const decide = () => {
    const shown = sheet.current;
    if (shown === null) return;
    shown.classList.remove('is-crowded');
    const boxes = [...shown.querySelectorAll('.label')].map((label) => label.getBoundingClientRect());
    const width = shown.getBoundingClientRect().right;
    const crowded = boxes.some(
      (box, i) =>
        box.right > width + 1 ||
        boxes.some(
          (other, k) =>
            k > i &&
            box.left < other.right &&
            other.left < box.right &&
            box.bottom > other.top + 2 &&
            other.bottom > box.top + 2,
        ),
    );
    shown.classList.toggle('is-crowded', crowded);
  };
  useLayoutEffect(decide);
  useEffect(() => {
    const watched = new ResizeObserver(decide);
    if (sheet.current) watched.observe(sheet.current);
    const text = sheet.current?.querySelector('.sheet-narrow');
    if (text) watched.observe(text);
    return () => watched.disconnect();
  }, []);
  return sheet;
}

const arrows = { rising: '↗', falling: '↘', steady: '→' } as const;

/** The trends of a place in a few words; both at once where they say the same. */
export function Trends(props: { trends: readonly TrendWire[] }) {
  const { trends } = props;
  if (trends.length === 0) return null;
  const said = trends.every(({ kind }) => kind === 'steady') ? trends.slice(0, 1) : trends;
  return (
    <span class="trend" title={trends.map(trendFigures).join('; ')}>
      {said.map(({ quantity, kind }, i) => (
        <Fragment key={quantity}>
          {i > 0 && ' · '}
          <span aria-hidden="true">{arrows[kind]}</span>
          {`${NBSP}${sectionWords.trends[quantity][kind]}`}
        </Fragment>
      ))}
    </span>
  );
}

/** Name, value, state and trend of one place; the whole of it leads to the place's story. */
export function PlaceFigures(props: { place: ShownPlace }) {
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
      <Trends trends={place.trends} />
      {beside.length > 0 && <span class="beside">{beside.join(' · ')}</span>}
      {place.notes?.map((note) => (
        <span key={note} class="beside">
          {note}
        </span>
      ))}
      {found !== '' && <span class="beside">{found}</span>}
      {place.state.tone === 'unknown' && place.at !== null && place.state.code !== 'gap' && (
        <span class="beside">{words.section.at(when(home.zone, place.at, 'moment'))}</span>
      )}
    </a>
  );
}
