import type { Span } from './assessment.ts';
import { quantileOf } from './estimate.ts';
import { localNights, usualNight } from './local-nights.ts';
import type { PlayedColumns } from './night.ts';
import { type FigureName, figureNames, type PlaceState, stateInHour } from './now.ts';
import { isCondensationHour } from './risk.ts';
import { HOUR_MS, isSurface, type PlaceKind } from './vocabulary.ts';

export const matchedNightsSettings = Object.freeze({
  /** a night is cold with outdoors at or below this in the mean, °C; common practice, no source */
  coldBelowC: 5,
  /** two nights are alike with outdoors no further apart than this in the mean, K; common practice, no source */
  withinK: 1,
  /** share of a night's hours that must be known; as for the coldest night */
  coverageWanted: 0.7,
  /** fewer pairs than this say nothing of what is typical; common practice, no source */
  fewestPairs: 7,
});

/** A figure over the matched nights: the middle one of the nights' means, and between what half of them lie. */
export interface Typical {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

export interface TypicalPlace {
  readonly placeId: number;
  readonly figures: Readonly<Record<FigureName, Typical | null>>;
  readonly state: PlaceState;
  /** matched nights in which the margin was known; with condensation among them; null: it has none */
  readonly knownNights: number | null;
  readonly condensationNights: number | null;
}

export interface TypicalPhase {
  /** mean of the matched nights' outdoor temperatures, °C */
  readonly outdoorMeanC: number;
  readonly places: readonly TypicalPlace[];
}

export type MatchedNights =
  | { readonly kind: 'matched'; readonly pairs: number; readonly before: TypicalPhase; readonly after: TypicalPhase }
  | {
      readonly kind: 'not-enough';
      readonly reason: 'before-missing' | 'after-missing' | 'outdoor-missing' | 'too-few-nights';
      readonly data: { readonly pairs: number; readonly coldBefore: number; readonly coldAfter: number };
    };

export interface NightlyPlace {
  readonly placeId: number;
  readonly kind: PlaceKind;
  readonly columns: PlayedColumns;
  /** lowest margin of each hour, K */
  readonly marginLow: Float64Array;
}

export interface MatchedNightsInput {
  /** UTC milliseconds of the first entry of every column, a whole hour */
  readonly start: number;
  readonly places: readonly NightlyPlace[];
  readonly before: Span | null;
  readonly after: Span | null;
  /** spans that count in neither */
  readonly leftOut: readonly Span[];
  /** IANA time zone */
  readonly zone: string;
}

interface Night {
  readonly hours: readonly number[];
  readonly outdoor: number;
}

/**
 * What is typical of cold nights before and after the works, the weather made equal: each cold night after is paired with
 * the one before that is nearest in mean outdoor temperature. The room is as people kept it; it is not made equal.
 */
export function matchedNights(input: MatchedNightsInput, settings = matchedNightsSettings): MatchedNights {
  const none = (
    reason: Extract<MatchedNights, { kind: 'not-enough' }>['reason'],
    data = { pairs: 0, coldBefore: 0, coldAfter: 0 },
  ): MatchedNights => ({ kind: 'not-enough', reason, data });
  const outdoor = input.places.find(({ kind }) => kind === 'outdoor-air');
  if (input.before === null) return none('before-missing');
  if (input.after === null) return none('after-missing');
  if (outdoor === undefined) return none('outdoor-missing');
  const before = coldNights(input, input.before, outdoor.columns.temperature, settings);
  const after = coldNights(input, input.after, outdoor.columns.temperature, settings);
  const pairs = pairUp(before, after, settings.withinK);
  if (pairs.length < settings.fewestPairs) {
    return none('too-few-nights', { pairs: pairs.length, coldBefore: before.length, coldAfter: after.length });
  }
  const typical = (nights: readonly Night[]): TypicalPhase => ({
    outdoorMeanC: nights.reduce((sum, night) => sum + night.outdoor, 0) / nights.length,
    places: input.places.map((place) => typicalPlace(place, outdoor, nights, settings)),
  });
  return {
    kind: 'matched',
    pairs: pairs.length,
    before: typical(pairs.map(([night]) => night)),
    after: typical(pairs.map(([, night]) => night)),
  };
}

/** The cold nights that lie wholly in a phase and in nothing that is left out, coldest first. */
function coldNights(
  { start, zone, leftOut }: MatchedNightsInput,
  phase: Span,
  temperature: Float64Array,
  settings: typeof matchedNightsSettings,
): Night[] {
  const { night } = localNights(start, temperature.length, zone, usualNight);
  const hoursOf = new Map<number, number[]>();
  night.forEach((number, hour) => {
    if (number >= 0) hoursOf.set(number, [...(hoursOf.get(number) ?? []), hour]);
  });
  const touches = (span: Span, from: number, to: number): boolean => from < span.to && to > span.from;
  return [...hoursOf.values()]
    .flatMap((hours): Night[] => {
      const from = start + hours[0]! * HOUR_MS;
      const to = start + (hours.at(-1)! + 1) * HOUR_MS;
      if (from < phase.from || to > phase.to || leftOut.some((span) => touches(span, from, to))) return [];
      const mean = meanOver(temperature, hours, settings.coverageWanted);
      return mean === null || mean > settings.coldBelowC ? [] : [{ hours, outdoor: mean }];
    })
    .sort((a, b) => a.outdoor - b.outdoor);
}

/** Each night after with the unused night before that is nearest, coldest first. */
function pairUp(before: readonly Night[], after: readonly Night[], withinK: number): (readonly [Night, Night])[] {
  const free = new Set(before);
  return after.flatMap((night) => {
    const apart = (other: Night): number => Math.abs(other.outdoor - night.outdoor);
    const nearest = [...free].reduce<Night | null>(
      (best, other) => (best === null || apart(other) < apart(best) ? other : best),
      null,
    );
    if (nearest === null || apart(nearest) > withinK) return [];
    free.delete(nearest);
    return [[nearest, night] as const];
  });
}

/** Mean of the known hours; null where too few are known. */
function meanOver(column: Float64Array, hours: readonly number[], coverage: number): number | null {
  const known = hours.map((hour) => column[hour]!).filter(Number.isFinite);
  if (known.length === 0 || known.length < coverage * hours.length) return null;
  return known.reduce((sum, value) => sum + value, 0) / known.length;
}

function typicalPlace(
  place: NightlyPlace,
  outdoor: NightlyPlace,
  nights: readonly Night[],
  settings: typeof matchedNightsSettings,
): TypicalPlace {
  const hasExcess = place.kind === 'room-air' || place.kind === 'loft-air';
  const columns: Readonly<Record<FigureName, Float64Array | null>> = {
    ...place.columns,
    vapourExcess: hasExcess
      ? place.columns.vapourPressure.map((own, hour) => own - outdoor.columns.vapourPressure[hour]!)
      : null,
  };
  const isJudged = isSurface(place.kind) || place.kind === 'behind-lining';
  const figures = Object.fromEntries(
    figureNames.map((name) => {
      const column = (name === 'margin' || name === 'surfaceHumidity') && !isJudged ? null : columns[name];
      const means = nights.map(({ hours }) => column && meanOver(column, hours, settings.coverageWanted));
      return [name, typicalOf(means, settings.fewestPairs)];
    }),
  ) as Record<FigureName, Typical | null>;
  const lowest = nights
    .map(({ hours }) => hours.map((hour) => place.marginLow[hour]!).filter(Number.isFinite))
    .filter((margins) => margins.length > 0)
    .map((margins) => Math.min(...margins));
  const counted = isSurface(place.kind) && lowest.length > 0;
  return {
    placeId: place.placeId,
    figures,
    state: stateInHour(place.kind, figures),
    knownNights: counted ? lowest.length : null,
    condensationNights: counted ? lowest.filter((margin) => isCondensationHour(margin)).length : null,
  };
}

function typicalOf(means: readonly (number | null)[], fewest: number): Typical | null {
  const known = Float64Array.from(means.filter((mean) => mean !== null)).sort();
  if (known.length < fewest) return null;
  return { value: quantileOf(known, 0.5), low: quantileOf(known, 0.25), high: quantileOf(known, 0.75) };
}

/** Why there is nothing to show yet and what to do, in English. */
export function notEnoughNights(
  { reason, data }: Extract<MatchedNights, { kind: 'not-enough' }>,
  settings = matchedNightsSettings,
): string {
  switch (reason) {
    case 'before-missing':
      return 'There is no phase of the kind before. Give the span before the works a phase, under Diary.';
    case 'after-missing':
      return 'There is no phase of the kind after. Give the span after the works a phase, under Diary.';
    case 'outdoor-missing':
      return 'Outdoor air is not watched, so that nights of the same weather cannot be found. Add a place outdoors, under Sensors.';
    case 'too-few-nights':
      return `Only ${data.pairs} cold nights before and after are alike; it takes ${settings.fewestPairs}. Cold nights (outdoors at ${settings.coldBelowC} °C or less) before: ${data.coldBefore}, after: ${data.coldAfter}. More come with the winter.`;
  }
}
