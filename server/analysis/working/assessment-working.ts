import type { Assessment, Worked, Working } from '../assessment.ts';
import { conditionWorkings } from './conditions.ts';
import { countWorkings } from './counts.ts';
import { differenceWorked, factorWorked } from './factor.ts';
import { findingWorkings } from './findings.ts';

type Result = Omit<Assessment, 'working'>;

/** How every figure was worked out: formula, inputs, uncertainty, source. In the order of the result. */
export const workingOf = (result: Result): readonly Working[] => [
  ...factorWorkings(result),
  ...countWorkings(result),
  ...conditionWorkings(result),
  ...controlWorkings(result),
  ...causeWorkings(result),
  ...movedWorkings(result),
  ...findingWorkings(result),
  ...sensorWorkings(result),
];

function factorWorkings({ before, after, change, target, coldSide }: Result): Working[] {
  const out: Working[] = [];
  for (const phase of [before, after]) {
    if (!phase?.working) continue;
    const worked = factorWorked(phase.working);
    out.push({
      figure: `${phase.phase}.f`,
      ...worked,
      inputs: [...worked.inputs, { name: 'cold side', value: coldSide, unit: '' }],
    });
  }
  if (change) {
    const changed = differenceWorked(
      'f after - f before',
      { name: 'f after', value: after?.f ?? null },
      { name: 'f before', value: before?.f ?? null },
      '',
      'ISO 13788:2012, 3.1.2 for f',
    );
    out.push({ figure: 'change', ...changed });
  }
  out.push({
    figure: 'target',
    formula: 'chosen by the reader from published guidance, or typed in',
    inputs: [{ name: 'target f', value: target.f, unit: '' }],
    uncertainty: 'A figure that was laid down has none.',
    source: target.source,
  });
  return out;
}

function controlWorkings({ control }: Result): Working[] {
  if (control.kind !== 'agrees' && control.kind !== 'disagrees') return [];
  const { treatedChange, controlChange, controlBefore, controlAfter } = control;
  return [
    { figure: 'control.controlBefore', ...factorWorked(control.workingBefore) },
    { figure: 'control.controlAfter', ...factorWorked(control.workingAfter) },
    {
      figure: 'control.controlChange',
      ...differenceWorked(
        'f after - f before, of the control surface',
        { name: 'f after', value: controlAfter },
        { name: 'f before', value: controlBefore },
        '',
        'ISO 13788:2012, 3.1.2 for f',
      ),
    },
    {
      figure: 'control.differenceInDifferences',
      ...differenceWorked(
        '(treated after - treated before) - (control after - control before)',
        { name: 'change of the treated surface', value: treatedChange },
        { name: 'change of the control surface', value: controlChange },
        '',
        'difference in differences; the same nights are resampled for both surfaces',
      ),
    },
  ];
}

function causeWorkings({ causes }: Result): Working[] {
  if (causes === null) return [];
  return [
    {
      figure: 'causes',
      formula:
        'mean, over all orders in which the three could be put right, of the share of risk hours that each takes away; with what is left they make up the whole',
      inputs: [
        { name: 'risk hours', value: causes.riskHours, unit: 'h' },
        { name: 'fabric: surface at f', value: causes.targetF, unit: '' },
        { name: 'moisture: vapour excess within humidity class', value: causes.humidityClassLimit, unit: '' },
        { name: 'heating: room at least', value: causes.heatedToC, unit: '°C' },
        { name: 'cold fabric', value: 100 * causes.fabric.value, unit: '%' },
        { name: 'moist air', value: 100 * causes.moisture.value, unit: '%' },
        { name: 'cool room', value: 100 * causes.heating.value, unit: '%' },
        { name: 'none of these', value: 100 * causes.remaining.value, unit: '%' },
      ],
      uncertainty:
        'Each draw has its own f and its own sensor offsets; the interval holds the middle 95 %. Sun and draughts are not in it.',
      source: 'Shapley (1953); humidity classes: ISO 13788:2012, Annex A',
    },
  ];
}

function movedWorkings({ movedTrouble }: Result): Working[] {
  return movedTrouble.flatMap(({ figures, by }, i) => [
    ...figures.flatMap(({ limit, workingBefore, workingAfter, unit }, k) => {
      const at = (side: string, worked: Worked | null): Working[] =>
        worked === null ? [] : [{ figure: `movedTrouble.${i}.figures.${k}.${side}`, ...worked }];
      return [
        ...at('before', workingBefore),
        ...at('after', workingAfter),
        ...at(
          'limit',
          limit === null
            ? null
            : {
                formula: 'laid down, not worked out',
                inputs: [{ name: 'limit', value: limit, unit }],
                uncertainty: 'A figure that was laid down has none.',
                source: (workingAfter ?? workingBefore)?.source ?? 'settings of the comparison',
              },
        ),
      ];
    }),
    ...(by === null
      ? []
      : [
          {
            figure: `movedTrouble.${i}.by`,
            formula: 'the last known hour + a day for each day that is still missing',
            inputs: figures.map(({ name, after, unit }) => ({ name, value: after?.value ?? null, unit })),
            uncertainty: 'It holds if the weather stays as it is and the sensor goes on reporting.',
            source: 'rules of this program',
          },
        ]),
  ]);
}

const sensorWorkings = ({ uncertainties }: Result): Working[] =>
  uncertainties.map(({ sensor }, i) => ({
    figure: `uncertainties.${i}`,
    formula:
      'standard uncertainty of a constant offset (k = 1): of the calibration, or the limit a data sheet states taken as a rectangle, limit / √3, with the errors of the reading added in squares',
    inputs: [
      { name: 'temperature offset', value: sensor.temperatureOffsetK, unit: 'K' },
      { name: 'humidity offset', value: sensor.humidityOffsetPct, unit: '%' },
      { name: 'change of the temperature offset between the phases', value: sensor.temperatureDriftK, unit: 'K' },
      { name: 'change of the humidity offset between the phases', value: sensor.humidityDriftPct, unit: '%' },
      {
        name: 'part shared with others corrected against the same reference',
        value: sensor.sharedTemperature?.uncertainty ?? 0,
        unit: 'K',
      },
    ],
    uncertainty: 'It is an uncertainty itself; twice as much bounds 95 of 100 cases.',
    source: sensor.source,
  }));
