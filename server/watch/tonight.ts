import type { SensorUncertainty } from '../analysis/assessment.ts';
import { assumedUncertainty } from '../analysis/assessment-settings.ts';
import { forecastTonight } from '../analysis/forecast/forecast-tonight.ts';
import { tonight } from '../analysis/forecast/night.ts';
import { forecastSettings } from '../analysis/forecast/settings.ts';
import type { ShortReason, TonightForecast } from '../analysis/forecast/tonight-forecast.ts';
import { LEAD_HOURS } from '../analysis/phase-hours.ts';
import type { PlaceHours } from '../analysis/place-hours.ts';
import { placeUncertainty } from '../analysis/sensor-errors.ts';
import { HOUR_MS, isSurface } from '../analysis/vocabulary.ts';
import type { Dwelling, Phase, Place, Store } from '../store/port.ts';
import { watchingSensors } from '../store/watching-sensors.ts';

/** What reading a dwelling for its forecast takes of the store. */
export type ForecastStore = Pick<
  Store,
  'places' | 'phases' | 'placements' | 'sensors' | 'series' | 'calibrations' | 'placeHours' | 'outdoorForecasts'
>;

export interface SurfaceTonight {
  readonly place: Place;
  readonly forecast: TonightForecast;
}

/**
 * The forecast of every surface of a dwelling as it could be made at a moment: nothing that came later is looked at.
 *
 * @param now UTC milliseconds
 */
export async function forecastDwelling(
  store: ForecastStore,
  dwelling: Dwelling,
  now: number,
): Promise<SurfaceTonight[]> {
  const [places, phases, placements, sensors, series, calibrations] = await Promise.all([
    store.places(dwelling.id),
    store.phases(dwelling.id),
    store.placements(dwelling.id),
    store.sensors(dwelling.id),
    store.series(dwelling.id),
    store.calibrations(dwelling.id),
  ]);
  const to = Math.floor(now / HOUR_MS) * HOUR_MS;
  const from = to - (forecastSettings.windowDays * 24 + LEAD_HOURS) * HOUR_MS;
  const read = new Map<number, Promise<PlaceHours>>();
  const hoursOf = (place: Place): Promise<PlaceHours> => {
    const known = read.get(place.id) ?? store.placeHours(dwelling.id, place.id, from, to);
    read.set(place.id, known);
    return known;
  };
  const trust = (place: Place): SensorUncertainty =>
    placeUncertainty(
      watchingSensors(place.id, { placements, sensors, series, calibrations }),
      [{ from, to }],
      dwelling.zone,
    ) ?? assumedUncertainty;
  const feeds = await store.outdoorForecasts(dwelling.id, from);
  const cold = await coldSide(places, hoursOf);
  const leftOut = spansLeftOut(phases, now);
  const forecasts: SurfaceTonight[] = [];
  for (const place of places.filter(({ kind }) => isSurface(kind))) {
    const room = places.find(({ id }) => id === place.facesPlaceId) ?? places.find(({ kind }) => kind === 'room-air');
    const missing: ShortReason[] = [
      ...(room === undefined ? [{ code: 'room-missing', data: {} } as const] : []),
      ...(cold === null ? [{ code: 'cold-side-missing', data: {} } as const] : []),
    ];
    if (room === undefined || cold === null) {
      const night = tonight(now, dwelling.zone);
      forecasts.push({ place, forecast: { kind: 'not-enough', night, reasons: missing } });
      continue;
    }
    const forecast = forecastTonight({
      now,
      zone: dwelling.zone,
      surface: await hoursOf(place),
      room: await hoursOf(room),
      cold: await hoursOf(cold),
      coldIs: cold.kind === 'outdoor-air' ? 'outdoor' : 'loft',
      feeds,
      leftOut,
      uncertainty: { surface: trust(place), room: trust(room), cold: trust(cold) },
    });
    forecasts.push({ place, forecast });
  }
  return forecasts;
}

/** The outdoor air or, where it is not watched or silent, the loft. */
async function coldSide(
  places: readonly Place[],
  hoursOf: (place: Place) => Promise<PlaceHours>,
): Promise<Place | null> {
  const candidates = [
    ...places.filter(({ kind }) => kind === 'outdoor-air'),
    ...places.filter(({ kind }) => kind === 'loft-air'),
  ];
  for (const place of candidates) {
    const { temperature } = await hoursOf(place);
    if (temperature.slice(-forecastSettings.silentHours).some((value) => !Number.isNaN(value))) return place;
  }
  return candidates[0] ?? null;
}

/** Spans in which the ceiling was another or in flux: up to the end of the last works, and whatever is neither before nor after. */
function spansLeftOut(phases: readonly Phase[], now: number): { from: number; to: number }[] {
  const over = phases
    .filter(({ kind, from }) => kind === 'works' && from <= now)
    .map(({ to }) => Math.min(to ?? now, now));
  return [
    ...(over.length === 0 ? [] : [{ from: Number.NEGATIVE_INFINITY, to: Math.max(...over) }]),
    ...phases.flatMap(({ kind, from, to }) =>
      kind === 'before' || kind === 'after' || from >= now ? [] : [{ from, to: Math.min(to ?? now, now) }],
    ),
  ];
}
