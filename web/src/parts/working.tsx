import { type ComponentChildren, createContext } from 'preact';
import { useContext, useState } from 'preact/hooks';
import type { Working } from '../../../server/api/contract/comparison.ts';
import { number } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';
import { Sheet } from './form.tsx';

/** The answers to "how was this worked out?" of the result on the screen. */
export const Workings = createContext<readonly Working[]>([]);

const t = words.working;

/** The answers about one figure; an answer may be about a group of figures whose paths begin alike. */
const answersTo = (workings: readonly Working[], path: string): readonly Working[] =>
  workings.filter(({ figure }) => figure === path || path.startsWith(`${figure}.`));

/**
 * A figure that opens its working; plain text where the result has none for it. `interval` is set under it, for cells
 * with little room.
 */
export function Figure(props: { path: string; text: string; of: string; interval?: string | null }) {
  const workings = useContext(Workings);
  const [open, setOpen] = useState(false);
  const own = answersTo(workings, props.path);
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
        <Answer close={() => setOpen(false)} workings={own}>
          {props.of}: <strong>{props.text}</strong>
        </Answer>
      )}
    </>
  );
}

/** A sentence with figures in it, and one button that opens the working of all it rests on. */
export function FigureProse(props: { text: string; paths: readonly string[] }) {
  const workings = useContext(Workings);
  const [open, setOpen] = useState(false);
  const own = [...new Set(props.paths.flatMap((path) => answersTo(workings, path)))];
  if (own.length === 0) return <>{props.text}</>;
  return (
    <span class="figure-prose">
      {props.text}{' '}
      <button type="button" class="figure-button small" onClick={() => setOpen(true)}>
        {t.how}
        <span class="unseen"> {props.text}</span>
      </button>
      {open && (
        <Answer close={() => setOpen(false)} workings={own}>
          {props.text}
        </Answer>
      )}
    </span>
  );
}

function Answer(props: { workings: readonly Working[]; close: () => void; children: ComponentChildren }) {
  return (
    <Sheet title={t.ask} close={props.close}>
      <p>{props.children}</p>
      {props.workings.map((working) => (
        <WorkingOf key={working.figure} working={working} />
      ))}
      <div class="buttons">
        <button type="button" onClick={props.close}>
          {t.close}
        </button>
      </div>
    </Sheet>
  );
}

/** Formula, inputs, uncertainty and source of one figure. */
export function WorkingOf(props: { working: Working }) {
  const { formula, inputs, uncertainty, source } = props.working;
  return (
    <div class="working">
      <p class="formula">{said.term(formula)}</p>
      {inputs.length > 0 && (
        <table>
          <caption>{t.inputs}</caption>
          <tbody>
            {inputs.map((input) => (
              <tr key={input.name}>
                <th scope="row">{said.term(input.name)}</th>
                <td class="number">{inputText(input.value, input.unit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p class="small working-uncertainty">
        {t.uncertainty}: {said.term(uncertainty)}
      </p>
      <p class="small working-source">
        {t.source}: {said.term(source)}
      </p>
    </div>
  );
}

/** Four figures that count, so that the arithmetic can be done again to the digits shown. */
function inputText(value: number | string | null, unit: string): string {
  if (value === null) return words.notKnown;
  const shown = said.term(unit);
  if (typeof value === 'string') return unit === '' ? said.term(value) : `${value} ${shown}`;
  const size = Math.abs(value);
  const text = number(value, Number.isInteger(value) ? 0 : size < 1 ? 4 : size < 10 ? 3 : size < 100 ? 2 : 1);
  return unit === '' ? text : `${text} ${shown}`;
}
