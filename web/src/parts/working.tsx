import { createContext } from 'preact';
import { useContext, useState } from 'preact/hooks';
import type { Working } from '../../../server/api/contract/comparison.ts';
import { number } from '../words/format.ts';
import { words } from '../words/words.ts';
import { Sheet } from './form.tsx';

/** The answers to "how was this worked out?" of the result on the screen. */
export const Workings = createContext<readonly Working[]>([]);

const t = words.working;

/**
 * A figure that opens its working; plain text where the result has none for it. `interval` is set under it, for cells
 * with little room.
 */
export function Figure(props: { path: string; text: string; of: string; interval?: string | null }) {
  const workings = useContext(Workings);
  const [open, setOpen] = useState(false);
  const own = workings.filter(({ figure }) => figure === props.path || props.path.startsWith(`${figure}.`));
  const interval = props.interval ? <span class="interval-words">{props.interval}</span> : null;
  if (own.length === 0) {
    return (
      <span class="figure-text">
        {props.text}
        {interval}
      </span>
    );
  }
  return (
    <>
      <button type="button" class="figure-button" onClick={() => setOpen(true)}>
        {props.text}
        <span class="unseen">
          {' '}
          {props.of}. {t.ask}
        </span>
        {interval}
      </button>
      {open && (
        <Sheet title={t.ask} close={() => setOpen(false)}>
          <p>
            {props.of}: <strong>{props.text}</strong>
          </p>
          {own.map((working) => (
            <WorkingOf key={working.figure} working={working} />
          ))}
          <div class="buttons">
            <button type="button" onClick={() => setOpen(false)}>
              {t.close}
            </button>
          </div>
        </Sheet>
      )}
    </>
  );
}

/** Formula, inputs and source of one figure. */
export function WorkingOf(props: { working: Working }) {
  const { formula, inputs, source } = props.working;
  return (
    <div class="working">
      <p class="formula">{formula}</p>
      {inputs.length > 0 && (
        <table>
          <caption>{t.inputs}</caption>
          <tbody>
            {inputs.map((input) => (
              <tr key={input.name}>
                <th scope="row">{input.name}</th>
                <td class="number">{inputText(input.value, input.unit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p class="small">
        {t.source}: {source}
      </p>
    </div>
  );
}

function inputText(value: number | string | null, unit: string): string {
  if (value === null) return words.notKnown;
  if (typeof value === 'string') return unit === '' ? value : `${value} ${unit}`;
  const size = Math.abs(value);
  const text = number(value, Number.isInteger(value) ? 0 : size < 1 ? 3 : size < 100 ? 2 : 0);
  return unit === '' ? text : `${text} ${unit}`;
}
