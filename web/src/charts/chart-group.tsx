import { type Signal, useSignal } from '@preact/signals';
import { useEffect, useId, useMemo, useRef, useState } from 'preact/hooks';
import type { Stretch } from '../time/zone.ts';
import '../style/charts.css';
import { chartWords as t } from '../words/charts.ts';
import { number, plusMinus, quantity } from '../words/format.ts';
import { words } from '../words/words.ts';
import type { Axis } from './axis.ts';
import { Behind } from './behind.tsx';
import type { ChartSpec } from './chart-spec.ts';
import { closer, earlier, later, onKey, usePointer, type View, whole, wider } from './controls.ts';
import { CursorRuler } from './cursor.tsx';
import { OnPaper } from './on-paper.tsx';
import { Plot, type PlotProps } from './plot.tsx';
import type { PlotMark } from './plot-parts.ts';
import { entryAt, type Spread, spreadAt, type Trace } from './trace.ts';
import { linesOf } from './view-model.ts';
import type { Window } from './window.ts';

export interface GroupProps {
  readonly label: string;
  /** first part of the names of files */
  readonly name: string;
  readonly axis: Axis;
  readonly view: View;
  readonly charts: readonly ChartSpec[];
  readonly marks?: readonly PlotMark[];
  readonly hatched?: readonly Stretch[];
  /** level of the charts' own headings; none where the section above names the one chart */
  readonly heading?: 'h2' | 'h3';
  /** whether the buttons that move and zoom stand above these charts, or above others of the screen */
  readonly tools: 'here' | 'elsewhere';
}

/**
 * Charts above each other on one axis: they move, zoom and are read together, by mouse, finger and keyboard. Behind each
 * stand its values as a table and as files.
 */
export function ChartGroup(props: GroupProps) {
  const { axis, view, charts, marks, hatched, label } = props;
  const Heading = props.heading;
  const area = useRef<HTMLDivElement>(null);
  const choosing = useSignal<Window | null>(null);
  const keysId = useId();
  usePointer(area, view, choosing);
  const drawn = useMemo(() => charts.map((chart) => ({ chart, lines: chart.traces.flatMap(linesOf) })), [charts]);
  const settled = useSettled(view.window);
  const read = (at: number | null): string => {
    if (at === null) return t.pointHint;
    const said = charts.flatMap(({ traces, unit, digits }) =>
      traces.map((trace) => `${trace.name} ${spreadWords(readAt(trace, at), unit, digits)}`),
    );
    return `${axis.say(Math.floor(at / axis.step) * axis.step)}: ${said.join(' · ')}`;
  };
  return (
    <>
      {props.tools === 'here' && <ChartTools axis={axis} view={view} label={label} />}
      {/* biome-ignore lint/a11y/useSemanticElements: a fieldset is for fields of a form */}
      <div
        ref={area}
        class="charts"
        role="group"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: the charts are moved by keyboard
        tabIndex={0}
        aria-label={label}
        aria-describedby={keysId}
        onKeyDown={(event) => onKey(view, event)}
      >
        <p id={keysId} class="unseen">
          {t.keys}
        </p>
        {drawn.map(({ chart, lines }) => {
          const plot: PlotProps = {
            label: `${chart.title}, ${t.shown(...axis.ends(settled))}. ${t.tableFollows}`,
            lines,
            from: view.limits.value.from,
            to: view.limits.value.to,
            ticks: axis.ticks,
            unit: chart.unit,
            ...(chart.least === undefined ? {} : { least: chart.least }),
            ...(chart.greatest === undefined ? {} : { greatest: chart.greatest }),
            ...(chart.limits === undefined ? {} : { limits: chart.limits }),
            ...(axis.nights === undefined ? {} : { nights: axis.nights }),
            ...(marks === undefined ? {} : { marks }),
            ...(hatched === undefined ? {} : { hatched }),
            window: view.window,
            cursor: view.cursor,
            height: 'tall',
          };
          return (
            <figure key={chart.title}>
              {(Heading !== undefined || chart.explain !== undefined) && (
                <figcaption>
                  {Heading && <Heading class="chart-title">{chart.title}</Heading>}
                  {chart.explain && <p class="small">{chart.explain}</p>}
                </figcaption>
              )}
              <div class="over-plot">
                <Plot {...plot} />
                <OnPaper {...plot} />
                <Choosing choosing={choosing} view={view} />
              </div>
              <Behind chart={chart} plot={plot} axis={axis} window={settled} name={props.name} />
            </figure>
          );
        })}
      </div>
      <CursorRuler view={view} step={axis.step} label={t.ruler} read={read} />
    </>
  );
}

const SETTLE_MS = 200;

/** The window once it stands still: what is slow to make does not follow every step of a drag. */
function useSettled(window: View['window']): Window {
  const [settled, setSettled] = useState(window.peek());
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout>;
    const forget = window.subscribe((value) => {
      clearTimeout(timer);
      timer = setTimeout(() => setSettled(value), SETTLE_MS);
    });
    return () => {
      clearTimeout(timer);
      forget();
    };
  }, [window]);
  return settled;
}

/** The stretch that a drag with Shift is choosing. */
function Choosing(props: { choosing: Signal<Window | null>; view: View }) {
  const chosen = props.choosing.value;
  if (chosen === null) return null;
  const { from, to } = props.view.window.value;
  const share = (x: number): number => Math.min(1, Math.max(0, (x - from) / (to - from)));
  const [left, right] = [share(chosen.from), share(chosen.to)];
  return <div class="choosing" style={{ '--from': left, '--width': right - left }} />;
}

/** Buttons that move and zoom, what is shown, and how to do it without them. */
export function ChartTools(props: { axis: Axis; view: View; label: string }) {
  const { axis, view } = props;
  const [open, setOpen] = useState(false);
  const acts = [
    [t.earlier, earlier],
    [t.later, later],
    [t.closer, closer],
    [t.wider, wider],
    [t.whole, whole],
  ] as const;
  return (
    <div class="chart-tools">
      {/* biome-ignore lint/a11y/useSemanticElements: a fieldset is for fields of a form */}
      <div class="buttons" role="group" aria-label={t.move}>
        {acts.map(([name, act]) => (
          <button key={name} type="button" onClick={() => act(view)}>
            {name}
          </button>
        ))}
      </div>
      <p class="small shown" aria-live="polite">
        {t.shown(...axis.ends(view.window.value))}
      </p>
      <details class="small how" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>{t.how}</summary>
        <ul>
          {t.howList.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </details>
    </div>
  );
}

const readAt = (trace: Trace, at: number): Spread => spreadAt(trace, entryAt(trace.entries, at));

/** `1.2 ± 0.6 K, from 0.4 to 2.0`; the second part where an entry has more than one value. */
function spreadWords({ mean, min, max, plusMinus: half }: Spread, unit: string, digits: number): string {
  if (mean === null || min === null || max === null) return words.notKnown;
  const value =
    half === null ? quantity(mean, unit, digits) : plusMinus({ value: mean, plusMinus: half }, unit, digits);
  const [low, high] = [number(min, digits), number(max, digits)];
  return low === high ? value : t.said(value, t.between(low, high));
}
