import type { Assessment, Compared, Conditions, Estimate, Working } from '../analysis/assessment.ts';
import { nightHours } from '../analysis/night-hours.ts';
import { riskCriterionWords } from '../analysis/risk.ts';
import { mouldStage } from '../physics/mould-stage.ts';
import { TIMBER_MOISTURE_LIMIT } from '../physics/timber.ts';
import type { PlaceResults, Results, SurfaceResults } from './results.ts';

export type FigureInput = Working['inputs'][number];

/**
 * One reported figure: the report prints it, the pack holds it as a row, and whoever checks the pack works it out again.
 * Derived from the analysis alone; no figure is made anywhere else.
 */
export interface Figure {
  /** names it for good, e.g. `surface-2.before.f` */
  readonly id: string;
  /** what it is of, in plain words */
  readonly label: string;
  /** null: not known, or said in `words` alone */
  readonly value: number | null;
  /** half of the width of its 95 % interval; null: a count or a figure without one */
  readonly plusMinus: number | null;
  /** the interval itself, which need not be symmetrical */
  readonly low: number | null;
  readonly high: number | null;
  /** what the figure says, where words say more than the number; null: nothing */
  readonly words: string | null;
  /** empty for a ratio or an index */
  readonly unit: string;
  readonly formula: string;
  readonly inputs: readonly FigureInput[];
  readonly source: string;
}

type Rest = Partial<Pick<Figure, 'words' | 'unit' | 'inputs' | 'source'>> & { readonly formula: string };

const figure = (id: string, label: string, value: number | null, rest: Rest): Figure => ({
  id,
  label,
  value,
  plusMinus: null,
  low: null,
  high: null,
  words: null,
  unit: '',
  inputs: [],
  source: 'counted from the hour records',
  ...rest,
});

const estimated = (id: string, label: string, estimate: Estimate | null, rest: Rest): Figure => ({
  ...figure(id, label, estimate?.value ?? null, rest),
  plusMinus: estimate && (estimate.high - estimate.low) / 2,
  low: estimate?.low ?? null,
  high: estimate?.high ?? null,
});

/** Every figure that is reported of a dwelling, in the order in which it is told. */
export const figuresOf = (results: Results): readonly Figure[] => [
  ...results.surfaces.flatMap(figuresOfSurface),
  ...results.places.flatMap(figuresOfPlace),
];

const FACTOR_SOURCE = 'ISO 13788:2012, 3.1.2';
const ADJUSTED = 'IPMVP adjusted baseline; ASHRAE Guideline 14-2014';
const MOULD_SOURCE = 'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); Ojanen et al. (2010)';
const FACTOR_FORMULA = 'f = (surface - cold side) / (room - cold side)';

function figuresOfSurface({ surface, assessment }: SurfaceResults): Figure[] {
  const id = `surface-${surface.id}`;
  const of = (what: string): string => `${surface.name}: ${what}`;
  const working = (path: string): Rest => {
    const found = assessment.working.find((one) => one.figure === path);
    return found
      ? { formula: found.formula, inputs: found.inputs, source: found.source }
      : { formula: FACTOR_FORMULA, source: FACTOR_SOURCE };
  };
  const coldSide =
    assessment.coldSide === 'outdoor-air' ? '' : ', loft-referenced: not to be held to a published limit';
  const phases = (['before', 'after'] as const).flatMap((name): Figure[] => {
    const phase = assessment[name];
    const conditions = assessment.conditions[name];
    return [
      estimated(`${id}.${name}.f`, of(`temperature factor f ${name} the works${coldSide}`), phase?.f ?? null, {
        ...working(`${name}.f`),
        words: phase && phase.missingBecause.length > 0 ? `missing because: ${phase.missingBecause.join(', ')}` : null,
      }),
      figure(`${id}.${name}.margin-mean`, of(`mean dew-point margin ${name} the works`), phase?.meanMarginK ?? null, {
        unit: 'K',
        formula: 'mean over valid hours of surface temperature - dew point of the room air',
        source: 'ISO 13788:2012, Annex E',
      }),
      figure(
        `${id}.${name}.margin-lowest`,
        of(`lowest hourly dew-point margin ${name} the works`),
        phase?.lowestMarginK ?? null,
        {
          unit: 'K',
          formula: 'least over valid hours of surface temperature - dew point of the room air',
          source: 'ISO 13788:2012, Annex E',
        },
      ),
      ...(conditions === null ? [] : figuresOfConditions(`${id}.${name}`, of, name, conditions)),
    ];
  });
  return [
    figure(`${id}.verdict`, of('verdict on everything watched'), null, {
      words: `${assessment.verdict.kind}: ${assessment.verdict.statement}`,
      formula: 'whole interval of f against the target; whether trouble moved elsewhere',
      inputs: [{ name: `target f (${assessment.target.source})`, value: assessment.target.f, unit: '' }],
      source: 'one-sided test of the change of f; see method.txt',
    }),
    ...phases,
    estimated(`${id}.change`, of('change of f, after less before'), assessment.change, {
      formula: 'f after - f before',
      source: FACTOR_SOURCE,
    }),
    ...comparedFigures(`${id}.risk-hours`, of, 'risk hours', 'h', assessment.riskHours, {
      formula: `hours with ${assessment.riskHours.criterion}`,
      source: 'ISO 13788:2012, 5 (there a monthly mean; by the hour it is an indicator)',
    }),
    ...comparedFigures(
      `${id}.condensation-nights`,
      of,
      'condensation nights',
      'nights',
      assessment.condensationNights,
      {
        formula: `local nights, ${assessment.condensationNights.nightFrom}:00 to ${assessment.condensationNights.nightTo}:00, with an hour of dew-point margin at or below 0 K`,
        source: 'ISO 13788:2012, Annex E',
      },
    ),
    ...comparedFigures(`${id}.mould-index`, of, 'highest mould index', '', assessment.mouldIndex, {
      formula: `VTT model from a clean surface, material class ${assessment.mouldIndex.sensitivity}`,
      source: MOULD_SOURCE,
    }),
    ...controlFigures(id, of, assessment),
    ...causeFigures(id, of, assessment),
    ...assessment.movedTrouble.flatMap((moved, k) => [
      figure(`${id}.elsewhere-${k + 1}`, `${moved.place}: did trouble move here?`, null, {
        words: `${moved.kind}: ${moved.statement}`,
        formula: 'the same comparison at another place',
        source: 'see method.txt',
      }),
      ...moved.figures.flatMap((one, n) =>
        (['before', 'after'] as const).map((name) =>
          estimated(
            `${id}.elsewhere-${k + 1}.${n + 1}.${name}`,
            `${moved.place}: ${one.name} ${name} the works`,
            one[name],
            {
              unit: one.unit,
              formula: one.name,
              inputs: one.limit === null ? [] : [{ name: 'limit', value: one.limit, unit: one.unit }],
              source: 'see method.txt',
            },
          ),
        ),
      ),
    ]),
  ];
}

function comparedFigures(
  id: string,
  of: (what: string) => string,
  what: string,
  unit: string,
  compared: Compared,
  rest: Rest,
): Figure[] {
  return [
    estimated(`${id}.before`, of(`${what} before the works`), compared.before, { ...rest, unit }),
    estimated(`${id}.after`, of(`${what} after the works`), compared.after, { ...rest, unit }),
    estimated(
      `${id}.expected`,
      of(`${what} after the works, had nothing been done`),
      compared.expectedAfterWithoutWorks,
      {
        unit,
        formula: `${rest.formula}, of the untreated surface under the weather and living of the after phase`,
        source: ADJUSTED,
      },
    ),
    estimated(`${id}.avoided`, of(`${what} avoided by the works`), compared.avoided, {
      unit,
      formula: 'expected without the works - measured after',
      inputs: [
        { name: 'expected', value: compared.expectedAfterWithoutWorks?.value ?? null, unit },
        { name: 'measured', value: compared.after?.value ?? null, unit },
      ],
      source: ADJUSTED,
    }),
  ];
}

function figuresOfConditions(
  id: string,
  of: (what: string) => string,
  phase: string,
  conditions: Conditions,
): Figure[] {
  const mean = 'mean over the hours with surface, room and cold side known';
  const rows: readonly [string, string, number | null, string, string, string][] = [
    ['outdoor-mean', 'mean outdoor temperature', conditions.outdoorMeanC, '°C', mean, 'measured'],
    ['room-mean', 'mean room temperature', conditions.roomMeanC, '°C', mean, 'measured'],
    ['room-humidity', 'mean room humidity', conditions.roomMeanHumidityPct, '%', mean, 'measured'],
    [
      'vapour-excess',
      'mean vapour excess of the room over outdoors',
      conditions.vapourExcessMeanPa,
      'Pa',
      'room vapour pressure - outdoor vapour pressure',
      'ISO 13788:2012, 4.2.4',
    ],
    [
      'humidity-class',
      'humidity class of the room',
      conditions.humidityClass,
      '',
      'class whose upper limit the vapour excess does not pass',
      'ISO 13788:2012, Annex A',
    ],
    [
      'valid-hours',
      'valid hours',
      conditions.validHours,
      'h',
      'hours with surface, room and cold side known',
      'counted',
    ],
    ['coverage', 'share of the hours that are valid', conditions.coveragePct, '%', 'valid hours / hours', 'counted'],
  ];
  return rows.map(([key, what, value, unit, formula, source]) =>
    figure(`${id}.${key}`, of(`${what} ${phase} the works`), value, { unit, formula, source }),
  );
}

function controlFigures(id: string, of: (what: string) => string, { control, working }: Assessment): Figure[] {
  if (control.kind === 'missing' || control.kind === 'too-thin') return [];
  const how = working.find((one) => one.figure === 'control.differenceInDifferences');
  return [
    estimated(
      `${id}.control`,
      of(`change of f beyond that of ${control.place}, which was not treated`),
      control.differenceInDifferences,
      {
        words: control.statement,
        formula: how?.formula ?? '(treated after - before) - (control after - before)',
        inputs: how?.inputs ?? [],
        source: how?.source ?? 'difference in differences',
      },
    ),
  ];
}

function causeFigures(id: string, of: (what: string) => string, { causes, working }: Assessment): Figure[] {
  if (causes === null) return [];
  const how = working.find((one) => one.figure === 'causes');
  return (['fabric', 'moisture', 'heating', 'remaining'] as const).map((cause) =>
    estimated(`${id}.causes.${cause}`, of(`share of the risk hours before the works: ${cause}`), causes[cause], {
      formula: how?.formula ?? 'Shapley value of each of three remedies',
      inputs: how?.inputs ?? [],
      source: how?.source ?? 'Shapley (1953)',
    }),
  );
}

function figuresOfPlace({ place, knownHours, hours, winters, mould, timber }: PlaceResults): Figure[] {
  const id = `place-${place.id}`;
  const of = (what: string): string => `${place.name}: ${what}`;
  const night = `${nightHours.from}:00 to ${nightHours.to}:00 local time`;
  return [
    figure(`${id}.known-hours`, of('hours known'), knownHours, {
      unit: 'h',
      formula: 'hours whose temperature readings cover at least half of the hour',
      inputs: [{ name: 'hours looked at', value: hours, unit: 'h' }],
    }),
    ...winters.flatMap((winter) => [
      figure(`${id}.winter-${winter.name}.risk-hours`, of(`risk hours in winter ${winter.name}`), winter.riskHours, {
        unit: 'h',
        formula: `hours with ${riskCriterionWords()}`,
        inputs: [{ name: 'valid hours', value: winter.validHours, unit: 'h' }],
        source: 'ISO 13788:2012, 5 (there a monthly mean; by the hour it is an indicator)',
      }),
      figure(
        `${id}.winter-${winter.name}.condensation-hours`,
        of(`condensation hours in winter ${winter.name}`),
        winter.condensationHours,
        { unit: 'h', formula: 'hours with a mean dew-point margin at or below 0 K', source: 'ISO 13788:2012, Annex E' },
      ),
      figure(
        `${id}.winter-${winter.name}.condensation-nights`,
        of(`condensation nights in winter ${winter.name}`),
        winter.condensationNights,
        { unit: 'nights', formula: `nights, ${night}, with at least one condensation hour` },
      ),
    ]),
    ...(mould === null
      ? []
      : [
          figure(`${id}.mould-index`, of('highest mould index of all hours'), mould.state.highest, {
            words: mouldStage(mould.state.highest).words,
            formula: 'VTT model, hour by hour from a clean surface',
            inputs: [
              { name: 'material class', value: mould.options.sensitivity, unit: '' },
              { name: 'growth hours', value: mould.state.growthHours, unit: 'h' },
              { name: 'hours not known, in which the index was held', value: mould.state.unknownHours, unit: 'h' },
            ],
            source: MOULD_SOURCE,
          }),
        ]),
    ...(timber === null
      ? []
      : [
          figure(`${id}.timber-highest`, of('highest timber moisture that its air leads to'), timber.highest, {
            unit: '%',
            formula: 'equilibrium moisture content of the air, lagged',
            inputs: [{ name: 'time constant', value: timber.timeConstantHours, unit: 'h' }],
            source: 'USDA Wood Handbook (2010), equation 4-5; lag of 10 mm of softwood, diffusivity from memory',
          }),
          figure(
            `${id}.timber-hours-over`,
            of(`hours with that moisture over ${TIMBER_MOISTURE_LIMIT} %`),
            timber.hoursOver,
            {
              unit: 'h',
              formula: `hours with timber moisture over ${TIMBER_MOISTURE_LIMIT} %`,
              inputs: [{ name: 'hours not known', value: timber.unknownHours, unit: 'h' }],
              source: 'USDA Wood Handbook (2010), equation 4-5; the limit is common practice',
            },
          ),
        ]),
  ];
}
