import type { Assessment, Compared, Conditions, Worked, Working, WorkingInput } from '../assessment.ts';
import { differenceWorked } from './factor.ts';

type Result = Omit<Assessment, 'working'>;

const RISK_SOURCE = 'ISO 13788:2012, 5 for the limit (there a monthly mean; by the hour it is an indicator)';
const MOULD_SOURCE = 'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); classes: Ojanen et al. (2010)';
const OFFSETS =
  'The count is exact for the readings as they are. The interval holds the middle 95 % of the counts when the offsets of the surface and the room sensor are drawn from their standard uncertainties.';

/** One of the three counts: what it is called, how it was counted, and by which published rule. */
interface Count {
  readonly path: 'riskHours' | 'condensationNights' | 'mouldIndex';
  readonly unit: string;
  readonly formula: string;
  readonly inputs: readonly WorkingInput[];
  readonly uncertainty: string;
  readonly source: string;
}

const countsOf = ({ riskHours, condensationNights, mouldIndex }: Result): readonly Count[] => [
  {
    path: 'riskHours',
    unit: 'h',
    formula: `number of hours with ${riskHours.criterion}`,
    inputs: [{ name: 'limit of surface humidity', value: riskHours.limitPct, unit: '%' }],
    uncertainty: OFFSETS,
    source: RISK_SOURCE,
  },
  {
    path: 'condensationNights',
    unit: '',
    formula:
      'number of local nights with at least one hour in which the surface is at or under the dew point of the room',
    inputs: [
      { name: 'night begins', value: `${condensationNights.nightFrom}:00`, unit: '' },
      { name: 'night ends', value: `${condensationNights.nightTo}:00`, unit: '' },
    ],
    uncertainty: OFFSETS,
    source: 'ISO 13788:2012, 5 (surface condensation); a night counts once, which is common practice',
  },
  {
    path: 'mouldIndex',
    unit: '',
    formula:
      'highest value of the mould index, which grows hour by hour while the surface is over the growth limit and declines while it is under; it starts from 0',
    inputs: [{ name: 'class of the material', value: mouldIndex.sensitivity, unit: '' }],
    uncertainty:
      'The interval holds the middle 95 % of the indices when the offsets of the surface and the room sensor are drawn from their standard uncertainties. How well the class fits your surface is not in it.',
    source: MOULD_SOURCE,
  },
];

const covered = (conditions: Conditions | null): readonly WorkingInput[] =>
  conditions === null
    ? []
    : [
        { name: 'hours with surface, room and cold side known', value: conditions.validHours, unit: 'h' },
        { name: 'hours of the phase', value: conditions.spanHours, unit: 'h' },
      ];

const measured = (count: Count, conditions: Conditions | null): Worked => ({
  formula: count.formula,
  inputs: [...count.inputs, ...covered(conditions)],
  uncertainty: count.uncertainty,
  source: count.source,
});

function expected(count: Count, { response, settings }: Result): Worked | null {
  if (response === null) return null;
  const draws = count.path === 'mouldIndex' ? settings.mouldResamples : settings.resamples;
  return {
    formula: `${count.formula}; with the surface temperature the untreated surface would have had: cold + intercept + f (room - cold) + residual, room and cold delayed, fitted before, driven by the after phase's own air`,
    inputs: [
      ...count.inputs,
      { name: 'f of the untreated surface', value: response.f, unit: '' },
      { name: 'intercept', value: response.interceptK, unit: 'K' },
      { name: 'lag of the cold side', value: response.coldLagHours, unit: 'h' },
      { name: 'lag of the room', value: response.roomLagHours, unit: 'h' },
      { name: 'mean bias error', value: response.nmbePct, unit: '% of the drop room - surface' },
      { name: 'root mean square error', value: response.cvRmsePct, unit: '% of the drop room - surface' },
      { name: 'draws', value: draws, unit: '' },
    ],
    uncertainty:
      'Each draw has its own fit, its own sensor offsets and its own days of residuals; the interval holds the middle 95 % of them.',
    source: `IPMVP adjusted baseline; ASHRAE Guideline 14-2014 for the limits of fit; ${count.source}`,
  };
}

/** Risk hours, condensation nights and mould index: measured, expected, avoided, and day by day. */
export function countWorkings(result: Result): readonly Working[] {
  const out: Working[] = [];
  const add = (figure: string, worked: Worked | null): void => {
    if (worked !== null) out.push({ figure, ...worked });
  };
  const { before, after } = result.conditions;
  for (const count of countsOf(result)) {
    const known: Compared = result[count.path];
    if (known.before) add(`${count.path}.before`, measured(count, before));
    if (known.after) add(`${count.path}.after`, measured(count, after));
    if (known.expectedAfterWithoutWorks) add(`${count.path}.expectedAfterWithoutWorks`, expected(count, result));
    if (known.avoided) {
      add(
        `${count.path}.avoided`,
        differenceWorked(
          'expected without the works - measured after, over the same hours',
          { name: 'expected', value: known.expectedAfterWithoutWorks },
          { name: 'measured', value: known.after },
          count.unit,
          count.source,
        ),
      );
    }
  }
  const [risk, , mould] = countsOf(result) as [Count, Count, Count];
  for (const phase of ['before', 'after'] as const) {
    if (result.cumulativeRiskHours[phase]) {
      add(`cumulativeRiskHours.${phase}`, {
        ...measured(risk, result.conditions[phase]),
        formula: `${risk.formula}, added up from the 1st of October, or from the day the phase begins, to the end of each day`,
      });
    }
    if (result.mouldIndexByDay[phase]) {
      add(`mouldIndexByDay.${phase}`, {
        ...measured(mould, result.conditions[phase]),
        formula:
          'mould index at the end of each day; it grows while the surface is over the growth limit and declines while it is under',
      });
    }
  }
  return out;
}
