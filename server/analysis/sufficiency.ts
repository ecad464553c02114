import type { AssessmentSettings, Conditions, Finding, FindingCode, FindingSeverity, Span } from './assessment.ts';
import type { AssessedPlace, AssessmentInput } from './assessment-input.ts';
import { columnOver, type PhaseHours } from './phase-hours.ts';
import type { FactorResult } from './temperature-factor.ts';
import { HOUR_MS } from './vocabulary.ts';

export type PhaseName = 'before' | 'after';

const DAY_MS = 24 * HOUR_MS;

/** Known hours from which a series that never changes, or equals another, is called so. */
const FEWEST_HOURS_TO_COMPARE = 24;
/** A step in the nightly f that makes a moved or loosened sensor likely: its size, and in standard errors. */
const STEP_OF_F = 0.12;
const STEP_IN_ERRORS = 7;
const FEWEST_NIGHTS_EACH_SIDE = 3;

interface FindingParts {
  readonly phase?: PhaseName | null;
  readonly place?: string | null;
  readonly data?: Finding['data'];
  readonly mend?: string | null;
  readonly by?: number | null;
}

export function finding(
  code: FindingCode,
  severity: FindingSeverity,
  message: string,
  { phase = null, place = null, data = {}, mend = null, by = null }: FindingParts = {},
): Finding {
  return { code, severity, phase, place, message, data, mend, by };
}

/** The latest hour's end for which any place has a temperature, or null. */
export function lastKnown(places: readonly (AssessedPlace | null)[]): number | null {
  let last = Number.NEGATIVE_INFINITY;
  for (const place of places) {
    if (place === null) continue;
    const { start, temperature } = place.hours;
    let i = temperature.length - 1;
    while (i >= 0 && Number.isNaN(temperature[i]!)) i -= 1;
    if (i >= 0) last = Math.max(last, start + (i + 1) * HOUR_MS);
  }
  return Number.isFinite(last) ? last : null;
}

export interface CheckedPhases {
  /** null where it cannot be used; ends no later than now */
  readonly before: Span | null;
  readonly after: Span | null;
  readonly findings: readonly Finding[];
}

/** Checks that the phases exist, run forwards, have begun and do not overlap. */
export function checkPhases(input: AssessmentInput, now: number | null): CheckedPhases {
  const findings: Finding[] = [];
  const before = checkPhase('before', input.before, now, findings);
  const after = checkPhase('after', input.after, now, findings);
  if (before && after && after.from < before.to && before.from < after.to) {
    const hours = Math.round((Math.min(before.to, after.to) - Math.max(before.from, after.from)) / HOUR_MS);
    findings.push(
      finding('phases-overlap', 'blocks', `Before and after overlap by ${hours} h, so neither can be judged.`, {
        data: { overlapHours: hours },
        mend: 'Let the before phase end when the works begin, and the after phase begin when they are done.',
      }),
    );
    return { before: null, after: null, findings };
  }
  if (before && after && after.to <= before.from) {
    findings.push(
      finding('after-precedes-before', 'blocks', 'The after phase lies earlier than the before phase.', {
        mend: 'Exchange the two phases.',
      }),
    );
    return { before: null, after: null, findings };
  }
  return { before, after, findings };
}

function checkPhase(phase: PhaseName, span: Span | null, now: number | null, findings: Finding[]): Span | null {
  if (span === null) {
    findings.push(
      phase === 'before'
        ? finding('before-missing', 'blocks', 'There is no before phase, so nothing shows what the works changed.', {
            phase,
            mend: 'Set the before phase to the time before the works; where nothing was logged then, no change can be shown.',
          })
        : finding('after-missing', 'blocks', 'There is no after phase yet.', {
            phase,
            mend: 'Set the after phase when the works are done and dry.',
          }),
    );
    return null;
  }
  if (!Number.isFinite(span.from) || !Number.isFinite(span.to) || span.from > span.to) {
    findings.push(
      finding('phase-reversed', 'blocks', `The ${phase} phase ends earlier than it begins.`, {
        phase,
        mend: 'Exchange its two ends.',
      }),
    );
    return null;
  }
  if (span.to - span.from < HOUR_MS) {
    findings.push(
      finding('phase-empty', 'blocks', `The ${phase} phase is shorter than an hour.`, {
        phase,
        mend: 'Give it a later end.',
      }),
    );
    return null;
  }
  if (now !== null && span.from >= now) {
    const days = Math.ceil((span.from - now) / DAY_MS);
    findings.push(
      finding(
        'phase-in-future',
        'blocks',
        `The ${phase} phase lies in the future: it begins ${days === 1 ? 'a day' : `${days} days`} after the last known hour.`,
        {
          phase,
          data: { daysAhead: days },
          mend: 'Wait until it has begun, or correct its dates.',
          by: span.from,
        },
      ),
    );
    return null;
  }
  return now !== null && span.to > now ? { from: span.from, to: now } : span;
}

/** Finds places whose series cannot be what they are said to be. */
export function checkSeries(places: readonly AssessedPlace[], span: Span | null, findings: Finding[]): void {
  if (span === null) return;
  const start = Math.floor(span.from / HOUR_MS) * HOUR_MS;
  const length = Math.max(0, Math.ceil((span.to - start) / HOUR_MS));
  const columns = places.map((place) => columnOver(place.hours, 'temperature', start, length));
  places.forEach((place, k) => {
    const known = columns[k]!.filter((value) => !Number.isNaN(value));
    if (known.length >= FEWEST_HOURS_TO_COMPARE && known.every((value) => value === known[0])) {
      findings.push(
        finding('constant-series', 'blocks', `${place.name} reads ${known[0]!.toFixed(1)} °C in every hour.`, {
          place: place.name,
          data: { temperatureC: known[0]!, hours: known.length },
          mend: 'Check the sensor and its import: a living place is never this steady.',
        }),
      );
    }
    for (let other = 0; other < k; other++) {
      if (!alike(columns[k]!, columns[other]!) && !standsAtBoth(place, places[other]!, span)) continue;
      findings.push(
        finding(
          'same-sensor-twice',
          'blocks',
          `${places[other]!.name} and ${place.name} have the same readings, so one sensor stands for two places.`,
          {
            place: place.name,
            data: { otherPlace: places[other]!.name },
            mend: 'Give each place its own sensor or its own file.',
          },
        ),
      );
    }
  });
}

function alike(one: Float64Array, other: Float64Array): boolean {
  let known = 0;
  let same = 0;
  for (let i = 0; i < one.length; i++) {
    if (Number.isNaN(one[i]! + other[i]!)) continue;
    known += 1;
    if (one[i] === other[i]) same += 1;
  }
  return known >= FEWEST_HOURS_TO_COMPARE && same >= 0.95 * known;
}

const standsAtBoth = (one: AssessedPlace, other: AssessedPlace, span: Span): boolean =>
  one.stays.some((stay) =>
    other.stays.some(
      (theirs) =>
        theirs.sensor === stay.sensor &&
        Math.max(stay.from, theirs.from, span.from) < Math.min(stay.to ?? span.to, theirs.to ?? span.to, span.to),
    ),
  );

/** Instants within a span at which a place's sensor was changed or put up anew. */
export const movesWithin = (place: AssessedPlace, span: Span): readonly number[] =>
  [...new Set(place.stays.flatMap((stay) => (stay.to === null ? [stay.from] : [stay.from, stay.to])))]
    .filter((time) => time > span.from && time < span.to)
    .sort((a, b) => a - b);

/** The longest stretch of a span in which nothing was moved. */
export function longestStretch(span: Span, moves: readonly number[]): Span {
  const ends = [span.from, ...moves, span.to];
  let best: Span = { from: span.from, to: ends[1]! };
  for (let k = 1; k + 1 < ends.length; k++) {
    if (ends[k + 1]! - ends[k]! > best.to - best.from) best = { from: ends[k]!, to: ends[k + 1]! };
  }
  return best;
}

/** Outdoor swing over the mean day from which its warmest hour can be told, K, and the hours it may not fall into. */
const TELLING_SWING = 1.5;
const WARMEST_NOT_BEFORE = 9;
const WARMEST_NOT_AFTER = 20;

/** Notices a time zone in which it is warmest outdoors at night: then the nights are not nights. */
export function judgeZone(phase: PhaseHours, zone: string, findings: Finding[]): void {
  const sum = new Float64Array(24);
  const count = new Float64Array(24);
  for (let i = phase.lead; i < phase.length; i++) {
    if (phase.valid[i] === 0) continue;
    sum[phase.hour[i]!]! += phase.cold[i]!;
    count[phase.hour[i]!]! += 1;
  }
  if (count.some((hours) => hours < FEWEST_NIGHTS_EACH_SIDE)) return;
  const mean = sum.map((total, hour) => total / count[hour]!);
  const warmest = mean.indexOf(Math.max(...mean));
  if (Math.max(...mean) - Math.min(...mean) < TELLING_SWING) return;
  if (warmest >= WARMEST_NOT_BEFORE && warmest <= WARMEST_NOT_AFTER) return;
  findings.push(
    finding(
      'zone-doubtful',
      'weakens',
      `In ${zone} it is warmest outdoors at ${warmest}:00, so its nights are not the dwelling's.`,
      {
        data: { zone, warmestHour: warmest },
        mend: 'Give the time zone of the dwelling.',
      },
    ),
  );
}

/** Judges one phase's evidence for f. */
export function judgePhase(
  phase: PhaseName,
  hours: PhaseHours,
  conditions: Conditions,
  factor: FactorResult | null,
  surface: string,
  settings: AssessmentSettings,
  now: number | null,
): Finding[] {
  const findings: Finding[] = [];
  const { coveragePct, validHours, spanHours } = conditions;
  const nights = factor?.working.nights ?? 0;
  if (nights < settings.fewestDays) {
    const missing = settings.fewestDays - nights;
    const end = hours.start + hours.length * HOUR_MS;
    const goesOn = phase === 'after' && now !== null && end >= now - DAY_MS;
    findings.push(
      finding(
        'too-few-days',
        'blocks',
        `The ${phase} phase has ${nights} nights with surface, room and cold side known; ${settings.fewestDays} are needed.`,
        {
          phase,
          data: { nights, nightsNeeded: settings.fewestDays },
          mend:
            phase === 'before'
              ? `Begin the before phase earlier, or log at least ${missing} more nights before the works.`
              : `Log ${missing} more nights.`,
          by: goesOn ? now + Math.ceil((missing * 100) / Math.max(10, coveragePct)) * DAY_MS : null,
        },
      ),
    );
  } else if (nights < 2 * settings.fewestDays) {
    findings.push(
      finding('too-few-days', 'weakens', `The ${phase} phase has only ${nights} nights with data.`, {
        phase,
        data: { nights, nightsWanted: 2 * settings.fewestDays },
        mend: `Log ${2 * settings.fewestDays - nights} more nights.`,
        by: phase === 'after' && now !== null ? now + (2 * settings.fewestDays - nights) * DAY_MS : null,
      }),
    );
  }
  if (spanHours > 0 && coveragePct < 80) {
    const blocks = coveragePct < settings.lowestCoveragePct && nights < 3 * settings.fewestDays;
    findings.push(
      finding(
        'low-coverage',
        blocks ? 'blocks' : 'weakens',
        `In the ${phase} phase surface, room and cold side are all known in ${Math.round(coveragePct)} % of the hours.`,
        {
          phase,
          data: { coveragePct, validHours, spanHours, lowestCoveragePct: settings.lowestCoveragePct },
          mend: 'Find out why readings are missing; shorten the phase to the time that was logged well.',
        },
      ),
    );
  }
  if (factor === null) return findings;
  findings.push(...judgeFactor(phase, hours, factor, surface, settings));
  return findings;
}

function judgeFactor(
  phase: PhaseName,
  hours: PhaseHours,
  factor: FactorResult,
  surface: string,
  settings: AssessmentSettings,
): Finding[] {
  const findings: Finding[] = [];
  const { estimate, working } = factor;
  const half = (estimate.high - estimate.low) / 2;
  const difference = working.meanDifferenceK;
  if (difference < settings.usefulDifferenceK) {
    findings.push(
      finding(
        'small-temperature-difference',
        difference < settings.leastDifferenceK ? 'blocks' : 'weakens',
        `In the nights of the ${phase} phase the room was on average ${difference.toFixed(1)} K warmer than the cold side; ${settings.usefulDifferenceK} K and more give a sharp figure.`,
        {
          phase,
          data: { meanDifferenceK: difference, usefulDifferenceK: settings.usefulDifferenceK },
          mend: 'Log colder nights, or keep the room warmer on cold nights.',
        },
      ),
    );
  }
  if (half > settings.widestHalfInterval) {
    const chance = working.randomUncertainty;
    const fixed = 1.96 * working.systematicUncertainty;
    findings.push(
      finding(
        'interval-too-wide',
        'blocks',
        `In the ${phase} phase f is known only to ± ${half.toFixed(2)}; ± ${settings.widestHalfInterval} is needed.`,
        {
          phase,
          data: {
            halfInterval: half,
            widestHalfInterval: settings.widestHalfInterval,
            byChance: 1.96 * chance,
            byOffsets: fixed,
          },
          mend:
            fixed > settings.widestHalfInterval
              ? 'Calibrate the sensors side by side: their offsets make up most of the uncertainty.'
              : 'Log more and colder nights.',
        },
      ),
    );
  }
  findings.push(...judgeConvergence(phase, factor, settings));
  const warmer = meanNightExcess(hours);
  if (warmer !== null && warmer > 0.5 && difference > 0) {
    findings.push(
      finding(
        'surface-warmer-than-room',
        'blocks',
        `In the ${phase} phase ${surface} is on average ${warmer.toFixed(1)} K warmer than the room at night, which an unheated surface cannot be.`,
        {
          phase,
          place: surface,
          data: { warmerK: warmer },
          mend: 'Check which file or sensor is which, and that no lamp, pipe or flue warms the surface.',
        },
      ),
    );
  } else if (estimate.low > 1 || estimate.high < 0) {
    findings.push(
      finding(
        'surface-outside-room-and-cold-side',
        'blocks',
        `In the ${phase} phase f is ${estimate.value.toFixed(2)}, outside 0 to 1: ${surface} is not between room and cold side.`,
        {
          phase,
          place: surface,
          data: { f: estimate.value },
          mend: 'Check which sensor is which and calibrate them side by side.',
        },
      ),
    );
  }
  const { disagreement } = working;
  if (disagreement !== null && (disagreement.low > 0.05 || disagreement.high < -0.05)) {
    findings.push(
      finding(
        'estimators-disagree',
        'weakens',
        `In the ${phase} phase the ratio gives f ${working.ratio.value.toFixed(2)} and the slope ${working.slope!.value.toFixed(2)}, further apart than chance and sensor offsets explain.`,
        {
          phase,
          data: { ratio: working.ratio.value, slope: working.slope!.value },
          mend: 'Look for a sensor in the sun or in a draught, or one that was moved.',
        },
      ),
    );
  }
  const step = stepOf(factor);
  if (step !== null) {
    findings.push(
      finding(
        'sensor-moved',
        'blocks',
        `In the ${phase} phase f of ${surface} jumps from ${step.from.toFixed(2)} to ${step.to.toFixed(2)} after night ${step.night} of ${step.nights}: a sensor was probably moved or came loose.`,
        {
          phase,
          place: surface,
          data: { fFirst: step.from, fThen: step.to, night: step.night, nights: step.nights },
          mend: 'Look at the sensor, note in the diary what happened, and end or begin the phase there.',
        },
      ),
    );
  }
  return findings;
}

function judgeConvergence(phase: PhaseName, factor: FactorResult, settings: AssessmentSettings): Finding[] {
  const { days, againstDayEarlier, firstAgainstLast, converged } = factor.convergence;
  if (converged || againstDayEarlier === null || firstAgainstLast === null) return [];
  const percent = (share: number): string => `${(100 * Math.abs(share)).toFixed(1)} %`;
  const still = Math.abs(againstDayEarlier) > settings.convergenceShare;
  return [
    finding(
      'not-converged',
      still ? 'blocks' : 'weakens',
      `In the ${phase} phase f has not settled: it differs by ${percent(againstDayEarlier)} from a day earlier and by ${percent(firstAgainstLast)} between the first and the last two thirds of ${days} days; ${percent(settings.convergenceShare)} is allowed.`,
      {
        phase,
        data: { days, againstDayEarlier, firstAgainstLast, allowed: settings.convergenceShare },
        mend: 'Log more days, and note in the diary what changed in between.',
      },
    ),
  ];
}

function meanNightExcess(hours: PhaseHours): number | null {
  let n = 0;
  let sum = 0;
  for (let i = hours.lead; i < hours.length; i++) {
    if (hours.valid[i] === 0 || hours.settled[i] === 0) continue;
    n += 1;
    sum += hours.surface[i]! - hours.room[i]!;
  }
  return n === 0 ? null : sum / n;
}

/** A lasting step in the nightly f, too large and too sharp for the weather, or null. */
function stepOf({ nightly }: FactorResult): { from: number; to: number; night: number; nights: number } | null {
  const { f } = nightly;
  const n = f.length;
  if (n < 2 * FEWEST_NIGHTS_EACH_SIDE) return null;
  const noise = nightNoise(f);
  let total = 0;
  for (const value of f) total += value;
  let sum = 0;
  let best: { size: number; from: number; to: number; night: number } | null = null;
  for (let k = 1; k < n; k++) {
    sum += f[k - 1]!;
    if (k < FEWEST_NIGHTS_EACH_SIDE || n - k < FEWEST_NIGHTS_EACH_SIDE) continue;
    const from = sum / k;
    const to = (total - sum) / (n - k);
    const size = Math.abs(to - from) / (noise * Math.sqrt(1 / k + 1 / (n - k)));
    if (best === null || size > best.size) best = { size, from, to, night: k };
  }
  if (best === null || Math.abs(best.to - best.from) < STEP_OF_F || best.size < STEP_IN_ERRORS) return null;
  return { from: best.from, to: best.to, night: best.night, nights: n };
}

/** Standard deviation from night to night by the median of absolute differences, which one step does not touch. */
function nightNoise(f: Float64Array): number {
  const steps = new Float64Array(f.length - 1);
  for (let k = 1; k < f.length; k++) steps[k - 1] = Math.abs(f[k]! - f[k - 1]!);
  steps.sort();
  return Math.max(0.005, steps[Math.floor(steps.length / 2)]! / (0.6745 * Math.SQRT2));
}
