import type { Spread } from '../../analysis/local-days.ts';
import { sentence } from '../../analysis/say.ts';
import { RISK_HUMIDITY } from '../../physics/hours-over.ts';
import { quantities } from '../../physics/quantities.ts';
import type { Place } from '../../store/port.ts';
import type { Figure } from '../figures.ts';
import type { SurfaceResults } from '../results.ts';
import { type Block, heading, list, paragraph, table } from './blocks.ts';
import { completenessChart } from './charts/completeness.ts';
import { type DayChart, type DaySeries, dayChart } from './charts/days.ts';
import { type IntervalRow, intervalChart } from './charts/intervals.ts';
import { sectionChart } from './charts/section.ts';
import { winterChart } from './charts/winters.ts';
import { calibrationWords, figureWords, type ReportFacts, type Say } from './facts.ts';
import { cautions, glossary, limits, privacy } from './texts.ts';

type Chapter = (facts: ReportFacts, say: Say) => Block[];

/** The working for a surveyor, in order; a chapter with nothing to say is left out. */
const chapters: readonly Chapter[] = [
  building,
  sensorsAndCalibrations,
  completeness,
  conditions,
  surfaces,
  factors,
  winters,
  causes,
  elsewhere,
  loft,
  photos,
  diary,
  limitsOfMethod,
  cautionsToKeep,
  provenanceOfReadings,
  everyFigure,
  words,
];

export const working: Chapter = (facts, say) => chapters.flatMap((chapter) => chapter(facts, say));

const kindWords: Readonly<Record<Place['kind'], string>> = {
  'room-air': 'room air',
  'ceiling-surface': 'ceiling surface',
  'control-surface': 'control surface',
  'behind-lining': 'behind the lining',
  'loft-air': 'loft air',
  'loft-timber': 'loft timber',
  'outdoor-air': 'outdoor air',
  'supply-air': 'supply air',
};

function building({ dwelling, places, phases, to }: ReportFacts, say: Say): Block[] {
  const { section } = dwelling;
  return [
    heading(2, 'The building and what was watched'),
    {
      kind: 'drawing',
      scene: sectionChart(dwelling, places),
      caption:
        'Section to scale from the dimensions below, as it is today. Numbers are the places of the table; dashes are the draught from the eaves into the loft.',
    },
    table(
      'Dimensions as the household gave them',
      [
        { title: 'Dimension', share: 3 },
        { title: 'Size', share: 1, align: 'right' },
      ],
      [
        ['Pitch of the roof', `${section.pitchDeg}°`],
        ['Length of the sloping ceiling', `${section.slopeLengthMm} mm`],
        ['Height of the room', `${section.roomHeightMm} mm`],
        ['Thickness of the lining, as drawn today', `${section.liningThicknessMm} mm`],
        ['Insulation on the loft floor', `${section.loftInsulationMm} mm`],
        ['Ventilation gap at the eaves', `${section.eavesGapMm} mm`],
      ],
    ),
    table(
      'Places',
      [
        { title: 'No.', share: 1 },
        { title: 'Place', share: 4 },
        { title: 'Kind', share: 3 },
        { title: 'Faces the air of', share: 4 },
      ],
      places.map(({ name, kind, facesPlaceId }, k) => [
        String(k + 1),
        name,
        kindWords[kind],
        places.find(({ id }) => id === facesPlaceId)?.name ?? '',
      ]),
    ),
    ...(phases.length === 0
      ? [paragraph('No phases of the story were recorded.')]
      : [
          table(
            'Phases of the story',
            [
              { title: 'Phase', share: 3 },
              { title: 'Kind', share: 2 },
              { title: 'From', share: 2 },
              { title: 'To', share: 2 },
            ],
            phases.map((phase) => [
              phase.name,
              phase.kind.replace('-', ' '),
              say.date(phase.from),
              phase.to === null ? `still running on ${say.date(to - 1)}` : say.date(phase.to),
            ]),
          ),
        ]),
  ];
}

function sensorsAndCalibrations(facts: ReportFacts, say: Say): Block[] {
  const { sensors, placements, places, series, calibrations, results } = facts;
  const placeName = (id: number): string => places.find((place) => place.id === id)?.name ?? '';
  const inUse = calibrations.filter(({ withdrawnAt }) => withdrawnAt === null);
  const uncertainties = results.surfaces[0]?.assessment.uncertainties ?? [];
  return [
    heading(2, 'Sensors and calibrations'),
    table(
      'Sensors, where they stood and since when',
      [
        { title: 'Sensor', share: 3 },
        { title: 'Type', share: 2 },
        { title: 'Stood at', share: 5 },
      ],
      sensors.map((sensor) => [
        sensor.name,
        sensor.model ?? 'not said',
        placements
          .filter(({ sensorId }) => sensorId === sensor.id)
          .map(
            ({ placeId, from, to }) =>
              `${placeName(placeId)} ${say.date(from)} to ${to === null ? 'now' : say.date(to)}`,
          )
          .join('; '),
      ]),
    ),
    ...(inUse.length === 0
      ? [paragraph('No sensor was calibrated: uncertainties are those of typical data sheets.')]
      : [
          table(
            'Calibrations in use; raw readings keep their values',
            [
              { title: 'Sensor', share: 3 },
              { title: 'Quantity', share: 2 },
              { title: 'Made', share: 2 },
              { title: 'How', share: 2 },
              { title: 'Found', share: 4 },
              { title: 'Uncertainty, k = 1', share: 2, align: 'right' },
            ],
            inUse.map((calibration) => {
              const of = series.find(({ id }) => id === calibration.seriesId);
              const unit = of === undefined ? '' : quantities[of.quantity].unit;
              return [
                sensors.find(({ id }) => id === of?.sensorId)?.name ?? '',
                of?.quantity ?? '',
                say.date(calibration.madeAt),
                calibration.method.replaceAll('-', ' '),
                calibrationWords(calibration, unit),
                `${Math.round(calibration.uncertainty * 100) / 100} ${unit}`,
              ];
            }),
          ),
        ]),
    ...(uncertainties.length === 0
      ? []
      : [
          table(
            'Uncertainty assumed of each place, standard uncertainties (k = 1)',
            [
              { title: 'Place', share: 4 },
              { title: 'Temperature', share: 2, align: 'right' },
              { title: 'Humidity', share: 2, align: 'right' },
              { title: 'From', share: 5 },
            ],
            uncertainties.map(({ place, sensor }) => [
              place,
              `${sensor.temperatureOffsetK.toFixed(2)} K`,
              `${sensor.humidityOffsetPct.toFixed(1)} %`,
              sensor.source,
            ]),
          ),
        ]),
  ];
}

const spanOf = ({ from, to }: ReportFacts, say: Say): { from: number; to: number } => ({
  from: say.day(from),
  to: say.day(to - 1),
});

function completeness(facts: ReportFacts, say: Say): Block[] {
  const { places, days, results } = facts;
  if (places.length === 0) return [];
  const rows = places.map(({ id, name }) => ({ name, days: days.get(id) ?? [] }));
  const span = spanOf(facts, say);
  const alt = results.places
    .map(({ place, knownHours, hours }) => `${place.name}: ${knownHours} of ${hours} hours known`)
    .join('. ');
  return [
    heading(2, 'How complete the readings are'),
    {
      kind: 'drawing',
      scene: completenessChart(alt, rows, span.from, span.to),
      caption: 'A tall bar: at least nine tenths of the hours of a day are known. A low bar: fewer. Nothing: none.',
    },
    table(
      'Hours known',
      [
        { title: 'Place', share: 4 },
        { title: 'Known', share: 2, align: 'right' },
        { title: 'Looked at', share: 2, align: 'right' },
        { title: 'Share', share: 1, align: 'right' },
      ],
      results.places.map(({ place, knownHours, hours }) => [
        place.name,
        `${knownHours} h`,
        `${hours} h`,
        hours === 0 ? '' : `${((100 * knownHours) / hours).toFixed(0)} %`,
      ]),
    ),
  ];
}

const daysOf = (
  facts: ReportFacts,
  place: Place,
  what: 'temperature' | 'humidity' | 'surfaceHumidity' | 'margin' | 'vapourPressure',
): DaySeries['days'] => (facts.days.get(place.id) ?? []).map((day) => ({ day: day.day, value: day[what] }));

const hasAny = (days: DaySeries['days']): boolean => days.some(({ value }) => value !== null);

/** The parts of a day chart that all of a report share: its span, phases and numbered diary entries. */
const frame = (facts: ReportFacts, say: Say): Pick<DayChart, 'from' | 'to' | 'phases' | 'marks'> => ({
  ...spanOf(facts, say),
  phases: facts.phases.map(({ from, to, name }) => ({
    from: say.day(from),
    to: to === null ? say.day(facts.to - 1) + 1 : say.day(to),
    name,
  })),
  marks: facts.diary.map(({ time }, k) => ({ day: say.day(time), text: String(k + 1) })),
});

/** `the lowest -3.1, the mean 4.2, the highest 17.0 °C`, for those who cannot see the chart. */
function inWords(days: DaySeries['days'], unit: string): string {
  const known = days.flatMap(({ value }): Spread[] =>
    value === null ? [] : typeof value === 'number' ? [{ low: value, mean: value, high: value }] : [value],
  );
  if (known.length === 0) return 'nothing is known';
  const low = Math.min(...known.map((one) => one.low));
  const high = Math.max(...known.map((one) => one.high));
  const mean = known.reduce((sum, one) => sum + one.mean, 0) / known.length;
  return `from ${low.toFixed(1)} to ${high.toFixed(1)} ${unit}, ${mean.toFixed(1)} ${unit} in the mean of the days`;
}

function conditions(facts: ReportFacts, say: Say): Block[] {
  const rooms = facts.places.filter(({ kind }) => kind === 'room-air');
  const outdoors = facts.places.filter(({ kind }) => kind === 'outdoor-air');
  const air = [...outdoors, ...rooms].filter((place) => hasAny(daysOf(facts, place, 'temperature')));
  if (air.length === 0) return [];
  const chartOf = (what: 'temperature' | 'vapourPressure', unit: string, title: string): Block[] => {
    const series = air.map(
      (place): DaySeries => ({
        name: place.name,
        ink: place.kind === 'outdoor-air' ? 'air' : 'ink',
        ...(place.kind === 'outdoor-air' ? { dash: [4, 2] } : {}),
        days: daysOf(facts, place, what),
      }),
    );
    if (!series.some(({ days }) => hasAny(days))) return [];
    const alt = series.map(({ name, days }) => `${name}: ${inWords(days, unit)}`).join('. ');
    return [
      {
        kind: 'drawing',
        scene: dayChart({ ...frame(facts, say), alt: `${title}. ${alt}`, unit, series }),
        caption: `${title}, daily means. Numbers at the foot are entries of the diary.`,
      },
    ];
  };
  const conditionRows = facts.results.surfaces.slice(0, 1).flatMap(({ surface }) =>
    (
      [
        ['Outdoors', 'outdoor-mean'],
        ['Room', 'room-mean'],
        ['Room humidity', 'room-humidity'],
        ['Vapour excess of the room', 'vapour-excess'],
        ['Humidity class (ISO 13788, Annex A)', 'humidity-class'],
        ['Valid hours', 'valid-hours'],
      ] as const
    ).map(([name, key]) => [
      name,
      say.figure(`surface-${surface.id}.before.${key}`, key === 'humidity-class' ? 0 : undefined),
      say.figure(`surface-${surface.id}.after.${key}`, key === 'humidity-class' ? 0 : undefined),
    ]),
  );
  return [
    heading(2, 'Conditions outdoors and in the room'),
    ...chartOf('temperature', '°C', 'Temperature of the air'),
    ...chartOf('vapourPressure', 'Pa', 'Water vapour in the air'),
    ...(conditionRows.length === 0
      ? []
      : [
          table(
            'Means before and after the works, over hours in which surface, room and cold side are known',
            [
              { title: 'Condition', share: 4 },
              { title: 'Before', share: 2, align: 'right' },
              { title: 'After', share: 2, align: 'right' },
            ],
            conditionRows,
          ),
        ]),
  ];
}

function surfaces(facts: ReportFacts, say: Say): Block[] {
  const watched = facts.places.filter(({ kind }) =>
    ['ceiling-surface', 'control-surface', 'behind-lining'].includes(kind),
  );
  const blocks = watched.flatMap((place): Block[] => {
    const margin = daysOf(facts, place, 'margin');
    const humidity = daysOf(facts, place, 'surfaceHumidity');
    if (!hasAny(margin) && !hasAny(humidity)) return [];
    return [
      heading(3, place.name),
      {
        kind: 'drawing',
        scene: dayChart({
          ...frame(facts, say),
          alt: `Dew-point margin at ${place.name}: ${inWords(margin, 'K')}.`,
          unit: 'K',
          series: [{ name: 'dew-point margin', ink: 'ink', band: 'tint', days: margin }],
          limits: [{ value: 0, text: 'wet at or below 0' }],
        }),
        caption: `Dew-point margin at ${place.name}.`,
      },
      {
        kind: 'drawing',
        scene: dayChart({
          ...frame(facts, say),
          alt: `Surface humidity at ${place.name}: ${inWords(humidity, '%')}.`,
          unit: '%',
          series: [{ name: 'surface humidity', ink: 'ink', band: 'tint', days: humidity }],
          limits: [{ value: RISK_HUMIDITY, text: `risk from ${RISK_HUMIDITY} %` }],
        }),
        caption: `Surface humidity at ${place.name}.`,
      },
    ];
  });
  return blocks.length === 0 ? [] : [heading(2, 'At the surfaces'), ...blocks];
}

const compared = ['before', 'after', 'expected', 'avoided'] as const;

function factors(facts: ReportFacts, say: Say): Block[] {
  const { kind, results } = facts;
  if (kind === 'season' || results.surfaces.length === 0) return [];
  return [
    heading(2, 'The temperature factor and the comparison'),
    ...results.surfaces.flatMap((one): Block[] => comparisonOf(one, say)),
  ];
}

function comparisonOf({ surface, assessment }: SurfaceResults, say: Say): Block[] {
  const { target, coldSide, before, after, control, sufficiency } = assessment;
  const id = `surface-${surface.id}`;
  const referred = coldSide === 'outdoor-air' ? '' : ', referred to the loft';
  const rows: IntervalRow[] = [
    { name: 'f before the works', estimate: before?.f ?? null, words: say.figure(`${id}.before.f`) },
    { name: 'f after the works', estimate: after?.f ?? null, words: say.figure(`${id}.after.f`) },
    ...(control.kind === 'missing' || control.kind === 'too-thin'
      ? []
      : [
          { name: 'control before', estimate: control.controlBefore, words: control.controlBefore.value.toFixed(2) },
          { name: 'control after', estimate: control.controlAfter, words: control.controlAfter.value.toFixed(2) },
        ]),
  ];
  const row = (name: string, key: string): string[] => [
    name,
    ...compared.map((part) => say.figure(`${id}.${key}.${part}`, key === 'mould-index' ? 1 : 0)),
  ];
  return [
    heading(3, surface.name),
    paragraph(assessment.verdict.statement),
    {
      kind: 'drawing',
      scene: intervalChart(
        `Temperature factor of ${surface.name}${referred}: ${rows.map(({ name, words: figure }) => `${name} ${figure}`).join(', ')}.`,
        rows,
        coldSide === 'outdoor-air' ? { value: target.f, text: `target ${target.f}` } : null,
      ),
      caption: `Temperature factor f${referred} with 95 % intervals.${coldSide === 'outdoor-air' ? ` Target: ${target.source}.` : ''}`,
    },
    table(
      'Measured, expected had nothing been done, and avoided; 95 % intervals in brackets',
      [
        { title: 'Count', share: 3 },
        { title: 'Before', share: 3, align: 'right' },
        { title: 'After', share: 3, align: 'right' },
        { title: 'Expected after', share: 3, align: 'right' },
        { title: 'Avoided', share: 3, align: 'right' },
      ],
      [
        row('Risk hours', 'risk-hours'),
        row('Condensation nights', 'condensation-nights'),
        row('Highest mould index', 'mould-index'),
      ],
    ),
    ...(control.kind === 'missing' || control.kind === 'too-thin' ? [] : [paragraph(control.statement)]),
    ...(sufficiency.findings.length === 0
      ? []
      : [
          table(
            'What blocks or weakens the comparison, and what is worth knowing',
            [
              { title: 'Finding', share: 6 },
              { title: 'Weight', share: 1 },
              { title: 'What would mend it', share: 4 },
            ],
            sufficiency.findings.map(({ message, severity, mend, by }) => [
              message,
              severity,
              [mend ?? '', by === null ? '' : `By about ${say.date(by)}.`].filter((part) => part !== '').join(' '),
            ]),
          ),
        ]),
  ];
}

function winters({ results }: ReportFacts, say: Say): Block[] {
  const blocks = results.places.flatMap(({ place, winters: tallies, mould }): Block[] => {
    const known = tallies.filter(({ validHours }) => validHours > 0);
    if (known.length === 0) return [];
    const id = `place-${place.id}`;
    return [
      heading(3, `${place.name} by winter`),
      {
        kind: 'drawing',
        scene: winterChart(
          `Risk hours at ${place.name} added up since 1 October: ${known.map(({ name, riskHours }) => `${riskHours} in winter ${name}`).join(', ')}.`,
          known,
        ),
        caption: `Risk hours at ${place.name}, added up since 1 October of each winter.`,
      },
      table(
        `${place.name}: counts by winter`,
        [
          { title: 'Winter', share: 2 },
          { title: 'Valid hours', share: 2, align: 'right' },
          { title: 'Risk hours', share: 2, align: 'right' },
          { title: 'Condensation hours', share: 2, align: 'right' },
          { title: 'Condensation nights', share: 2, align: 'right' },
        ],
        known.map(({ name, validHours }) => [
          name,
          `${validHours} h`,
          say.figure(`${id}.winter-${name}.risk-hours`),
          say.figure(`${id}.winter-${name}.condensation-hours`),
          say.figure(`${id}.winter-${name}.condensation-nights`),
        ]),
      ),
      ...(mould === null
        ? []
        : [
            paragraph(
              `Highest mould index of all hours: ${say.figure(`${id}.mould-index`, 1)}, ${say.value(`${id}.mould-index`)?.words ?? ''}.`,
            ),
          ]),
    ];
  });
  return blocks.length === 0 ? [] : [heading(2, 'Risk hours, condensation and mould index by winter'), ...blocks];
}

function causes({ kind, results }: ReportFacts, say: Say): Block[] {
  if (kind === 'season') return [];
  const blocks = results.surfaces.flatMap(({ surface, assessment }): Block[] => {
    const found = assessment.causes;
    if (found === null) return [];
    const row = (name: string, key: 'fabric' | 'moisture' | 'heating' | 'remaining'): IntervalRow => ({
      name,
      estimate: found[key],
      words: say.figure(`surface-${surface.id}.causes.${key}`),
    });
    const rows = [
      row('cold fabric', 'fabric'),
      row('moisture in the air', 'moisture'),
      row('little heating', 'heating'),
      row('none of these', 'remaining'),
    ];
    return [
      heading(3, surface.name),
      paragraph(found.statement),
      {
        kind: 'drawing',
        scene: intervalChart(
          `Shares of the risk hours before the works: ${rows.map(({ name, words: figure }) => `${name} ${figure}`).join(', ')}.`,
          rows,
          null,
        ),
        caption: `Shares of the ${found.riskHours} risk hours before the works that would go if the factor were ${found.targetF}, the air at the limit of humidity class ${found.humidityClassLimit}, the room at ${found.heatedToC} °C (Shapley values, 95 % intervals). It indicates, it does not blame.`,
      },
    ];
  });
  return blocks.length === 0 ? [] : [heading(2, 'Causes'), ...blocks];
}

function elsewhere({ kind, results }: ReportFacts, say: Say): Block[] {
  if (kind !== 'works') return [];
  const blocks = results.surfaces.flatMap(({ surface, assessment }): Block[] =>
    assessment.movedTrouble.flatMap((moved, k): Block[] => [
      heading(3, `${moved.place}`),
      paragraph(moved.statement),
      ...(moved.figures.length === 0
        ? []
        : [
            table(
              `${moved.place} before and after`,
              [
                { title: 'Figure', share: 4 },
                { title: 'Before', share: 3, align: 'right' },
                { title: 'After', share: 3, align: 'right' },
                { title: 'Limit', share: 2, align: 'right' },
              ],
              moved.figures.map((one, n) => [
                one.name,
                say.figure(`surface-${surface.id}.elsewhere-${k + 1}.${n + 1}.before`),
                say.figure(`surface-${surface.id}.elsewhere-${k + 1}.${n + 1}.after`),
                one.limit === null ? '' : `${one.limit} ${one.unit}`,
              ]),
            ),
          ]),
    ]),
  );
  return blocks.length === 0 ? [] : [heading(2, 'Did trouble move elsewhere?'), ...blocks];
}

function loft(facts: ReportFacts, say: Say): Block[] {
  const lofts = facts.results.places.filter(({ place }) => place.kind === 'loft-air');
  const blocks = lofts.flatMap(({ place, timber }): Block[] => {
    const days = daysOf(facts, place, 'humidity');
    if (!hasAny(days)) return [];
    return [
      {
        kind: 'drawing',
        scene: dayChart({
          ...frame(facts, say),
          alt: `Humidity of ${place.name}: ${inWords(days, '%')}.`,
          unit: '%',
          series: [{ name: place.name, ink: 'ink', band: 'tint', days }],
        }),
        caption: `Relative humidity of ${place.name}.`,
      },
      ...(timber === null
        ? []
        : [
            paragraph(
              `Timber in this air would reach ${say.figure(`place-${place.id}.timber-highest`)} at most, and lie over 20 % for ${say.figure(`place-${place.id}.timber-hours-over`)}.`,
            ),
          ]),
    ];
  });
  return blocks.length === 0 ? [] : [heading(2, 'The loft'), ...blocks];
}

function photos({ photos: all, days, places }: ReportFacts, say: Say): Block[] {
  if (all.length === 0) return [];
  const surfacesWatched = places.filter(({ kind }) => kind === 'ceiling-surface');
  return [
    heading(2, 'Photos beside the readings of their day'),
    ...all.map(({ jpeg, alt, takenAt }): Block => {
      const day = say.day(takenAt);
      const beside = surfacesWatched.flatMap(({ id, name }) => {
        const found = days.get(id)?.find((one) => one.day === day);
        return found?.surfaceHumidity
          ? [
              `${name}: surface humidity ${found.surfaceHumidity.mean.toFixed(0)} % in the mean, ${found.riskHours} risk hours`,
            ]
          : [];
      });
      const told = beside.length === 0 ? 'No readings of that day.' : `${beside.join('; ')}.`;
      return { kind: 'photo', jpeg, alt, caption: `${say.moment(takenAt)}. ${alt}. ${told}` };
    }),
  ];
}

function diary({ diary: entries }: ReportFacts, say: Say): Block[] {
  if (entries.length === 0) return [];
  return [
    heading(2, 'Diary'),
    table(
      'What the household wrote down, numbered as in the charts',
      [
        { title: 'No.', share: 1 },
        { title: 'When', share: 3 },
        { title: 'Kind', share: 2 },
        { title: 'Words', share: 9 },
      ],
      entries.map(({ time, kind, text }, k) => [String(k + 1), say.moment(time), kind.replaceAll('-', ' '), text]),
    ),
  ];
}

function limitsOfMethod(): Block[] {
  return [heading(2, 'Limits of the method'), list(limits, '')];
}

function cautionsToKeep(): Block[] {
  return [
    heading(2, 'Cautions'),
    list(
      cautions.map(({ message }) => message),
      '',
    ),
  ];
}

function provenanceOfReadings({ covering, fingerprint, version }: ReportFacts): Block[] {
  return [
    heading(2, 'Where the readings come from, and how to check'),
    ...covering
      .split(/\n{2,}/)
      .map((part) => part.trim())
      .filter((part) => part !== '')
      .map((part) => (/^[A-Z][A-Z ,]+$/.test(part) ? heading(3, sentence(part.toLowerCase())) : paragraph(part))),
    table(
      'Marks of this pack',
      [
        { title: 'Mark', share: 2 },
        { title: 'Value', share: 6 },
      ],
      [
        ['Fingerprint of the key that signed the pack', fingerprint],
        ['Program', `coomb ${version}`],
      ],
    ),
    paragraph('README.txt in the pack says how to check it with common tools, step by step.'),
    paragraph(privacy),
  ];
}

const inputWords = ({ inputs }: Figure): string =>
  inputs.map(({ name, value, unit }) => `${name} ${inputValue(value)}${unit === '' ? '' : ` ${unit}`}`).join('; ');
const inputValue = (value: string | number | null): string =>
  value === null ? 'not known' : typeof value === 'number' ? String(Number(value.toPrecision(5))) : value;

function everyFigure({ figures }: ReportFacts): Block[] {
  return [
    heading(2, 'Every figure and how it was worked out'),
    paragraph(
      'Figures that are not known, and findings in words, are left out here. figures.csv in the pack holds all of them in full precision; method.txt holds every equation.',
      'small',
    ),
    table(
      'Figures',
      [
        { title: 'Figure', share: 4 },
        { title: 'Value', share: 3, align: 'right' },
        { title: 'Formula and inputs', share: 6 },
        { title: 'Source', share: 3 },
      ],
      figures
        .filter(({ value }) => value !== null)
        .map((figure) => [
          figure.label,
          figureWords(figure),
          [figure.formula, inputWords(figure)].filter((part) => part !== '').join('. Inputs: '),
          figure.source,
        ]),
    ),
  ];
}

function words(): Block[] {
  return [
    heading(2, 'Glossary'),
    table(
      'Words used in this report',
      [
        { title: 'Word', share: 2 },
        { title: 'Meaning', share: 7 },
      ],
      glossary,
    ),
  ];
}
