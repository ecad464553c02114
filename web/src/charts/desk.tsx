import { signal } from '@preact/signals';
import { type ComponentChildren, createContext } from 'preact';
import { useContext, useEffect, useMemo } from 'preact/hooks';
import { choose, query } from '../address.ts';
import { useHome } from '../home.ts';
import { winterStart } from '../time/zone.ts';
import { chartWords as t } from '../words/charts.ts';
import { timeAxis } from './axis.ts';
import { ChartTools } from './chart-group.tsx';
import type { View } from './controls.ts';
import { type Limits, type Window, within } from './window.ts';

const DAY_MS = 86_400_000;

export const spans = ['3d', '2w', 'winter', 'all'] as const;
export type SpanName = (typeof spans)[number];
const isSpan = (name: string | null): name is SpanName => spans.some((span) => span === name);

/** All the charts of time on a screen: they show the same stretch, and are read at the same moment. */
export interface Desk {
  readonly view: View;
  readonly axis: ReturnType<typeof timeAxis>;
  /** tells how far anything is known; a window at the end of it goes along */
  readonly know: (known: Window) => void;
}

const DeskOf = createContext<Desk | null>(null);

export function useDesk(): Desk {
  const desk = useContext(DeskOf);
  if (desk === null) throw new Error('a chart of time was drawn outside a desk');
  return desk;
}

/** The stretch of a named span that ends with what is known last. */
function spanWindow(span: SpanName, zone: string, { from, to }: Window): Window {
  switch (span) {
    case '3d':
      return { from: to - 3 * DAY_MS, to };
    case '2w':
      return { from: to - 14 * DAY_MS, to };
    case 'winter':
      return { from: winterStart(zone, to), to };
    case 'all':
      return { from, to };
  }
}

/** The stretch in the address, where there is one. */
function windowAsked(): Window | null {
  const [from, to] = ['from', 'to'].map((name) => Date.parse(query.peek().get(name) ?? ''));
  return from !== undefined && to !== undefined && to > from ? { from, to } : null;
}

const spanAsked = (): SpanName | null => {
  const chosen = query.value.get('span');
  if (isSpan(chosen)) return chosen;
  return query.value.get('from') === null ? '2w' : null;
};

function newDesk(zone: string): Desk & { readonly follow: () => () => void } {
  const axis = timeAxis(zone);
  const now = Math.ceil(Date.now() / 3_600_000) * 3_600_000;
  const first = windowAsked() ?? spanWindow(spanAsked() ?? '2w', zone, { from: now - 14 * DAY_MS, to: now });
  const limits = signal<Limits>({ ...first, narrowest: axis.narrowest });
  const window = signal<Window>(first);
  let known: Window | null = null;
  return {
    axis,
    view: { window, limits, cursor: signal<number | null>(null) },
    know(next) {
      const last = known;
      if (last !== null && last.from === next.from && last.to === next.to) return;
      known = next;
      const span = spanAsked();
      const named = last !== null && span !== null && within(spanWindow(span, zone, last), limits.peek());
      limits.value = { ...next, narrowest: axis.narrowest };
      if (last === null) {
        window.value = within(windowAsked() ?? spanWindow(span ?? '2w', zone, next), limits.value);
      } else if (span !== null && named && named.from === window.value.from && named.to === window.value.to) {
        window.value = within(spanWindow(span, zone, next), limits.value);
      } else if (window.value.to === last.to) {
        const by = next.to - last.to;
        window.value = within({ from: window.value.from + by, to: next.to }, limits.value);
      }
    },
    /** Writes what is shown into the address, so that it can be kept and sent on. */
    follow() {
      let timer: ReturnType<typeof setTimeout>;
      const forget = window.subscribe((shown) => {
        clearTimeout(timer);
        timer = setTimeout(() => {
          if (known === null) return;
          const span = spanAsked();
          const named = span && within(spanWindow(span, zone, known), limits.peek());
          if (named?.from === shown.from && named.to === shown.to) return;
          const iso = (at: number): string => new Date(Math.round(at / 60_000) * 60_000).toISOString();
          choose({ span: null, from: iso(shown.from), to: iso(shown.to) });
        }, 300);
      });
      return () => {
        clearTimeout(timer);
        forget();
      };
    },
  };
}

/** Stands round everything of a screen that has charts of time. */
export function ChartDesk(props: { children: ComponentChildren }) {
  const { zone } = useHome();
  const desk = useMemo(() => newDesk(zone), [zone]);
  useEffect(desk.follow, [desk]);
  return <DeskOf.Provider value={desk}>{props.children}</DeskOf.Provider>;
}

/** Which span the charts of the screen show, and how to move about in it. */
export function SpanChoice(props: { label: string }) {
  const { zone } = useHome();
  const { view, axis } = useDesk();
  const span = spanAsked();
  const show = (name: SpanName): void => {
    choose({ span: name, from: null, to: null });
    view.window.value = within(spanWindow(name, zone, view.limits.peek()), view.limits.peek());
  };
  return (
    <>
      <div class="choices no-print">
        <fieldset class="spans">
          <legend>{t.span}</legend>
          {spans.map((name) => (
            <label key={name}>
              <input type="radio" name="span" checked={name === span} onChange={() => show(name)} /> {t.spans[name]}
            </label>
          ))}
        </fieldset>
      </div>
      <ChartTools axis={axis} view={view} label={props.label} />
    </>
  );
}
