import type { ForecastScores } from '../../../server/api/contract/tonight.ts';
import { forecastScoreWords as t } from '../words/forecast-score.ts';
import { number } from '../words/format.ts';

type Bin = ForecastScores['scores'][number]['reliability'][number];

const SIDE = 240;
const LEFT = 44;
const TOP = 12;
const x = (share: number): number => LEFT + SIDE * share;
const y = (share: number): number => TOP + SIDE * (1 - share);
const marks = [0, 0.25, 0.5, 0.75, 1];

/** Said chance against how often it happened, in ink alone: points, their 95 % bars, and the line where both agree. */
export function ReliabilityDrawing(props: { bins: readonly Bin[] }) {
  const seen = props.bins.filter(({ meanChance, rate }) => meanChance !== null && rate !== null);
  return (
    <svg class="reliability" viewBox={`0 0 ${LEFT + SIDE + 60} ${TOP + SIDE + 46}`} role="img" aria-label={t.drawing}>
      {marks.map((share) => (
        <g key={share}>
          <line class="reliability-grid" x1={x(0)} x2={x(1)} y1={y(share)} y2={y(share)} />
          <line class="reliability-grid" x1={x(share)} x2={x(share)} y1={y(0)} y2={y(1)} />
          <text x={x(0) - 6} y={y(share) + 4} text-anchor="end">
            {number(share * 100)}
          </text>
          <text x={x(share)} y={y(0) + 17} text-anchor="middle">
            {number(share * 100)}
          </text>
        </g>
      ))}
      <line class="reliability-even" x1={x(0)} y1={y(0)} x2={x(1)} y2={y(1)} />
      <text x={x(1) + 4} y={y(1) + 4}>
        {t.asSaid}
      </text>
      {seen.map(({ from, meanChance, rate, rateRange }) => (
        <g key={from} class="reliability-point">
          {rateRange !== null && (
            <>
              <line x1={x(meanChance!)} x2={x(meanChance!)} y1={y(rateRange.low)} y2={y(rateRange.high)} />
              {[rateRange.low, rateRange.high].map((end) => (
                <line key={end} x1={x(meanChance!) - 3} x2={x(meanChance!) + 3} y1={y(end)} y2={y(end)} />
              ))}
            </>
          )}
          <circle cx={x(meanChance!)} cy={y(rate!)} r="4.5" />
        </g>
      ))}
      <text x={x(0.5)} y={y(0) + 38} text-anchor="middle">
        {t.said}
      </text>
      <text x={-y(0.5)} y={11} text-anchor="middle" transform="rotate(-90)">
        {t.happened}
      </text>
    </svg>
  );
}
