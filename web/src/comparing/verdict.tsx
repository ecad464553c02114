import type { Assessment } from '../../../server/api/contract/comparison.ts';
import { FigureProse } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { firstSentence } from '../words/format.ts';
import { said } from '../words/say.ts';

export const kindTone = {
  'target-met': 'quiet',
  'better-short-of-target': 'watch',
  'no-change-shown': 'watch',
  worse: 'act',
  'not-enough-evidence': 'unknown',
  'no-worse': 'quiet',
} as const;

/** The verdict in two sentences, and why. */
export function Verdict(props: { assessment: Assessment }) {
  const { verdict } = props.assessment;
  const [first, rest] = firstSentence(said.verdict(props.assessment));
  return (
    <>
      <div class="headline" aria-live="polite">
        <h1>{first}</h1>
        <p class="rests-on">
          {t.verdict}: <span class={`state-words tone-${kindTone[verdict.kind]}`}>{t.kinds[verdict.kind]}</span>
        </p>
        <p class="lead">
          <FigureProse text={rest} paths={verdict.statementFigures} />
        </p>
      </div>
      {verdict.reasons.length > 0 && (
        <details class="why" open>
          <summary>{t.why}</summary>
          <ul>
            {verdict.reasons.map((reason, i) => (
              <li key={reason}>
                <FigureProse text={said.reason(props.assessment, i)} paths={verdict.reasonFigures[i] ?? []} />
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}
