import { setImmediate } from 'node:timers/promises';
import type { Span, Target } from '../analysis/assessment.ts';
import type { AssessedPlace, AssessmentInput } from '../analysis/assessment-input.ts';
import { placeUncertainty } from '../analysis/sensor-errors.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import type { Dwelling, Phase, Place, Store } from './port.ts';
import { type SensorRows, watchingSensors } from './watching-sensors.ts';

/** Resampling draws from this seed, so that the same data give the same figures to the last digit. */
const SEED = 1;

export interface AssessmentChoice {
  readonly surface: Place;
  readonly before: Phase | null;
  readonly after: Phase | null;
  readonly target: Target;
  /** UTC milliseconds, a whole hour: what lies later is not looked at */
  readonly now: number;
}

/** The first phase before the works and the last after them. */
export function usualPhases(phases: readonly Phase[]): { before: Phase | null; after: Phase | null } {
  return {
    before: phases.find(({ kind }) => kind === 'before') ?? null,
    after: phases.findLast(({ kind }) => kind === 'after') ?? null,
  };
}

/**
 * Everything an assessment of one surface needs, from the dwelling's hour records up to a whole hour; null where the
 * dwelling has no room that the surface could face.
 */
export async function readAssessment(
  store: Store,
  dwelling: Dwelling,
  { surface, before, after, target, now }: AssessmentChoice,
): Promise<AssessmentInput | null> {
  const [places, phases, placements, sensors, series, calibrations] = await Promise.all([
    store.places(dwelling.id),
    store.phases(dwelling.id),
    store.placements(dwelling.id),
    store.sensors(dwelling.id),
    store.series(dwelling.id),
    store.calibrations(dwelling.id),
  ]);
  const room = places.find(({ id }) => id === surface.facesPlaceId) ?? places.find(({ kind }) => kind === 'room-air');
  if (!room) return null;
  const spanOf = (phase: Phase | null): Span | null => phase && { from: phase.from, to: phase.to ?? now };
  const known = await store.hourSpan(dwelling.id);
  const from = Math.floor(
    Math.min(...[before?.from, after?.from, known?.first].filter((time) => time !== undefined)) / HOUR_MS,
  );
  const to = known === null ? from : Math.min(known.last + HOUR_MS, now) / HOUR_MS;

  const assessed = async (place: Place): Promise<AssessedPlace> => {
    // two winters of a place take a while to read: others have their turn between two
    await setImmediate();
    return {
      id: String(place.id),
      name: place.name,
      kind: place.kind,
      hours: await store.placeHours(dwelling.id, place.id, from * HOUR_MS, Math.max(from, to) * HOUR_MS),
      ...trustIn(place, { placements, sensors, series, calibrations }, [spanOf(before), spanOf(after)], dwelling.zone),
    };
  };
  const first = async (kind: Place['kind']): Promise<AssessedPlace | null> => {
    const place = places.find((candidate) => candidate.kind === kind && candidate.id !== surface.id);
    return place ? assessed(place) : null;
  };
  const others = places.filter(({ id, kind }) => kind === 'ceiling-surface' && id !== surface.id);
  return {
    surface: await assessed(surface),
    room: await assessed(room),
    outdoor: await first('outdoor-air'),
    loftAir: await first('loft-air'),
    loftTimber: await first('loft-timber'),
    control: await first('control-surface'),
    behind: await first('behind-lining'),
    otherSurfaces: await Promise.all(others.map(assessed)),
    before: spanOf(before),
    after: spanOf(after),
    leftOut: phases.flatMap(({ kind, from: start, to: end }) =>
      kind === 'before' || kind === 'after' ? [] : [{ kind, from: start, to: end ?? now }],
    ),
    zone: dwelling.zone,
    target,
    now,
    airChangesPerHour: { before: null, after: null },
    seed: SEED,
    settings: {},
  };
}

/** Which sensors stood at a place, when another calibration began to apply there, and how far they can be trusted. */
function trustIn(
  place: Place,
  rows: SensorRows,
  spans: readonly (Span | null)[],
  zone: string,
): Pick<AssessedPlace, 'stays' | 'recalibrations' | 'uncertainty'> {
  const watching = watchingSensors(place.id, rows);
  const recalibrations = watching.flatMap(({ from, to, temperature, humidity }) =>
    [...(temperature ?? []), ...(humidity ?? [])]
      .map((calibration) => calibration.from)
      .filter((time) => time > from && (to === null || time < to)),
  );
  return {
    stays: watching.map(({ key, from, to }) => ({ sensor: key, from, to })),
    recalibrations: [...new Set(recalibrations)].sort((a, b) => a - b),
    uncertainty: placeUncertainty(
      watching,
      spans.filter((span) => span !== null),
      zone,
    ),
  };
}
