import { useMemo } from 'preact/hooks';
import type { DiaryEntry, Phase, Place } from '../../../server/api/contract/dwelling.ts';
import { nightHours } from '../../../server/api/contract/nights.ts';
import type { TrackWire } from '../../../server/api/contract/track.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { NIGHTS_SHOWN_DAYS } from '../charts/axis.ts';
import { ChartGroup } from '../charts/chart-group.tsx';
import type { ChartSpec } from '../charts/chart-spec.ts';
import { useDesk } from '../charts/desk.tsx';
import { DiaryList } from '../charts/diary-list.tsx';
import { marksOf, type NumberedEntry, numbered, worksOf } from '../charts/marks.ts';
import { inUnits, isKnown, type Trace } from '../charts/trace.ts';
import { readerTrack, type Track } from '../charts/tracks.ts';
import { loadFinest, loadOverview, type TracksAsked, useTracks } from '../charts/use-tracks.ts';
import { diaryOf } from '../diary/entries.ts';
import { useHome } from '../home.ts';
import { Empty, FailureNotice, Show } from '../parts/notice.tsx';
import { preferences } from '../preferences.ts';
import { chartWords as t } from '../words/charts.ts';
import { when } from '../words/format.ts';
import { words } from '../words/words.ts';

/** What a chart with its heading takes, rem, so that nothing jumps when it comes. */
const CHART_REM = 25.5;

/** Charts of one or more places, all on the time of the screen's desk, with the works and the diary on the same axis. */
export function PlaceCharts(props: {
  places: readonly Place[];
  tracks: readonly Track[];
  label: string;
  /** level of the charts' own headings */
  heading: 'h2' | 'h3';
  /** whether the diary of the span is listed under these charts, or under others of the screen */
  diary: 'listed' | 'elsewhere';
}) {
  const home = useHome();
  const { places, tracks } = props;
  const desk = useDesk();
  const asked = useMemo(
    (): TracksAsked => ({ dwelling: home.slug, places, figures: tracks.map(({ figure }) => figure) }),
    [home.slug, places, tracks],
  );
  const { loaded, again } = useLoad(
    `tracks ${home.slug} ${places.map(({ id }) => id).join()} ${asked.figures.join()}`,
    revisions.story.value,
    async (signal) => {
      const dwelling = { dwelling: home.slug };
      const [phases, diary, overview] = await Promise.all([
        call('listPhases', { params: dwelling }, signal),
        diaryOf(dwelling.dwelling, signal),
        loadOverview(asked, signal),
      ]);
      const known = overview[0]?.known;
      if (known) desk.know({ from: Date.parse(known.from), to: Date.parse(known.to) });
      return { phases, diaryEntries: diary, overview };
    },
  );
  return (
    <section aria-label={props.label}>
      <Show loaded={loaded} again={again} room="chart" keep={tracks.length * CHART_REM}>
        {(value) => <Charts {...props} {...value} asked={asked} />}
      </Show>
    </section>
  );
}

const looks = [
  { ink: 'accent', stroke: 'bold' },
  { ink: 'ink', stroke: 'dashed' },
  { ink: 'air', stroke: 'dotted' },
  { ink: 'inkSoft', stroke: 'plain' },
] as const satisfies readonly Pick<Trace, 'ink' | 'stroke'>[];

function Charts(props: {
  places: readonly Place[];
  tracks: readonly Track[];
  asked: TracksAsked;
  overview: readonly TrackWire[];
  phases: readonly Phase[];
  diaryEntries: readonly DiaryEntry[];
  label: string;
  heading: 'h2' | 'h3';
  diary: 'listed' | 'elsewhere';
}) {
  const { zone } = useHome();
  const { places, tracks, asked, overview, phases, diaryEntries } = props;
  const desk = useDesk();
  const { entries, failure, again } = useTracks(asked, overview, desk);
  const story = useMemo(() => {
    const diary = numbered(diaryEntries);
    return { diary, marks: marksOf(phases, diary), works: worksOf(phases, Number.MAX_SAFE_INTEGER) };
  }, [phases, diaryEntries]);
  const units = preferences.value.temperature;
  const charts = useMemo(
    () =>
      tracks.flatMap((track, k): ChartSpec[] => {
        const traceOf = (place: Place, i: number, of: Trace['entries']): Trace =>
          places.length === 1
            ? { name: track.short, ink: 'ink', stroke: 'plain', entries: of }
            : {
                name: `${place.name}, ${track.short}`,
                label: place.name,
                ...looks[i % looks.length]!,
                entries: of,
              };
        const traces = places.flatMap((place, i) => {
          const of = entries[i]?.[k];
          return of !== undefined && isKnown(of) ? [traceOf(place, i, inUnits(of, track.unit))] : [];
        });
        if (traces.length === 0) return [];
        const { title, explain, unit, digits, limits, least, greatest } = readerTrack(track);
        return [
          {
            title,
            explain,
            traces,
            unit,
            digits,
            limits,
            ...(least === undefined ? {} : { least }),
            ...(greatest === undefined ? {} : { greatest }),
            finest: async (window) =>
              (await loadFinest(asked, window, track.figure)).flatMap((of, i) =>
                isKnown(of) ? [traceOf(places[i]!, i, inUnits(of, track.unit))] : [],
              ),
          },
        ];
      }),
    [entries, places, tracks, units],
  );
  if (charts.length === 0) {
    return (
      <Empty
        title={t.nothing}
        next={
          <>
            {t.nothingNext} <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
          </>
        }
      />
    );
  }
  return (
    <>
      {failure && <FailureNotice failure={failure} again={again} stale />}
      <ChartGroup
        label={props.label}
        name={places.map(({ name }) => name).join(' ')}
        axis={desk.axis}
        view={desk.view}
        charts={charts}
        marks={story.marks}
        hatched={story.works}
        heading={props.heading}
        tools="elsewhere"
      />
      <Legend charts={charts} />
      {props.diary === 'listed' && <DiaryHere diary={story.diary} heading={props.heading} zone={zone} />}
    </>
  );
}

/** What the drawings mean that stand here now. */
function Legend(props: { charts: readonly ChartSpec[] }) {
  const { view } = useDesk();
  const { from, to } = view.window.value;
  const clock = (hour: number): string => when('UTC', hour * 3_600_000, 'time');
  const any = (of: (trace: Trace) => boolean): boolean => props.charts.some(({ traces }) => traces.some(of));
  const said = [
    any(({ entries: { min, max } }) => min.some((value, i) => value < max[i]!)) && t.legendSpread,
    any(({ entries: { plusMinus } }) => plusMinus.some((value) => value > 0)) && t.legendUncertain,
    to - from <= NIGHTS_SHOWN_DAYS * 86_400_000 && t.legendNights(clock(nightHours.from), clock(nightHours.to)),
    t.legend,
    t.legendMarks,
  ].filter((text) => text !== false);
  return <p class="small legend">{said.join(' ')}</p>;
}

/** The diary entries whose numbers are in view. */
function DiaryHere(props: { diary: readonly NumberedEntry[]; heading: 'h2' | 'h3'; zone: string }) {
  const { view } = useDesk();
  const { from, to } = view.window.value;
  return <DiaryList {...props} diary={props.diary.filter(({ at }) => at >= from && at < to)} />;
}
