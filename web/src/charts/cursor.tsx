import { useId } from 'preact/hooks';
import type { View } from './controls.ts';

/**
 * The reading line of the charts above it: a ruler to slide by pointer, touch or arrow keys, and what the charts say there.
 */
export function CursorRuler(props: {
  view: View;
  step: number;
  label: string;
  /** what the charts say at a place, in words */
  read: (at: number | null) => string;
}) {
  const id = useId();
  const { from, to } = props.view.window.value;
  const at = props.view.cursor.value;
  const shown = Math.min(Math.max(at ?? to, from), to);
  return (
    <div class="ruler no-print">
      <label for={id} class="unseen">
        {props.label}
      </label>
      <input
        id={id}
        type="range"
        min={from}
        max={to}
        step={props.step}
        value={shown}
        aria-valuetext={props.read(shown)}
        onInput={(event) => {
          props.view.cursor.value = Number(event.currentTarget.value);
        }}
      />
      <output for={id}>{props.read(at === null ? null : shown)}</output>
    </div>
  );
}
