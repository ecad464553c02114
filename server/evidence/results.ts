import { assess } from '../analysis/assess.ts';
import type { Assessment } from '../analysis/assessment.ts';
import { defaultTarget } from '../analysis/assessment-settings.ts';
import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import { type WinterTally, winterTallies } from '../analysis/winters.ts';
import { hoursOver } from '../physics/hours-over.ts';
import { cleanSurface, type MouldRun, mouldIndex } from '../physics/mould-index.ts';
import { TIMBER_MOISTURE_LIMIT, timberMoisture } from '../physics/timber.ts';
import { readAssessment, usualPhases } from '../store/assessment-reader.ts';
import type { Dwelling, Phase, Place, Store } from '../store/port.ts';

/** What the readings of one place come to over all hours looked at. */
export interface PlaceResults {
  readonly place: Place;
  /** hours with a temperature that counts, of the hours looked at */
  readonly knownHours: number;
  readonly hours: number;
  /** empty where no hour has a surface humidity or a dew-point margin */
  readonly winters: readonly WinterTally[];
  /** null for air, on which nothing grows, and where no hour is known */
  readonly mould: Pick<MouldRun, 'state' | 'options'> | null;
  /** what the air of a loft leads its timber to; null elsewhere, and where no hour is known */
  readonly timber: {
    readonly highest: number;
    readonly hoursOver: number;
    readonly unknownHours: number;
    readonly timeConstantHours: number;
  } | null;
}

/** Before and after the works at one ceiling surface. */
export interface SurfaceResults {
  readonly surface: Place;
  readonly assessment: Assessment;
}

/** Everything that is reported of a dwelling, worked out by the functions that the page calls. */
export interface Results {
  readonly dwelling: Dwelling;
  readonly phases: readonly Phase[];
  /** UTC milliseconds, a whole hour: what lies later was not looked at */
  readonly now: number;
  readonly places: readonly PlaceResults[];
  readonly surfaces: readonly SurfaceResults[];
}

/**
 * Works out everything that is reported of a dwelling from its hour records.
 *
 * @param now UTC milliseconds, a whole hour
 */
export async function readResults(store: Store, dwelling: Dwelling, now: number): Promise<Results> {
  const [places, phases, known] = await Promise.all([
    store.places(dwelling.id),
    store.phases(dwelling.id),
    store.hourSpan(dwelling.id),
  ]);
  const from = known?.first ?? now;
  const to = Math.max(from, Math.min((known?.last ?? from) + HOUR_MS, now));
  const ofPlaces: PlaceResults[] = [];
  for (const place of places) ofPlaces.push(await placeResults(store, dwelling, place, from, to));

  const { before, after } = usualPhases(phases);
  const surfaces: SurfaceResults[] = [];
  for (const surface of places.filter(({ kind }) => kind === 'ceiling-surface')) {
    if (before === null && after === null) break;
    const input = await readAssessment(store, dwelling, { surface, before, after, target: defaultTarget, now });
    if (input !== null) surfaces.push({ surface, assessment: assess(input) });
  }
  return { dwelling, phases, now, places: ofPlaces, surfaces };
}

async function placeResults(
  store: Store,
  dwelling: Dwelling,
  place: Place,
  from: number,
  to: number,
): Promise<PlaceResults> {
  const hours = await store.placeHours(dwelling.id, place.id, from, to);
  const { temperature, humidity, surfaceHumidity } = hours;
  const knownHours = temperature.reduce((sum, value) => sum + (Number.isNaN(value) ? 0 : 1), 0);
  const isAir = place.kind === 'room-air' || place.kind === 'outdoor-air' || place.kind === 'supply-air';
  const wettable = surfaceHumidity.some((value) => !Number.isNaN(value));
  return {
    place,
    knownHours,
    hours: temperature.length,
    winters: isAir || !(isSurface(place.kind) || wettable) ? [] : winterTallies(hours, dwelling.zone),
    mould: isAir || !wettable ? null : mouldIndex(temperature, surfaceHumidity, cleanSurface),
    timber: place.kind === 'loft-air' && knownHours > 0 ? timberResults(temperature, humidity) : null,
  };
}

function timberResults(temperature: Float64Array, humidity: Float64Array): PlaceResults['timber'] {
  const { moisture, state, timeConstantHours } = timberMoisture(temperature, humidity);
  let highest = Number.NEGATIVE_INFINITY;
  for (const value of moisture) if (value > highest) highest = value;
  if (!Number.isFinite(highest)) return null;
  const over = hoursOver(moisture, TIMBER_MOISTURE_LIMIT, 'above').hours;
  return { highest, hoursOver: over, unknownHours: state.unknownHours, timeConstantHours };
}
