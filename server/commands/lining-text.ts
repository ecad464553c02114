import type { HiddenCase } from '../analysis/hidden-cases.ts';
import type { LiningResult } from '../analysis/lining.ts';
import type { BuildUpFigures, SurfacePrediction } from '../analysis/lining-figures.ts';
import type { LiningNotice } from '../analysis/lining-notices.ts';
import type { CondensationYear, Drying } from '../physics/condensation-year.ts';

const WIDTH = 100;

/** The result for people: tables and sentences, rounded. */
export function liningText(title: string | null, result: LiningResult): string {
  return [
    title ?? 'Lining',
    ...notices(result),
    ...heat(result),
    ...surfaces(result),
    ...boundaries(result),
    ...hidden(result),
    ...condensation(result),
    ...cautions(result),
  ].join('\n');
}

const heading = (text: string): string[] => ['', text, '-'.repeat(text.length)];

/** Wraps a sentence, the lines after the first one set in. */
function wrapped(text: string, indent = ''): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + word.length + 1 > WIDTH) {
      lines.push(line);
      line = `${indent}${word}`;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  return [...lines, line];
}

/** Columns set to the width of their longest cell: the first to the left, the others to the right. */
function table(rows: readonly (readonly string[])[]): string[] {
  const widths = rows[0]!.map((_, column) => Math.max(...rows.map((row) => row[column]!.length)));
  return rows.map((row) =>
    row
      .map((cell, column) => (column === 0 ? cell.padEnd(widths[column]!) : cell.padStart(widths[column]!)))
      .join('   ')
      .trimEnd(),
  );
}

const SEVERITY = { warning: 'WARNING', caution: 'CAUTION', note: 'Note' } as const;

function notices({ notices }: LiningResult): string[] {
  const said = ({ code, severity, message }: LiningNotice): string =>
    `${SEVERITY[severity]}: ${message}${code === 'no-log' ? ' Give --room and --outdoor.' : ''}`;
  return ['', ...notices.flatMap((notice) => wrapped(said(notice), '  '))];
}

function heat({ before, after, liningMass }: LiningResult): string[] {
  const row = (name: string, figures: BuildUpFigures): string[][] =>
    figures.transmittances.map((one) => [
      name,
      one.rsi.toFixed(2),
      one.resistance.toFixed(2),
      one.uValue.toFixed(2),
      one.temperatureFactor.toFixed(3),
      one.maximumError.toFixed(1),
    ]);
  return [
    ...heading('Heat'),
    ...table([
      ['', 'Rsi m2K/W', 'R m2K/W', 'U W/(m2K)', 'f', 'error at most %'],
      ...row('before', before),
      ...row('after', after),
    ]),
    ...wrapped(
      `U for a building code: ${before.uValue.toFixed(2)} before, ${after.uValue.toFixed(2)} W/(m2K) after. Rsi 0.25 stands for corners and behind furniture. The lining weighs ${liningMass.toFixed(1)} kg/m2.`,
    ),
  ];
}

function surfaces({ design, coldestNight, before, after }: LiningResult): string[] {
  const rows = (name: string, predictions: readonly SurfacePrediction[]): string[][] =>
    predictions.map((one) => [
      name,
      one.rsi.toFixed(2),
      one.meanTemperature.toFixed(1),
      one.lowestTemperature.toFixed(1),
      one.surfaceHumidity.toFixed(0),
      one.margin.toFixed(1),
      one.coldestThrough.length === 0 ? 'clear part' : one.coldestThrough.join(' + '),
    ]);
  const block = (before: readonly SurfacePrediction[], after: readonly SurfacePrediction[]): string[] =>
    table([
      ['', 'Rsi', 'mean °C', 'lowest °C', 'humidity there %', 'margin K', 'lowest at'],
      ...rows('before', before),
      ...rows('after', after),
    ]);
  return [
    ...heading(
      `Ceiling surface at ${design.roomTemperature} °C ${design.roomHumidity} % inside, ${design.outdoorTemperature} °C ${design.outdoorHumidity} % outside`,
    ),
    ...block(before.design, after.design),
    ...(coldestNight === null || before.coldestNight === null || after.coldestNight === null
      ? []
      : [
          ...heading(
            `Ceiling surface in the coldest logged night, ${coldestNight.date}: means ${coldestNight.roomTemperature.toFixed(1)} °C inside, ${coldestNight.outdoorTemperature.toFixed(1)} °C outside`,
          ),
          ...block(before.coldestNight, after.coldestNight),
        ]),
  ];
}

function boundaries({ after }: LiningResult): string[] {
  return [
    ...heading('Through the lined ceiling at the design state, clear part'),
    ...table([
      ['', '°C', 'vapour Pa', 'saturation Pa'],
      ...after.boundaries.map((one) => [
        one.name,
        one.temperature.toFixed(1),
        one.vapourPressure.toFixed(0),
        one.saturation.toFixed(0),
      ]),
    ]),
  ];
}

function caseName(one: HiddenCase): string {
  if (one.vapourControl !== 'with' && one.vapourControl !== 'without') return 'as it was, facing the room';
  return `${one.vapourControl} vapour control, ${one.airLeak === 0 ? 'no leak' : `leak ${one.airLeak} m3/(h m2)`}`;
}

function hidden({ hidden }: LiningResult): string[] {
  const cases = [hidden.before, ...hidden.after];
  const mark = (one: HiddenCase): string => (one === hidden.asDescribed ? `${caseName(one)} *` : caseName(one));
  const logged = cases.some((one) => one.logged !== null);
  const months = cases.some((one) => one.months !== null);
  return [
    ...heading(`Behind the lining: the room-side face of ${hidden.surface}`),
    ...table([
      ['', 'design °C', 'design %', ...(months ? ['dampest month %'] : [])],
      ...cases.map((one) => [
        mark(one),
        one.design.temperature.toFixed(1),
        one.design.wet ? 'wet' : one.design.humidity.toFixed(0),
        ...(months ? [dampest(one)] : []),
      ]),
    ]),
    ...(logged
      ? [
          '',
          ...table([
            ['by the log', 'mean °C', 'mean %', 'risk h', 'growth h', 'wet h', 'water g/m2', 'mould index'],
            ...cases.flatMap(({ logged }, index) =>
              logged === null
                ? []
                : [
                    [
                      mark(cases[index]!),
                      logged.meanTemperature.toFixed(1),
                      logged.meanHumidity.toFixed(0),
                      String(logged.riskHours),
                      String(logged.growthHours),
                      String(logged.wetHours),
                      logged.mostWater === null ? '-' : (logged.mostWater * 1000).toFixed(0),
                      logged.mouldHighest.toFixed(1),
                    ],
                  ],
            ),
          ]),
          ...wrapped(
            `Risk hour: ${hidden.riskCriterion}. Growth hour: over the humidity from which mould can grow at that temperature, 80 % when warm and rising towards 100 % at 0 °C. Water and mould index: the most reached; mould index as described: ${hidden.asDescribed.logged?.mouldWords ?? ''}.`,
          ),
        ]
      : []),
    ...wrapped(`* as the file describes it, with the stated air leak. ${hidden.otherVapourControl}`),
    ...(hidden.drying === null ? [] : wrapped(dryingWords(hidden.drying))),
    ...hidden.limits.flatMap(({ message }) => wrapped(`- ${message}`, '  ')),
  ];
}

function dryingWords(drying: Drying): string {
  const wetting = 'A wetting of 1 kg/m2 there, from a leak say,';
  return drying.kind === 'dries'
    ? `${wetting} dries by diffusion in about ${Math.ceil(drying.days / 30.4)} months.`
    : `${wetting} has not dried by diffusion after ten years: ${(drying.remaining * 1000).toFixed(0)} g/m2 are left.`;
}

function dampest(one: HiddenCase): string {
  if (one.months === null) return '-';
  const worst = one.months.reduce((most, month) => (month.humidity > most.humidity ? month : most));
  return `${worst.wet ? 'wet' : worst.humidity.toFixed(0)} in ${worst.name}`;
}

function verdictOf(year: CondensationYear): string {
  switch (year.kind) {
    case 'no-condensation':
      return 'No condensation in any month.';
    case 'dries-within-the-year':
      return `Condensation, at most ${(year.peak * 1000).toFixed(0)} g/m2 in ${year.peakMonth}; dry again in ${year.dryAgain}.`;
    case 'accumulates':
      return `Condensation that does not dry within the year: at most ${(year.peak * 1000).toFixed(0)} g/m2 in ${year.peakMonth}, ${(year.remaining * 1000).toFixed(0)} g/m2 left after twelve months.`;
  }
}

function condensation({ before, after, climateFrom }: LiningResult): string[] {
  if (before.condensation === null || after.condensation === null) return [];
  const rows = (year: CondensationYear): string[][] =>
    year.months.flatMap((month) => [
      ...month.planes.map((plane) => [
        month.name,
        (plane.change * 1000).toFixed(1),
        (plane.held * 1000).toFixed(1),
        plane.name,
      ]),
      ...(month.wetSurfaces.includes('room') ? [[month.name, '', '', 'the room-side surface is wet']] : []),
    ]);
  const block = (name: string, year: CondensationYear): string[] => {
    const lines = rows(year);
    return [
      `${name}: ${verdictOf(year)}`,
      ...(lines.length === 0 ? [] : table([['', 'change g/m2', 'held g/m2', 'between'], ...lines])),
    ];
  };
  return [
    ...heading(`Condensation month by month, climate ${climateFrom === 'the log' ? 'from the log' : 'as typed in'}`),
    ...block('Before', before.condensation),
    ...block('After', after.condensation),
    'The method leaves much out:',
    ...after.condensation.limits.flatMap(({ message }) => wrapped(`- ${message}`, '  ')),
  ];
}

function cautions({ cautions }: LiningResult): string[] {
  return [...heading('Before you build'), ...cautions.flatMap(({ message }) => wrapped(`- ${message}`, '  '))];
}
