import { type ReadonlySignal, type Signal, signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { AXIS_PX, RIGHT_PX } from './plot.tsx';
import { type Limits, moved, pinched, type Window, within, zoomed } from './window.ts';

/** What charts that stand above each other share: the part shown, how far it may go, and where the reader points. */
export interface View {
  readonly window: Signal<Window>;
  readonly limits: ReadonlySignal<Limits>;
  readonly cursor: Signal<number | null>;
}

/** A view of all there is. */
export const newView = (limits: Limits): View => ({
  window: signal<Window>({ from: limits.from, to: limits.to }),
  limits: signal(limits),
  cursor: signal<number | null>(null),
});

const ZOOM_STEP = 0.5;
const MOVE_SHARE = 0.25;
/** Movement under which a press is a click, px. */
const CLICK_PX = 4;

export const closer = (view: View): void => zoomBy(view, ZOOM_STEP);
export const wider = (view: View): void => zoomBy(view, 1 / ZOOM_STEP);
export const earlier = (view: View): void => moveBy(view, -MOVE_SHARE);
export const later = (view: View): void => moveBy(view, MOVE_SHARE);

export function whole({ window, limits }: View): void {
  window.value = within(limits.value, limits.value);
}

function zoomBy({ window, limits, cursor }: View, factor: number): void {
  const { from, to } = window.value;
  const at = cursor.value;
  const inView = at !== null && at >= from && at <= to ? at : (from + to) / 2;
  window.value = zoomed(window.value, factor, inView, limits.value);
}

function moveBy({ window, limits }: View, share: number): void {
  const { from, to } = window.value;
  window.value = moved(window.value, share * (to - from), limits.value);
}

/** First and last of what is known, as wide as the window is. */
function goTo({ window, limits }: View, end: 'first' | 'last'): void {
  const { from, to } = window.value;
  const { from: first, to: last } = limits.value;
  window.value = moved(window.value, end === 'first' ? first - from : last - to, limits.value);
}

const keys: Readonly<Record<string, (view: View) => void>> = {
  ArrowLeft: earlier,
  ArrowRight: later,
  '+': closer,
  '=': closer,
  '-': wider,
  '−': wider,
  _: wider,
  Home: (view) => goTo(view, 'first'),
  End: (view) => goTo(view, 'last'),
};

/** Keys of the charts; those of controls inside them stay with the controls. */
export function onKey(view: View, event: KeyboardEvent): void {
  if (event.target !== event.currentTarget || event.ctrlKey || event.metaKey || event.altKey) return;
  const act = keys[event.key];
  if (act === undefined) return;
  event.preventDefault();
  act(view);
}

interface Press {
  readonly kind: 'move' | 'choose' | 'pinch';
  /** where the fingers or the mouse took hold: on the axis, and px on the screen */
  readonly at: readonly number[];
  readonly px: number;
  readonly window: Window;
}

/** Drags, pinches, wheels and points at every chart inside an element. `choosing` shows the stretch being chosen. */
export function usePointer(
  element: { readonly current: HTMLElement | null },
  view: View,
  choosing: Signal<Window | null>,
): void {
  useEffect(() => {
    const area = element.current;
    if (area === null) return;
    const fingers = new Map<number, number>();
    let press: Press | null = null;
    let moving = false;

    const shareAt = (clientX: number): number | null => {
      const canvas = area.querySelector('canvas');
      if (canvas === null) return null;
      const { left, width } = canvas.getBoundingClientRect();
      return (clientX - left - AXIS_PX) / (width - AXIS_PX - RIGHT_PX);
    };
    const axisAt = (clientX: number, { from, to }: Window = view.window.value): number | null => {
      const share = shareAt(clientX);
      return share === null ? null : from + share * (to - from);
    };
    const onPlot = (event: Event): boolean => event.target instanceof HTMLCanvasElement;
    const point = (clientX: number): void => {
      const at = axisAt(clientX);
      const { from, to } = view.window.value;
      if (at !== null) view.cursor.value = Math.min(Math.max(at, from), to);
    };
    const takeHold = (kind: Press['kind']): void => {
      const window = view.window.value;
      const px = [...fingers.values()];
      const at = px.flatMap((x) => axisAt(x, window) ?? []);
      press = { kind, at, px: px[0]!, window };
    };

    const down = (event: PointerEvent): void => {
      if (!onPlot(event) || event.button !== 0) return;
      fingers.set(event.pointerId, event.clientX);
      moving = false;
      takeHold(fingers.size === 2 ? 'pinch' : event.shiftKey ? 'choose' : 'move');
      point(event.clientX);
    };
    const move = (event: PointerEvent): void => {
      if (!fingers.has(event.pointerId)) {
        if (onPlot(event) && event.pointerType === 'mouse') point(event.clientX);
        return;
      }
      fingers.set(event.pointerId, event.clientX);
      if (press === null) return;
      if (press.kind === 'pinch') {
        const shares = [...fingers.values()].map(shareAt);
        const [a, b] = [press.at[0], press.at[1]];
        if (a === undefined || b === undefined || shares[0] == null || shares[1] == null) return;
        view.window.value = pinched([a, b], [shares[0], shares[1]], view.limits.value) ?? view.window.value;
        return;
      }
      if (!moving && Math.abs(event.clientX - press.px) < CLICK_PX) return;
      if (!moving) {
        moving = true;
        area.setPointerCapture(event.pointerId);
        area.classList.add('is-dragged');
      }
      const at = axisAt(event.clientX, press.window);
      if (at === null) return;
      const held = press.at[0]!;
      if (press.kind === 'choose') choosing.value = { from: Math.min(held, at), to: Math.max(held, at) };
      else view.window.value = moved(press.window, held - at, view.limits.value);
    };
    const up = (event: PointerEvent): void => {
      fingers.delete(event.pointerId);
      const chosen = choosing.value;
      choosing.value = null;
      if (event.type === 'pointerup' && press?.kind === 'choose' && chosen !== null) {
        view.window.value = within(chosen, view.limits.value);
      }
      area.classList.remove('is-dragged');
      press = null;
      if (fingers.size > 0) takeHold('move');
    };
    const wheel = (event: WheelEvent): void => {
      if (!onPlot(event)) return;
      const { from, to } = view.window.value;
      if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
        event.preventDefault();
        view.window.value = moved(
          view.window.value,
          (event.deltaX / area.clientWidth) * (to - from),
          view.limits.value,
        );
        return;
      }
      // the page scrolls under a wheel unless the reader has turned to the charts
      const turnedTo = event.ctrlKey || event.metaKey || area.contains(document.activeElement);
      const at = axisAt(event.clientX);
      if (!turnedTo || at === null) return;
      event.preventDefault();
      const factor = Math.exp(Math.max(-1, Math.min(1, event.deltaY / 300)));
      view.window.value = zoomed(view.window.value, factor, at, view.limits.value);
    };
    area.addEventListener('pointerdown', down);
    area.addEventListener('pointermove', move);
    area.addEventListener('pointerup', up);
    area.addEventListener('pointercancel', up);
    area.addEventListener('wheel', wheel, { passive: false });
    return () => {
      area.removeEventListener('pointerdown', down);
      area.removeEventListener('pointermove', move);
      area.removeEventListener('pointerup', up);
      area.removeEventListener('pointercancel', up);
      area.removeEventListener('wheel', wheel);
    };
  }, [view]);
}
