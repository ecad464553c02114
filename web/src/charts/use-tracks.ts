import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import type { TrackFigureName, TrackWire } from '../../../server/api/contract/track.ts';
import { CallFailed, call, type Failure } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import type { Desk } from './desk.tsx';
import { type Entries, entriesOf, spliced } from './trace.ts';
import type { Window } from './window.ts';

/** Entries asked for of everything that is known, and of as much as is shown: about one for each pixel there is. */
const OVERVIEW_POINTS = 1000;
const SHOWN_POINTS = 800;
/** As fine as the API gives it, for a file. */
const FINEST_POINTS = 20_000;
const SETTLE_MS = 180;

export interface TracksAsked {
  readonly dwelling: string;
  readonly places: readonly Place[];
  readonly figures: readonly TrackFigureName[];
}

const askFor = (
  asked: TracksAsked,
  window: Window | null,
  points: number,
  signal?: AbortSignal,
): Promise<TrackWire[]> =>
  Promise.all(
    asked.places.map(({ id }) =>
      call(
        'getTrack',
        {
          params: { dwelling: asked.dwelling, id },
          query: {
            figures: asked.figures.join(),
            points,
            ...(window === null
              ? {}
              : { from: new Date(window.from).toISOString(), to: new Date(window.to).toISOString() }),
          },
        },
        signal,
      ),
    ),
  );

/** Everything known, coarsely. */
export const loadOverview = (asked: TracksAsked, signal: AbortSignal): Promise<TrackWire[]> =>
  askFor(asked, null, OVERVIEW_POINTS, signal);

/** A stretch as fine as it is known. */
export async function loadFinest(asked: TracksAsked, window: Window, figure: TrackFigureName): Promise<Entries[]> {
  const tracks = await askFor({ ...asked, figures: [figure] }, window, FINEST_POINTS);
  return tracks.map((track) => entriesOf(track.figures[0]!));
}

interface Detail extends Window {
  /** width of the window it was asked for */
  readonly asWide: number;
  readonly tracks: readonly TrackWire[];
}

/**
 * The entries to draw, by place and figure: the overview, and in its place finer ones where the reader looks. What was
 * there stays until better has come, and a window that moves within what is there asks for nothing.
 */
export function useTracks(
  asked: TracksAsked,
  overview: readonly TrackWire[],
  desk: Desk,
): { readonly entries: readonly (readonly Entries[])[]; readonly failure: Failure | null; readonly again: () => void } {
  const [detail, setDetail] = useState<Detail | null>(null);
  const [failure, setFailure] = useState<Failure | null>(null);
  const [attempt, setAttempt] = useState(0);
  const held = useRef<Detail | null>(null);
  const identity = `${asked.dwelling} ${asked.places.map(({ id }) => id).join()} ${asked.figures.join()}`;
  const hours = revisions.hours.value;
  const story = revisions.story.value;

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout>;
    let abort = new AbortController();
    const { window, limits } = desk.view;
    const load = async (): Promise<void> => {
      const { from, to } = window.peek();
      const known = limits.peek();
      const width = to - from;
      const wanted = {
        from: Math.max(known.from, from - width / 2),
        to: Math.min(known.to, to + width / 2),
      };
      abort = new AbortController();
      try {
        const points = Math.ceil((SHOWN_POINTS * (wanted.to - wanted.from)) / width);
        const tracks = await askFor(asked, wanted, points, abort.signal);
        if (abort.signal.aborted) return;
        held.current = { ...wanted, asWide: width, tracks };
        setDetail(held.current);
        setFailure(null);
        const end = tracks[0]?.known;
        if (end) desk.know({ from: Date.parse(end.from), to: Date.parse(end.to) });
      } catch (reason) {
        if (abort.signal.aborted) return;
        if (!(reason instanceof CallFailed)) throw reason;
        setFailure(reason.failure);
      }
    };
    const forget = window.subscribe(({ from, to }) => {
      const has = held.current;
      const width = to - from;
      const serves =
        has !== null && from >= has.from && to <= has.to && width > has.asWide * 0.6 && width < has.asWide * 1.8;
      clearTimeout(timer);
      abort.abort();
      if (!serves) timer = setTimeout(load, has === null ? 0 : SETTLE_MS);
    });
    return () => {
      clearTimeout(timer);
      abort.abort();
      forget();
    };
  }, [identity, desk, attempt, story]);

  // Another hour matters where the end of what is known is in view; elsewhere nothing changes under the reader.
  useEffect(() => {
    const has = held.current;
    if (has === null || has.to < desk.view.limits.peek().to) return;
    held.current = null;
    setAttempt((n) => n + 1);
  }, [hours]);

  const entries = useMemo(
    () =>
      overview.map((track, i) =>
        track.figures.map((coarse, k) => {
          const fine = detail?.tracks[i]?.figures[k];
          const whole = entriesOf(coarse);
          return fine === undefined ? whole : spliced(whole, entriesOf(fine));
        }),
      ),
    [overview, detail],
  );
  return { entries, failure, again: () => setAttempt((n) => n + 1) };
}
