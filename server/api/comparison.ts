import type { z } from 'zod';
import type { Span, Target } from '../analysis/assessment.ts';
import type { AssessedPlace } from '../analysis/assessment-input.ts';
import { defaultTarget } from '../analysis/assessment-settings.ts';
import { inUse } from '../analysis/calibration.ts';
import { placeUncertainty, type WatchingSensor } from '../analysis/sensor-errors.ts';
import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import { publishedFactors } from '../physics/published-factors.ts';
import type { CalibrationRecord, Dwelling, Phase, Place, Placement, Sensor, Series, Store } from '../store/port.ts';
import type { Assessor } from './assessor.ts';
import type { Comparison, comparisonQuery } from './contract/comparison.ts';
import { RequestProblem } from './problem.ts';
import type { Revisions } from './revisions.ts';
import { phaseView, placeView } from './views.ts';

/** Resampling draws from this seed, so that the same data give the same figures to the last digit. */
const SEED = 1;

/** A target by its figure; where published guidance asks for just that, its source. */
function targetOf(f: number | undefined): Target {
  if (f === undefined || f === defaultTarget.f) return defaultTarget;
  const published = publishedFactors.find(({ factor }) => factor === f);
  return { f, source: published ? `${published.source}, ${published.where}` : 'chosen by the reader' };
}

export interface ComparisonParts {
  readonly store: Store;
  readonly assessor: Assessor;
  readonly revisions: Revisions;
  readonly clock: () => number;
}

type Query = z.output<typeof comparisonQuery>;

/** Comparisons kept ready; a dwelling has few surfaces. */
const MOST_KEPT = 16;

/** Compares before and after, and remembers what it found until hours or the story change. Looks at whole hours only. */
export function createComparer(parts: ComparisonParts): (dwelling: Dwelling, query: Query) => Promise<Comparison> {
  const kept = new Map<string, Promise<Comparison>>();
  return (dwelling, query) => {
    const now = Math.floor(parts.clock() / HOUR_MS) * HOUR_MS;
    const key = JSON.stringify([dwelling.id, parts.revisions.of(dwelling.id), now, query]);
    const known = kept.get(key);
    if (known) return known;
    const result = compare(parts, dwelling, query, now);
    kept.set(key, result);
    result.catch(() => kept.delete(key));
    const oldest = kept.keys().next();
    if (kept.size > MOST_KEPT && !oldest.done) kept.delete(oldest.value);
    return result;
  };
}

/** Assesses a surface before and after the works from the dwelling's hour records up to a whole hour. */
async function compare(
  { store, assessor }: ComparisonParts,
  dwelling: Dwelling,
  query: Query,
  now: number,
): Promise<Comparison> {
  const [places, phases, placements, sensors, series, calibrations] = await Promise.all([
    store.places(dwelling.id),
    store.phases(dwelling.id),
    store.placements(dwelling.id),
    store.sensors(dwelling.id),
    store.series(dwelling.id),
    store.calibrations(dwelling.id),
  ]);
  const surface = places.find(({ id }) => id === query.surface);
  if (!surface) throw new RequestProblem('not-found', `There is no place ${query.surface} in ${dwelling.slug}.`);
  if (!isSurface(surface.kind)) {
    throw new RequestProblem('bad-request', `${surface.name} is not a surface: choose a ceiling or control surface.`, [
      { pointer: '/surface', detail: 'must be a surface' },
    ]);
  }
  const room = places.find(({ id }) => id === surface.facesPlaceId) ?? places.find(({ kind }) => kind === 'room-air');
  if (!room)
    throw new RequestProblem('bad-request', 'Add the room the surface faces first, as a place of kind room air.');

  const before = choose(
    phases,
    query.before,
    phases.find(({ kind }) => kind === 'before'),
  );
  const after = choose(
    phases,
    query.after,
    phases.findLast(({ kind }) => kind === 'after'),
  );
  const spanOf = (phase: Phase | null): Span | null => phase && { from: phase.from, to: phase.to ?? now };
  const known = await store.hourSpan(dwelling.id);
  const from = Math.floor(
    Math.min(...[before?.from, after?.from, known?.first].filter((time) => time !== undefined)) / HOUR_MS,
  );
  const to = known === null ? from : Math.min(known.last + HOUR_MS, now) / HOUR_MS;

  const assessed = async (place: Place): Promise<AssessedPlace> => ({
    id: String(place.id),
    name: place.name,
    kind: place.kind,
    hours: await store.placeHours(dwelling.id, place.id, from * HOUR_MS, Math.max(from, to) * HOUR_MS),
    ...trustIn(place, { placements, sensors, series, calibrations }, [spanOf(before), spanOf(after)], dwelling.zone),
  });
  const first = async (kind: Place['kind']): Promise<AssessedPlace | null> => {
    const place = places.find((candidate) => candidate.kind === kind && candidate.id !== surface.id);
    return place ? assessed(place) : null;
  };
  const others = places.filter(({ id, kind }) => kind === 'ceiling-surface' && id !== surface.id);
  const assessment = await assessor.assess({
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
    target: targetOf(query.target),
    now,
    airChangesPerHour: { before: null, after: null },
    seed: SEED,
    settings: {},
  });
  return {
    surface: placeView(surface),
    before: before && phaseView(before),
    after: after && phaseView(after),
    assessment,
  };
}

function choose(phases: readonly Phase[], wanted: number | undefined, usual: Phase | undefined): Phase | null {
  if (wanted === undefined) return usual ?? null;
  const phase = phases.find(({ id }) => id === wanted);
  if (!phase) throw new RequestProblem('not-found', `There is no phase ${wanted}.`);
  return phase;
}

interface SensorRows {
  readonly placements: readonly Placement[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly calibrations: readonly CalibrationRecord[];
}

/** Which sensors stood at a place, when another calibration began to apply there, and how far they can be trusted. */
function trustIn(
  place: Place,
  rows: SensorRows,
  spans: readonly (Span | null)[],
  zone: string,
): Pick<AssessedPlace, 'stays' | 'recalibrations' | 'uncertainty'> {
  const watching = rows.placements
    .filter(({ placeId }) => placeId === place.id)
    .map(({ sensorId, from, to }): WatchingSensor => {
      const sensor = rows.sensors.find(({ id }) => id === sensorId);
      const calibrationsOf = (quantity: 'temperature' | 'humidity') => {
        const own = rows.series.find((candidate) => candidate.sensorId === sensorId && candidate.quantity === quantity);
        return own === undefined ? null : inUse(rows.calibrations, own.id);
      };
      return {
        key: sensor?.key ?? '',
        model: sensor?.model ?? null,
        from,
        to,
        temperature: calibrationsOf('temperature'),
        humidity: calibrationsOf('humidity'),
      };
    });
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
