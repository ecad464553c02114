import type { Assessment, Finding, FindingCode, Working, WorkingInput } from '../assessment.ts';

/** The rule behind each finding, one plain line; the figures it was applied to are the finding's data. */
const rules: Readonly<Record<FindingCode, string>> = {
  'before-missing': 'a phase of the kind before must exist',
  'after-missing': 'a phase of the kind after must exist',
  'phase-reversed': 'a phase must end after it begins',
  'phase-empty': 'a phase must be at least an hour long',
  'phase-in-future': 'a phase must have begun by the last known hour',
  'phases-overlap': 'the two phases must have no hour in common',
  'after-precedes-before': 'the after phase must begin after the before phase ends',
  'setting-out-of-range': 'a setting must lie between its lowest and highest value',
  'zone-unknown': 'the time zone must be one of the IANA list',
  'zone-doubtful': 'the mean day outdoors must be warmest between 9:00 and 20:00',
  'surface-missing': 'the surface must have a temperature in both phases',
  'room-missing': 'the room must have a temperature in both phases',
  'outdoor-missing': 'outdoor air must have a temperature in both phases',
  'humidity-missing': 'humidity of the room, and outdoors, must be known for what rests on it',
  'cold-side-is-loft': 'a published target holds only against outdoor air',
  'too-few-days': 'nights with surface, room and cold side known, against the nights needed; twice as many are wanted',
  'low-coverage': '100 × hours known / hours of the phase; under 80 % weakens the evidence',
  'small-temperature-difference': 'mean room - cold difference in the nights used, against what gives a sharp figure',
  'not-converged':
    'f with and without the last day, and of the first and the last two thirds of the days, must not differ by more than is allowed (ISO 9869-1:2014, 7.1)',
  'interval-too-wide': 'half the 95 % interval of f, against the widest that allows a verdict',
  'estimators-disagree': 'f as a ratio and f as a slope must agree within chance and sensor offsets, and 0.05',
  'conditions-differ': 'half of the hours after must have a room - cold difference that also occurred before',
  'sensor-moved': 'placements that begin or end within the phase, or a lasting step in the f of the nights',
  'sensor-recalibrated': 'calibrations that begin to apply within the phase',
  'works-inside-phase': 'hours of the phase that fall into the works',
  'drying-out-inside-phase': 'hours of the phase that fall into the drying out',
  'control-missing': 'a place of the kind control surface should be watched',
  'control-too-thin': 'the control surface needs as many nights as the treated one',
  'control-disagrees':
    'change of the treated surface less change of the control surface, against the change shown alone',
  'model-fits-poorly':
    'errors of the fitted model by the hour, as a share of the drop room - surface, against ASHRAE Guideline 14-2014',
  'model-extrapolates': 'share of the hours after whose room - cold difference lies over 5 K outside what was fitted',
  'surface-warmer-than-room': 'mean surface - room difference at night, which may not pass 0.5 K',
  'surface-outside-room-and-cold-side': 'the interval of f must touch the span from 0 to 1',
  'constant-series': 'a living place does not read the same in every hour',
  'same-sensor-twice': 'two places may not share a sensor, nor 95 % of their readings',
  'nothing-to-explain': 'there must be risk hours before to share out',
  'uncertainty-assumed':
    'a sensor without a calibration or a known type is taken to be as good as a cheap data sheet says',
  'loft-not-watched': 'a loft sensor should be there to see whether trouble moved',
  'behind-lining-not-watched': 'a sensor behind the lining should be there to see whether trouble moved',
};

const units: readonly (readonly [suffix: string, unit: string])[] = [
  ['Pct', '%'],
  ['Hours', 'h'],
  ['Days', 'd'],
  ['Pa', 'Pa'],
  ['K', 'K'],
  ['C', '°C'],
];

/** `meanDifferenceK` becomes "mean difference" in K. */
function inputOf([key, value]: [string, number | string | null]): WorkingInput {
  const [suffix, unit] = units.find(([end]) => key.endsWith(end)) ?? ['', ''];
  const name = suffix === 'Hours' || suffix === 'Days' ? key : key.slice(0, key.length - suffix.length);
  return { name: name.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase(), value, unit };
}

/** What each finding was judged by. A finding without figures says what was looked for. */
export const findingWorkings = ({ sufficiency }: Omit<Assessment, 'working'>): readonly Working[] =>
  sufficiency.findings.map((finding, i) => ({
    figure: `sufficiency.findings.${i}`,
    formula: rules[finding.code],
    inputs: inputsOf(finding),
    uncertainty:
      finding.by === null
        ? 'A rule applied to counted or measured figures; it has no interval of its own.'
        : 'A rule applied to counted figures. The day it names is reached if data go on coming as they do now.',
    source: 'rules of this program; the limits are listed with every result and can be changed',
  }));

function inputsOf({ data, phase, place }: Finding): WorkingInput[] {
  const figures = Object.entries(data).map(inputOf);
  if (figures.length > 0) return figures;
  return [
    { name: 'phase', value: phase ?? 'both', unit: '' },
    { name: 'place', value: place ?? 'not one alone', unit: '' },
  ];
}
