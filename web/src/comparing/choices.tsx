import { useState } from 'preact/hooks';
import type { Phase, Place } from '../../../server/api/contract/dwelling.ts';
import { mouldSensitivities } from '../../../server/physics/mould-sensitivity.ts';
import { publishedFactors } from '../../../server/physics/published-factors.ts';
import { choose } from '../address.ts';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { number, quantity, when } from '../words/format.ts';
import { said } from '../words/say.ts';
import type { Chosen } from './chosen.ts';

const riskLimits = [70, 75, 80, 85, 90, 95, 100];
const OWN = 'own';

/** What is compared with what, and by which measure. Every choice is in the address, so that it can be sent to others. */
export function Choices(props: { surfaces: readonly Place[]; phases: readonly Phase[]; chosen: Chosen }) {
  const { surfaces, phases, chosen } = props;
  return (
    <fieldset class="choices no-print">
      <legend class="unseen">{t.choices}</legend>
      <Pick
        label={t.surface}
        value={String(chosen.surface.id)}
        options={surfaces.map(({ id, name }) => [String(id), name])}
        pick={(surface) => choose({ surface })}
      />
      <PhasePick kind="before" phases={phases} chosen={chosen.before} />
      <PhasePick kind="after" phases={phases} chosen={chosen.after} />
      <TargetPick target={chosen.target} />
      <Pick
        label={t.riskLimit}
        value={String(chosen.riskLimit)}
        options={riskLimits.map((limit) => {
          const text = quantity(limit, '%', 0);
          return [String(limit), limit === 80 ? t.standard(text) : text];
        })}
        pick={(riskLimit) => choose({ riskLimit: riskLimit === '80' ? null : riskLimit })}
      />
      <Pick
        label={t.mouldClass}
        value={chosen.mouldClass}
        options={mouldSensitivities.map((name) => [name, t.mouldClasses[name]])}
        pick={(mouldClass) => choose({ mouldClass: mouldClass === 'sensitive' ? null : mouldClass })}
      />
    </fieldset>
  );
}

function Pick(props: {
  label: string;
  value: string;
  options: readonly (readonly [value: string, words: string])[];
  pick: (value: string) => void;
}) {
  return (
    <Field label={props.label}>
      {(ids) => (
        <select {...ids} value={props.value} onChange={(event) => props.pick(event.currentTarget.value)}>
          {props.options.map(([value, text]) => (
            <option key={value} value={value}>
              {text}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

function PhasePick(props: { kind: 'before' | 'after'; phases: readonly Phase[]; chosen: Phase | null }) {
  const home = useHome();
  const said = ({ name, from, to }: Phase): string =>
    to === null
      ? t.phaseRuns(name, when(home.zone, from, 'date'))
      : t.phaseNamed(name, when(home.zone, from, 'date'), when(home.zone, to, 'date'));
  return (
    <Pick
      label={props.kind === 'before' ? t.beforePhase : t.afterPhase}
      value={props.chosen === null ? '' : String(props.chosen.id)}
      options={[
        ...(props.chosen === null ? [['', t.noPhase] as const] : []),
        ...props.phases.map((phase) => [String(phase.id), said(phase)] as const),
      ]}
      pick={(id) => choose({ [props.kind]: id === '' ? null : id })}
    />
  );
}

function TargetPick(props: { target: number }) {
  const known = publishedFactors.some(({ factor }) => factor === props.target);
  const [own, setOwn] = useState(!known);
  const [wrong, setWrong] = useState(false);
  const factors = publishedFactors.filter(({ factor }, i, all) => all.findIndex((one) => one.factor === factor) === i);
  return (
    <>
      <Pick
        label={t.target}
        value={own ? OWN : String(props.target)}
        options={[
          ...factors.map(({ factor, where }) => [String(factor), `${number(factor, 2)}: ${said.term(where)}`] as const),
          [OWN, t.ownTarget],
        ]}
        pick={(value) => {
          setOwn(value === OWN);
          if (value !== OWN) choose({ target: value });
        }}
      />
      {own && (
        <Field label={t.ownTargetField} hint={t.ownTargetWrong}>
          {(ids) => (
            <input
              {...ids}
              type="number"
              min="0.1"
              max="0.99"
              step="0.01"
              value={String(props.target)}
              aria-invalid={wrong}
              onChange={(event) => {
                const value = event.currentTarget.valueAsNumber;
                const fits = value >= 0.1 && value <= 0.99;
                setWrong(!fits);
                if (fits) choose({ target: String(value) });
              }}
            />
          )}
        </Field>
      )}
    </>
  );
}
