import type { Assessment, Estimate } from '../../../server/api/contract/comparison.ts';
import { Figure, FigureProse } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { estimate, number, quantity } from '../words/format.ts';
import { said } from '../words/say.ts';

/** What kept the surface damp before the works: shares of the risk hours. */
export function CausesOf(props: { assessment: Assessment }) {
  const { causes } = props.assessment;
  if (causes === null) return null;
  const percent = ({ value, low, high }: Estimate): Estimate => ({
    value: 100 * value,
    low: 100 * low,
    high: 100 * high,
  });
  const rows = (['fabric', 'moisture', 'heating', 'remaining'] as const).map((name) => ({ name, share: causes[name] }));
  return (
    <section class="causes-of">
      <h2>{t.causesTitle}</h2>
      <p>
        <FigureProse text={said.causes(causes)} paths={['causes']} />
      </p>
      <table class="causes">
        <caption class="unseen">{t.causesTitle}</caption>
        <tbody>
          {rows.map(({ name, share }) => (
            <tr key={name} class="row">
              <th scope="row" class="cell">
                {t.causes[name]}
              </th>
              <td class="cell bar">
                <svg class="cause-bar" width="100%" height="22" aria-hidden="true">
                  <rect x="0" y="4" height="14" width={`${Math.max(0, 100 * share.value).toFixed(1)}%`} />
                  <line
                    x1={`${Math.max(0, 100 * share.low).toFixed(1)}%`}
                    x2={`${Math.min(100, 100 * share.high).toFixed(1)}%`}
                    y1="11"
                    y2="11"
                  />
                </svg>
              </td>
              <td class="cell">
                <Figure path={`causes.${name}`} text={estimate(percent(share), '%', 0)} of={t.causes[name]} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small">
        {t.causesNote(
          number(causes.targetF, 2),
          number(causes.humidityClassLimit),
          quantity(causes.heatedToC, '°C', 0),
        )}
      </p>
    </section>
  );
}
