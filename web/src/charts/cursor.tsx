import type { Signal } from '@preact/signals';
import { useId } from 'preact/hooks';

/**
 * The reading line of the charts above it: a ruler to slide by pointer, touch or arrow keys, and what the charts say there.
 */
export function CursorRuler(props: {
  cursor: Signal<number | null>;
  from: number;
  to: number;
  step: number;
  label: string;
  read: (at: number | null) => string;
  /** what the ruler's own value means, for a screen reader */
  say: (at: number) => string;
}) {
  const id = useId();
  const at = props.cursor.value;
  const shown = at ?? props.to;
  return (
    <div class="ruler no-print">
      <label for={id} class="unseen">
        {props.label}
      </label>
      <input
        id={id}
        type="range"
        min={props.from}
        max={props.to}
        step={props.step}
        value={shown}
        aria-valuetext={props.say(shown)}
        onInput={(event) => {
          props.cursor.value = Number(event.currentTarget.value);
        }}
      />
      <output for={id}>{props.read(at)}</output>
    </div>
  );
}
