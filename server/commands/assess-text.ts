import { DateTime } from 'luxon';
import type { Assessment, Conditions, Estimate } from '../analysis/assessment.ts';

/** An assessment for people to read in a terminal. */
export function assessText(result: Assessment): string {
  return [
    verdictLines(result),
    factorLines(result),
    countLines(result),
    conditionLines(result),
    causeLines(result),
    movedLines(result),
    findingLines(result),
    footLines(result),
  ]
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join('\n'))
    .join('\n\n');
}

const words = {
  'target-met': 'Target met',
  'better-short-of-target': 'Better, short of the target',
  'no-change-shown': 'No change shown',
  worse: 'Worse',
  'not-enough-evidence': 'Not enough evidence',
} as const;

function verdictLines({ verdict }: Assessment): string[] {
  return [words[verdict.kind], verdict.statement, ...verdict.reasons.map((reason) => `- ${reason}`)];
}

const estimate = (value: Estimate | null, digits: number): string =>
  value === null
    ? 'not known'
    : `${value.value.toFixed(digits)} (${value.low.toFixed(digits)} to ${value.high.toFixed(digits)})`;

function factorLines({ before, after, target, coldSide }: Assessment): string[] {
  const lines = [
    `Temperature factor f at night, 95 % interval; cold side ${coldSide === 'outdoor-air' ? 'outdoor air' : 'loft air, loft-referenced'}`,
  ];
  for (const phase of [before, after]) {
    if (phase === null) continue;
    const { working } = phase;
    const how =
      working === null
        ? ''
        : `; ${working.nights} nights, room ${working.meanDifferenceK.toFixed(1)} K warmer, slope ${estimate(working.slope, 2)}`;
    lines.push(`  ${phase.phase.padEnd(7)} ${estimate(phase.f, 2)}${how}`);
  }
  lines.push(`  target  ${target.f} (${target.source})`);
  return lines;
}

function countLines({ riskHours, condensationNights, mouldIndex }: Assessment): string[] {
  const rows = [
    [`Risk hours (${riskHours.criterion})`, riskHours, 0],
    ['Condensation nights', condensationNights, 0],
    [`Mould index, highest (class ${mouldIndex.sensitivity})`, mouldIndex, 1],
  ] as const;
  return rows.flatMap(([name, compared, digits]) => [
    name,
    `  before ${estimate(compared.before, digits)}; after ${estimate(compared.after, digits)}`,
    `  after, without the works ${estimate(compared.expectedAfterWithoutWorks, digits)}; avoided ${estimate(compared.avoided, digits)}`,
  ]);
}

function conditionLines({ conditions }: Assessment): string[] {
  const rows: readonly (readonly [string, (of: Conditions) => string])[] = [
    ['outdoors, mean', (of) => number(of.outdoorMeanC, 1, '°C')],
    ['room, mean', (of) => number(of.roomMeanC, 1, '°C')],
    ['room humidity, mean', (of) => number(of.roomMeanHumidityPct, 0, '%')],
    [
      'vapour excess, mean',
      (of) =>
        `${number(of.vapourExcessMeanPa, 0, 'Pa')}${of.humidityClass === null ? '' : `, class ${of.humidityClass}`}`,
    ],
    ['hours with data', (of) => `${of.validHours} of ${of.spanHours}`],
  ];
  const { before, after } = conditions;
  if (before === null && after === null) return [];
  const cell = (of: Conditions | null, value: (of: Conditions) => string): string => (of === null ? '-' : value(of));
  return [
    `What else changed${' '.repeat(8)}before            after`,
    ...rows.map(([name, value]) => `  ${name.padEnd(22)} ${cell(before, value).padEnd(17)} ${cell(after, value)}`),
  ];
}

const number = (value: number | null, digits: number, unit: string): string =>
  value === null ? 'not known' : `${value.toFixed(digits)} ${unit}`;

function causeLines({ causes }: Assessment): string[] {
  if (causes === null) return [];
  const share = (name: string, { value, low, high }: Estimate): string =>
    `  ${name.padEnd(12)} ${percent(value)} % (${percent(low)} to ${percent(high)})`;
  return [
    `What kept the surface damp before: share of ${causes.riskHours} risk hours`,
    share('cold fabric', causes.fabric),
    share('moist air', causes.moisture),
    share('cool room', causes.heating),
    `  ${causes.statement}`,
  ];
}

const percent = (share: number): string => (100 * share).toFixed(0);

function movedLines({ movedTrouble, control }: Assessment): string[] {
  const lines = movedTrouble.map(({ statement }) => `  ${statement}`);
  if (control.kind === 'agrees' || control.kind === 'disagrees') lines.push(`  ${control.statement}`);
  return lines.length === 0 ? [] : ['Elsewhere', ...lines];
}

function findingLines({ sufficiency, zone }: Assessment): string[] {
  if (sufficiency.findings.length === 0) return [];
  const severity = { blocks: 'must be mended', weakens: 'weakens', note: 'note' } as const;
  return [
    'The evidence',
    ...sufficiency.findings.map((one) => {
      const by =
        one.by === null ? '' : ` By ${DateTime.fromMillis(one.by, { zone }).toISODate()} at the present weather.`;
      return `  [${severity[one.severity]}] ${one.message}${one.mend === null ? '' : ` ${one.mend}`}${by}`;
    }),
  ];
}

function footLines({ uncertainties, zone, settings }: Assessment): string[] {
  const sources = [...new Set(uncertainties.map(({ sensor }) => describe(sensor)))];
  return [
    `Nights ${settings.nightFrom}:00 to ${settings.nightTo}:00 in ${zone}. Sensor offsets, one standard uncertainty: ${sources.join('; ')}.`,
    'This indicates; it does not certify. --json gives every figure with its working.',
  ];
}

const describe = (sensor: Assessment['uncertainties'][number]['sensor']): string =>
  `${sensor.temperatureOffsetK} K and ${sensor.humidityOffsetPct} %, between phases ${sensor.temperatureDriftK} K and ${sensor.humidityDriftPct} % (${sensor.source})`;
