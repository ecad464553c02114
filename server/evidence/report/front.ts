import { type Block, heading, list, paragraph } from './blocks.ts';
import type { ReportFacts, Say } from './facts.ts';
import { asked, cautions, neverShown, titles } from './texts.ts';

/** So that page one stays one page; what is left out stands in the chapters. */
const MOST_REASONS = 5;
const MOST_DOUBTS = 4;

const shortened = (lines: readonly string[], most: number): readonly string[] =>
  lines.length <= most
    ? lines
    : [...lines.slice(0, most - 1), `${lines.length - most + 1} more in the chapters that follow.`];

/** Page one, in plain words: what was asked, what was found, how sure that is, what was not shown. */
export function front(facts: ReportFacts, say: Say): Block[] {
  const { kind, dwelling, from, to } = facts;
  return [
    heading(1, titles[kind]),
    paragraph(`${dwelling.name}. Readings from ${say.date(from)} to ${say.date(to - 1)}.`, 'lead'),
    heading(2, 'What was asked', 'minor'),
    paragraph(asked[kind]),
    heading(2, 'What was found', 'minor'),
    ...found(facts, say),
    heading(2, 'How sure that is', 'minor'),
    list(shortened(howSure(facts, say), MOST_DOUBTS), 'Nothing was found that weakens it.'),
    heading(2, 'What was not shown', 'minor'),
    list(neverShown[kind], ''),
    { kind: 'notice', title: 'Please note:', text: cautions[0]!.message },
  ];
}

function found(facts: ReportFacts, say: Say): Block[] {
  const { kind, results } = facts;
  if (kind === 'season') return seasonFound(facts, say);
  if (results.surfaces.length === 0) {
    return [
      paragraph(
        'Not enough evidence: no ceiling surface could be compared. A comparison needs a sensor on the ceiling, one in the room it faces, one outdoors or in the loft, and a phase before or after the works.',
      ),
    ];
  }
  return results.surfaces.flatMap(({ surface, assessment }): Block[] => {
    const several = results.surfaces.length > 1 ? [paragraph(`${surface.name}:`)] : [];
    if (kind === 'works') {
      const { verdict } = assessment;
      if (!assessment.sufficiency.enough) return [...several, paragraph(verdict.statement)];
      return [
        ...several,
        paragraph(verdict.statement, 'lead'),
        list(shortened(verdict.reasons, MOST_REASONS), 'No reasons were given.'),
      ];
    }
    const { causes, before, target, conditions, sufficiency } = assessment;
    if (causes === null) {
      const others = results.surfaces.some((one) => one.assessment.causes !== null);
      const why = sufficiency.findings.filter(({ phase }) => phase !== 'after').map(({ message }) => message);
      if (others) return [...several, paragraph(`Not enough evidence to share out causes. ${why[0] ?? ''}`)];
      return [
        ...several,
        paragraph('Not enough evidence to share out causes.', 'lead'),
        list(why, 'There were no risk hours to explain.'),
      ];
    }
    const id = `surface-${surface.id}`;
    const f = before?.f ?? null;
    return [
      ...several,
      paragraph(causes.statement, 'lead'),
      list(
        [
          ...(f === null
            ? []
            : [
                `The temperature factor of the surface was ${say.figure(`${id}.before.f`)}${
                  assessment.coldSide === 'outdoor-air'
                    ? `; ${target.f} is the target (${target.source}).`
                    : ', referred to the loft; no published limit applies to that.'
                }`,
              ]),
          ...(conditions.before === null
            ? []
            : [
                `The room was at ${say.figure(`${id}.before.room-mean`)} and ${say.figure(`${id}.before.room-humidity`)} in the mean; its air held ${say.figure(`${id}.before.vapour-excess`)} more vapour than outdoors.`,
              ]),
          `Risk hours before any works: ${say.figure(`${id}.risk-hours.before`)}.`,
        ],
        '',
      ),
    ];
  });
}

function seasonFound({ results }: ReportFacts, say: Say): Block[] {
  const lines = results.places.flatMap(({ place, winters, mould, timber }) => {
    const id = `place-${place.id}`;
    const last = winters.at(-1);
    return [
      ...(last === undefined || last.validHours === 0
        ? []
        : [
            `${place.name}, winter ${last.name}: ${say.figure(`${id}.winter-${last.name}.risk-hours`)} at risk, ${say.figure(`${id}.winter-${last.name}.condensation-nights`)} with condensation.`,
          ]),
      ...(mould === null
        ? []
        : [
            `${place.name}: mould index at most ${say.figure(`${id}.mould-index`)}, ${say.value(`${id}.mould-index`)?.words ?? ''}.`,
          ]),
      ...(timber === null
        ? []
        : [`${place.name}: its air would bring timber to ${say.figure(`${id}.timber-highest`)} at most.`]),
    ];
  });
  return [list(lines, 'Not enough evidence: no place has hours that count in this span.')];
}

/** What blocks or weakens the findings, with what would mend it. */
function howSure({ kind, results, places }: ReportFacts, say: Say): string[] {
  const comparable = results.surfaces.filter(({ assessment }) => assessment.sufficiency.enough);
  const told = comparable.length > 0 ? comparable : results.surfaces;
  const ofSurfaces = told.flatMap(({ surface, assessment }) => {
    const id = `surface-${surface.id}`;
    const { enough, findings } = assessment.sufficiency;
    const concerned = findings.filter(
      ({ severity, phase }) => severity === (enough ? 'weakens' : 'blocks') && (kind !== 'cause' || phase !== 'after'),
    );
    const change = say.value(`${id}.change`);
    return [
      ...(kind === 'works' && change !== null
        ? [`${surface.name}: f changed by ${say.figure(`${id}.change`)}; in brackets the 95 % interval.`]
        : []),
      ...concerned.map(({ message, mend }) => (mend === null ? message : `${message} ${mend}`)),
    ];
  });
  const known = results.places
    .filter(({ hours }) => hours > 0)
    .map(({ place, knownHours, hours }) => ({ name: place.name, share: (100 * knownHours) / hours }));
  const thin = known.filter(({ share }) => share < 90);
  const missing = [
    ...(places.some((place) => place.kind === 'outdoor-air') ? [] : ['Outdoor air was not measured.']),
    ...(kind === 'works' && !places.some((place) => place.kind === 'control-surface')
      ? ['No like surface that was left untreated was watched beside it.']
      : []),
  ];
  return [
    ...new Set([
      ...ofSurfaces,
      ...missing,
      ...thin.map(({ name, share }) => `${name}: known in ${share.toFixed(0)} % of the hours.`),
      ...(thin.length === 0 && known.length > 0
        ? [
            `Every place is known in at least ${Math.floor(Math.min(...known.map(({ share }) => share)))} % of the hours.`,
          ]
        : []),
    ]),
  ];
}
