import { useId } from 'preact/hooks';

/** A number with its unit in the label and what is wrong with it beside it. Empty is not known. */
export function NumberField(props: {
  label: string;
  value: number | undefined;
  fault: string | null;
  hint?: string | undefined;
  change: (value: number | undefined) => void;
}) {
  const id = useId();
  const notes = [props.hint === undefined ? null : `${id}-hint`, props.fault === null ? null : `${id}-fault`];
  const described = notes.filter((note) => note !== null).join(' ');
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        type="number"
        step="any"
        inputMode="decimal"
        value={props.value ?? ''}
        aria-invalid={props.fault !== null}
        aria-describedby={described === '' ? undefined : described}
        onInput={(event) => {
          const value = event.currentTarget.valueAsNumber;
          props.change(Number.isFinite(value) ? value : undefined);
        }}
      />
      {props.hint !== undefined && (
        <small id={`${id}-hint`} class="hint">
          {props.hint}
        </small>
      )}
      {props.fault !== null && (
        <small id={`${id}-fault`} class="fault">
          {props.fault}
        </small>
      )}
    </div>
  );
}

export function TextField(props: {
  label: string;
  value: string;
  fault: string | null;
  change: (value: string) => void;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        type="text"
        maxLength={120}
        value={props.value}
        aria-invalid={props.fault !== null}
        aria-describedby={props.fault === null ? undefined : `${id}-fault`}
        onInput={(event) => props.change(event.currentTarget.value)}
      />
      {props.fault !== null && (
        <small id={`${id}-fault`} class="fault">
          {props.fault}
        </small>
      )}
    </div>
  );
}

export function ChoiceField(props: {
  label: string;
  value: string;
  options: readonly (readonly [value: string, words: string])[];
  hint?: string | undefined;
  change: (value: string) => void;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <select
        id={id}
        value={props.value}
        aria-describedby={props.hint === undefined ? undefined : `${id}-hint`}
        onChange={(event) => props.change(event.currentTarget.value)}
      >
        {props.options.map(([value, text]) => (
          <option key={value} value={value}>
            {text}
          </option>
        ))}
      </select>
      {props.hint !== undefined && (
        <small id={`${id}-hint`} class="hint">
          {props.hint}
        </small>
      )}
    </div>
  );
}

export function TickField(props: { label: string; checked: boolean; change: (checked: boolean) => void }) {
  return (
    <label class="tick">
      <input type="checkbox" checked={props.checked} onChange={(event) => props.change(event.currentTarget.checked)} />{' '}
      {props.label}
    </label>
  );
}
