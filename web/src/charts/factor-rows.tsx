import type { Estimate } from '../../../server/api/contract/comparison.ts';
import { Figure } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { estimate } from '../words/format.ts';
import { words } from '../words/words.ts';

export interface FactorRow {
  readonly name: string;
  /** where its working is found */
  readonly path: string;
  readonly estimate: Estimate | null;
  readonly weight: 'main' | 'beside';
  /** why there is none */
  readonly missing?: string;
}

const share = (value: number): string => `${(100 * Math.min(Math.max(value, 0), 1)).toFixed(2)}%`;

/**
 * Temperature factors on one ruler from 0 to 1, each with its 95 % interval, against the target. A table for those who
 * read it as one: name, drawing, figure.
 */
export function FactorRows(props: { rows: readonly FactorRow[]; target: number; targetWords: string }) {
  return (
    <table class="factors">
      <caption class="unseen">{t.factorTitle}</caption>
      <thead>
        <tr>
          <th scope="col" class="wide-only">
            {t.where}
          </th>
          <th scope="col" class="track">
            <span class="target-words">
              <Figure path="target" text={props.targetWords} of={t.target} />
            </span>
          </th>
          <th scope="col">{t.factorColumn}</th>
        </tr>
      </thead>
      <tbody>
        {props.rows.map((row) => (
          <tr key={`${row.name} ${row.path}`} class="row">
            <th scope="row" class={`cell name is-${row.weight}`}>
              {row.name}
            </th>
            <td class="cell track">
              <svg class="factor-ruler" width="100%" height="26" aria-hidden="true">
                <line class="ruler-line" x1="0" x2="100%" y1="13" y2="13" />
                {[0, 0.25, 0.5, 0.75, 1].map((at) => (
                  <line key={at} class="ruler-line" x1={share(at)} x2={share(at)} y1="10" y2="16" />
                ))}
                <line class="target-line" x1={share(props.target)} x2={share(props.target)} y1="0" y2="26" />
                {row.estimate && (
                  <>
                    <line
                      class={`interval is-${row.weight}`}
                      x1={share(row.estimate.low)}
                      x2={share(row.estimate.high)}
                      y1="13"
                      y2="13"
                    />
                    <circle
                      class={`factor-dot is-${row.weight}`}
                      cx={share(row.estimate.value)}
                      cy="13"
                      r={row.weight === 'main' ? 6 : 4.5}
                    />
                  </>
                )}
              </svg>
            </td>
            <td class={`cell figure-cell is-${row.weight}`}>
              {row.estimate ? (
                <Figure path={row.path} text={estimate(row.estimate, '', 2)} of={row.name} />
              ) : (
                <span class="small">{row.missing ?? words.notKnown}</span>
              )}
            </td>
          </tr>
        ))}
      </tbody>
      <tfoot aria-hidden="true">
        <tr>
          <td class="wide-only" />
          <td class="track">
            <span class="ends">
              <span>0</span>
              <span>0.5</span>
              <span>1</span>
            </span>
          </td>
          <td />
        </tr>
      </tfoot>
    </table>
  );
}
