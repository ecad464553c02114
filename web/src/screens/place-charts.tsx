import { useSignal } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import type { DiaryEntry, Phase, Place } from '../../../server/api/contract/dwelling.ts';
import type { HourColumns } from '../../../server/api/contract/figures.ts';
import { choose, query, withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { TableBehind } from '../charts/behind.tsx';
import { CursorRuler } from '../charts/cursor.tsx';
import { Plot, type PlotLine, type PlotMark } from '../charts/plot.tsx';
import { readerTrack, type Track, valuesOf } from '../charts/tracks.ts';
import { dayEnvelope, hourPoints, localDays, spreadOf, timeTicks } from '../charts/view-model.ts';
import { useHome } from '../home.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { preferences } from '../preferences.ts';
import { nights, winterStart } from '../time/zone.ts';
import { number, quantity, when } from '../words/format.ts';
import { diaryKind, words } from '../words/words.ts';

const t = words.place;
const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Over more days than this the nights are hairlines and say nothing. */
const NIGHTS_SHOWN_DAYS = 40;
/** Over more days than this a chart shows each day's lowest, highest and mean instead of its hours. */
const HOURS_SHOWN_DAYS = 60;
/** What a chart with its heading takes, rem, so that nothing jumps when it comes. */
const CHART_REM = 22.5;
/** Local hours of the night, as everywhere in the program unless settings say otherwise. */
const NIGHT = { from: 18, to: 8 } as const;

const spans = ['3d', '2w', 'winter', 'all'] as const;
type SpanName = (typeof spans)[number];
const isSpan = (name: string | null): name is SpanName => spans.some((span) => span === name);

interface ChosenSpan {
  readonly span: SpanName;
  /** how many spans back from now */
  readonly back: number;
  /** ms; null where the span has no fixed length */
  readonly length: number | null;
}

function chosenSpan(): ChosenSpan {
  const chosen = query.value.get('span');
  const span: SpanName = isSpan(chosen) ? chosen : '2w';
  const back = Math.max(0, Math.trunc(Number(query.value.get('back') ?? 0)) || 0);
  return { span, back, length: span === '3d' ? 3 * DAY_MS : span === '2w' ? 14 * DAY_MS : null };
}

/** Which span the charts of a screen show; it stands in the address, so that it can be kept and sent on. */
export function SpanChoice() {
  const { span, back, length } = chosenSpan();
  return (
    <div class="choices no-print">
      <fieldset class="spans">
        <legend>{t.span}</legend>
        {spans.map((name) => (
          <label key={name}>
            <input
              type="radio"
              name="span"
              checked={name === span}
              onChange={() => choose({ span: name, back: null })}
            />{' '}
            {t.spans[name]}
          </label>
        ))}
      </fieldset>
      {length !== null && (
        <div class="buttons">
          <button type="button" onClick={() => choose({ back: String(back + 1) })}>
            {t.earlier}
          </button>
          <button
            type="button"
            aria-disabled={back === 0}
            onClick={() => back > 0 && choose({ back: back === 1 ? null : String(back - 1) })}
          >
            {t.later}
          </button>
        </div>
      )}
    </div>
  );
}

/**
 * Charts of the chosen span for one or more places, all on one time axis with one reading line.
 * `outdoors` is what an excess is taken over.
 */
export function PlaceCharts(props: {
  places: readonly Place[];
  tracks: readonly Track[];
  outdoors: Place | null;
  label: string;
  /** level of the charts' own headings */
  heading: 'h2' | 'h3';
  /** whether the diary of the span is listed under these charts, or under others of the screen */
  diary: 'listed' | 'elsewhere';
}) {
  const home = useHome();
  const { span, back, length } = chosenSpan();
  const { places, outdoors } = props;
  const units = preferences.value.temperature;
  const tracks = useMemo(() => props.tracks.map(readerTrack), [props.tracks, units]);
  const asksFor = outdoors === null || places.includes(outdoors) ? places : [...places, outdoors];
  const columns = [...new Set(tracks.map((track) => track.column))];

  const nowHour = Math.ceil(Date.now() / HOUR_MS) * HOUR_MS;
  const asked =
    span === 'all'
      ? {}
      : length === null
        ? { from: new Date(winterStart(home.zone, nowHour)).toISOString(), to: new Date(nowHour).toISOString() }
        : {
            from: new Date(nowHour - (back + 1) * length).toISOString(),
            to: new Date(nowHour - back * length).toISOString(),
          };
  const ids = asksFor.map(({ id }) => id).join();
  const { loaded, again } = useLoad(
    `hours ${home.slug} ${ids} ${columns.join()} ${span} ${back}`,
    // A whole winter looks the same with one more hour: it is not asked for again while it is being read.
    (length === null ? 0 : revisions.hours.value) + revisions.story.value,
    async (signal) => {
      const dwelling = { dwelling: home.slug };
      const [phases, diary, ...records] = await Promise.all([
        call('listPhases', { params: dwelling }, signal),
        call('listDiary', { params: dwelling }, signal),
        ...asksFor.map(({ id }) =>
          call('getHours', { params: { ...dwelling, id }, query: { ...asked, columns: columns.join() } }, signal),
        ),
      ]);
      return { phases, diary, records };
    },
  );
  return (
    <section aria-label={props.label}>
      <Show loaded={loaded} again={again} room="chart" keep={tracks.length * CHART_REM}>
        {({ phases, diary, records }) =>
          records.slice(0, places.length).every((record) => nothingIn(record)) ? (
            <Empty
              title={t.nothing}
              next={
                <>
                  {t.nothingNext} <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
                </>
              }
            />
          ) : (
            <Charts
              places={places}
              tracks={tracks}
              records={records.slice(0, places.length)}
              outdoors={(outdoors && records[asksFor.indexOf(outdoors)]) ?? null}
              phases={phases}
              diary={diary}
              heading={props.heading}
              listed={props.diary === 'listed'}
            />
          )
        }
      </Show>
    </section>
  );
}

const nothingIn = (record: HourColumns): boolean =>
  Object.values(record.columns).every((column) => column.every((value) => value === null));

const inks = ['accent', 'ink', 'air', 'inkSoft'] as const;

function Charts(props: {
  places: readonly Place[];
  tracks: readonly Track[];
  records: readonly HourColumns[];
  outdoors: HourColumns | null;
  phases: readonly Phase[];
  diary: readonly DiaryEntry[];
  heading: 'h2' | 'h3';
  listed: boolean;
}) {
  const Heading = props.heading;
  const { zone } = useHome();
  const { places, tracks, records, outdoors, phases, diary } = props;
  const cursor = useSignal<number | null>(null);
  const main = records[0]!;
  const from = Date.parse(main.start);
  const to = from + main.hours * HOUR_MS;
  const days = (to - from) / DAY_MS;
  const numbered = useMemo(
    () =>
      [...diary]
        .reverse()
        .map((entry) => ({ ...entry, at: Date.parse(entry.time) }))
        .filter(({ at }) => at >= from && at < to),
    [diary, from, to],
  );
  const drawn = useMemo(() => {
    const dark = days <= NIGHTS_SHOWN_DAYS ? nights(zone, from, to, NIGHT.from, NIGHT.to) : [];
    const marks: PlotMark[] = [
      ...phases
        .filter((phase) => Date.parse(phase.from) < to && (phase.to === null || Date.parse(phase.to) > from))
        .map((phase): PlotMark => ({ at: Date.parse(phase.from), text: phase.name, kind: 'boundary' })),
      ...numbered.map(({ at }, i): PlotMark => ({ at, text: String(i + 1), kind: 'note' })),
    ];
    const byDay = days > HOURS_SHOWN_DAYS ? localDays(zone, from, main.hours) : null;
    const lines = tracks.map((track) =>
      records.flatMap((record, i): PlotLine[] => {
        const values = valuesOf(track, record, outdoors);
        if (values === null) return [];
        const ink = places.length === 1 ? ('ink' as const) : inks[i % inks.length]!;
        const label = places.length > 1 ? { label: places[i]!.name } : {};
        if (byDay === null) {
          const stroke = places.length > 1 && i === 0 ? 'bold' : 'plain';
          return [{ points: hourPoints(Date.parse(record.start), values), ink, stroke, ...label }];
        }
        const { min, max, mean } = dayEnvelope(byDay, values);
        return [
          { points: min, ink, stroke: 'none' },
          { points: max, ink, stroke: 'none', shade: 'to-previous' },
          { points: mean, ink, stroke: 'plain', ...label },
        ];
      }),
    );
    return { dark, marks, lines };
  }, [records, phases, numbered, zone, preferences.value.temperature]);
  const ticks = useMemo(
    () => (most: number) =>
      timeTicks(zone, from, to, most).map(({ at, style }) => ({ at, label: when(zone, at, style) })),
    [zone, from, to],
  );
  const shown = tracks.map((track, i) => ({ track, lines: drawn.lines[i]! })).filter(({ lines }) => lines.length > 0);

  const valueAt = (record: HourColumns, track: Track, at: number): number | null =>
    valuesOf(track, record, outdoors)?.[Math.floor((at - Date.parse(record.start)) / HOUR_MS)] ?? null;
  const read = (at: number | null): string => {
    if (at === null) return t.pointHint;
    const hour = Math.min(Math.floor(at / HOUR_MS) * HOUR_MS, to - HOUR_MS);
    const said = shown.flatMap(({ track }) =>
      records.flatMap((record, i) => {
        if (valuesOf(track, record, outdoors) === null) return [];
        const value = valueAt(record, track, hour);
        const figure = value === null ? words.notKnown : quantity(value, track.unit, track.digits);
        return [places.length === 1 ? `${track.short} ${figure}` : `${places[i]!.name}, ${track.short} ${figure}`];
      }),
    );
    return `${when(zone, hour, 'full')}: ${said.join(' · ')}`;
  };
  return (
    <>
      {shown.map(({ track, lines }) => (
        <figure key={track.title}>
          <figcaption>
            <Heading class="chart-title">{track.title}</Heading>
            <p class="small">{track.explain}</p>
          </figcaption>
          <Plot
            label={`${track.title}, ${when(zone, from, 'date')} – ${when(zone, to, 'date')}. ${t.tableFollows}`}
            lines={lines}
            from={from}
            to={to}
            ticks={ticks}
            unit={track.unit}
            {...(track.least === undefined ? {} : { least: track.least })}
            {...(track.greatest === undefined ? {} : { greatest: track.greatest })}
            limits={track.limits}
            nights={drawn.dark}
            marks={drawn.marks}
            cursor={cursor}
            height="tall"
          />
        </figure>
      ))}
      <CursorRuler
        cursor={cursor}
        from={from}
        to={to - HOUR_MS}
        step={HOUR_MS}
        label={t.ruler}
        read={read}
        say={(at) => read(at)}
      />
      <p class="small">
        {days <= NIGHTS_SHOWN_DAYS
          ? t.legendNights
          : days <= HOURS_SHOWN_DAYS
            ? t.legend
            : `${t.legendDays} ${t.legend}`}
      </p>
      {props.listed && numbered.length > 0 && (
        <>
          <Heading class="chart-title">{t.diaryHere}</Heading>
          <ol class="small">
            {numbered.map((entry) => (
              <li key={entry.id}>
                {when(zone, entry.at, 'full')}, {diaryKind(entry.kind)}: {entry.text}
              </li>
            ))}
          </ol>
        </>
      )}
      {records.map((record, i) => (
        <TableBehind
          key={record.placeId}
          summary={places.length === 1 ? t.table : t.tableOf(places[i]!.name)}
          {...tableOf(
            record,
            shown.map(({ track }) => track),
            outdoors,
            zone,
          )}
        />
      ))}
    </>
  );
}

/** Hour by hour for a few days, day by day for more. */
function tableOf(record: HourColumns, tracks: readonly Track[], outdoors: HourColumns | null, zone: string) {
  const start = Date.parse(record.start);
  const cell = (value: number | null, track: Track) => (value === null ? '–' : number(value, track.digits));
  const column = (track: Track) => valuesOf(track, record, outdoors) ?? [];
  if (record.hours <= 4 * 24) {
    return {
      columns: [t.hour, ...tracks.map((track) => `${track.short}, ${track.unit}`)],
      rows: () =>
        Array.from({ length: record.hours }, (_, i) => ({
          key: String(i),
          cells: [
            when(zone, start + i * HOUR_MS, 'moment'),
            ...tracks.map((track) => cell(column(track)[i] ?? null, track)),
          ],
        })),
    };
  }
  return {
    columns: [
      t.day,
      ...tracks.flatMap((track) => [
        t.mean(`${track.short}, ${track.unit}`),
        t.lowest(track.short),
        t.highest(track.short),
      ]),
      t.hoursKnown,
    ],
    rows: () =>
      localDays(zone, start, record.hours).map((day) => {
        const spreads = tracks.map((track) => ({ track, spread: spreadOf(column(track).slice(day.from, day.to)) }));
        return {
          key: String(day.midnight),
          cells: [
            when(zone, day.midnight, 'date'),
            ...spreads.flatMap(({ track, spread }) => [
              cell(spread.mean, track),
              cell(spread.min, track),
              cell(spread.max, track),
            ]),
            number(Math.max(0, ...spreads.map(({ spread }) => spread.count))),
          ],
        };
      }),
  };
}
