import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { chartWords as t } from '../words/charts.ts';
import { number } from '../words/format.ts';
import type { Axis } from './axis.ts';
import type { ChartSpec } from './chart-spec.ts';
import { csvOf } from './csv.ts';
import type { PlotProps } from './plot.tsx';
import { rowsOf, type Spread } from './trace.ts';
import type { Window } from './window.ts';

const PAGE_ROWS = 48;

interface Row {
  readonly key: string;
  readonly cells: readonly ComponentChildren[];
}

/** The table behind a chart, page by page; its rows are made when it is opened. */
export function TableBehind(props: { summary: string; columns: readonly string[]; rows: () => readonly Row[] }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="behind" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{props.summary}</summary>
      {open && <PagedTable label={props.summary} columns={props.columns} rows={props.rows()} />}
    </details>
  );
}

function PagedTable(props: { label: string; columns: readonly string[]; rows: readonly Row[] }) {
  const { rows, columns } = props;
  const [asked, setPage] = useState(0);
  const pages = Math.max(1, Math.ceil(rows.length / PAGE_ROWS));
  const page = Math.min(asked, pages - 1);
  const goTo = [
    [t.firstPage, 0],
    [t.pageBefore, Math.max(0, page - 1)],
    [t.pageAfter, Math.min(pages - 1, page + 1)],
    [t.lastPage, pages - 1],
  ] as const;
  return (
    <>
      {pages > 1 && (
        <div class="buttons">
          {goTo.map(([name, to]) => (
            <button key={name} type="button" aria-disabled={to === page} onClick={() => setPage(to)}>
              {name}
            </button>
          ))}
          <span class="small page-of" role="status">
            {t.page(number(page + 1), number(pages))}
          </span>
        </div>
      )}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section class="scrolls" tabIndex={0} aria-label={props.label}>
        <table class="figures-table">
          <thead>
            <tr>
              {columns.map((column, i) => (
                <th key={column} scope="col" class={i === 0 ? undefined : 'number'}>
                  {column}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.slice(page * PAGE_ROWS, (page + 1) * PAGE_ROWS).map(({ key, cells }) => (
              <tr key={key}>
                {cells.map((cell, i) =>
                  i === 0 ? (
                    <th key={columns[i]} scope="row">
                      {cell}
                    </th>
                  ) : (
                    <td key={columns[i]} class="number">
                      {cell}
                    </td>
                  ),
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </>
  );
}

/** The values of one chart as a table, and as files to keep. */
export function Behind(props: { chart: ChartSpec; plot: PlotProps; axis: Axis; window: Window; name: string }) {
  const { chart, axis, window } = props;
  const { traces, unit, digits } = chart;
  const cell = (value: number | null): string => (value === null ? '–' : number(value, digits));
  const cells = (spread: Spread | null): string[] =>
    spread === null
      ? ['', '', '', '']
      : [
          cell(spread.mean),
          cell(spread.min),
          cell(spread.max),
          spread.plusMinus === null ? '–' : cell(spread.plusMinus),
        ];
  const united = (name: string): string => (unit === '' ? name : `${name}, ${unit}`);
  return (
    <div class="behind-chart">
      <TableBehind
        summary={t.table(chart.title)}
        columns={[
          axis.column,
          ...traces.flatMap(({ name }) => [t.mean(united(name)), t.lowest(name), t.highest(name), t.plusMinus(name)]),
        ]}
        rows={() =>
          rowsOf(traces, window).map(({ begin, spreads }) => ({
            key: String(begin),
            cells: [axis.say(begin), ...spreads.flatMap(cells)],
          }))
        }
      />
      <Files {...props} />
    </div>
  );
}

const kinds = ['csv', 'png', 'svg'] as const;
type Kind = (typeof kinds)[number];

function Files(props: { chart: ChartSpec; plot: PlotProps; axis: Axis; window: Window; name: string }) {
  const [state, setState] = useState<'idle' | 'saving' | 'failed'>('idle');
  const { chart, plot, axis, window } = props;
  const make = async (kind: Kind): Promise<Blob> => {
    if (kind === 'csv') {
      const traces = (await chart.finest?.(window)) ?? chart.traces;
      const text = csvOf(traces, rowsOf(traces, window), chart.unit, axis.stamp, {
        begin: axis.stampName,
        mean: t.mean,
        min: t.lowest,
        max: t.highest,
        plusMinus: t.plusMinus,
        count: t.count,
      });
      return new Blob([text], { type: 'text/csv;charset=utf-8' });
    }
    const { pngOf, svgOf } = await import('./files.ts');
    const shown = { ...plot, ...window };
    return kind === 'png' ? pngOf(shown, plot.label) : svgOf(shown, plot.label);
  };
  const keep = async (kind: Kind): Promise<void> => {
    setState('saving');
    try {
      const [blob, { save, fileName }] = await Promise.all([make(kind), import('./save.ts')]);
      save(blob, `${fileName(props.name, chart.title, axis.stamp(window.from).slice(0, 10))}.${kind}`);
      setState('idle');
    } catch (cause) {
      setState('failed');
      throw cause;
    }
  };
  return (
    <p class="files small no-print">
      {kinds.map((kind) => (
        <button
          key={kind}
          type="button"
          class="plain"
          aria-label={t.saveOf(t.save[kind], chart.title)}
          aria-disabled={state === 'saving'}
          onClick={() => state !== 'saving' && keep(kind)}
        >
          {t.save[kind]}
        </button>
      ))}
      <span role="status">{state === 'saving' ? t.saving : state === 'failed' ? t.notSaved : ''}</span>
    </p>
  );
}
