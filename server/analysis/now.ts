import { dewPoint, saturationPressure } from '../physics/saturation.ts';
import { surfaceHumidity } from '../physics/surface.ts';
import { vapourPressure } from '../physics/vapour.ts';
import { isCondensationHour, isRiskHour, riskCriteria } from './risk.ts';
import { hearing } from './sensor-health.ts';
import { isSurface, type PlaceKind } from './vocabulary.ts';

/** The latest value of one quantity at a place. */
export interface Latest {
  /** UTC milliseconds */
  readonly time: number;
  readonly value: number;
  readonly intervalSeconds: number | null;
}

export interface LatestAtPlace {
  readonly placeId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  readonly facesPlaceId: number | null;
  readonly temperature: Latest | null;
  readonly humidity: Latest | null;
  readonly timberMoisture: Latest | null;
}

export type StateCode =
  | 'clear'
  | 'close'
  | 'risk'
  | 'condensing'
  | 'dry'
  | 'damp'
  | 'wet'
  | 'as-measured'
  | 'stale'
  | 'no-reading';

export type Tone = 'quiet' | 'watch' | 'act' | 'unknown';

export interface PlaceState {
  readonly code: StateCode;
  readonly tone: Tone;
  readonly words: string;
}

/** A place at a moment; null where it is not known or makes no sense there. Units as in the glossary. */
export interface PlaceNow {
  readonly placeId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  readonly at: number | null;
  readonly state: PlaceState;
  readonly temperature: number | null;
  readonly humidity: number | null;
  readonly dewPoint: number | null;
  readonly margin: number | null;
  readonly surfaceHumidity: number | null;
  readonly vapourExcess: number | null;
  readonly timberMoisture: number | null;
}

export interface DwellingNow {
  readonly headline: string;
  readonly detail: string;
  readonly places: readonly PlaceNow[];
}

/** Where "close" and "damp" begin. */
export const nowSettings = Object.freeze({
  /** a surface at this relative humidity, %, is close to the limit of a risk hour */
  closeHumidityPct: 75,
  /** timber wetter than this may decay, %; common practice, no source */
  timberLimitPct: 20,
});

const FRESH: ReadonlySet<string> = new Set(['heard']);

/**
 * How every place of a dwelling is doing at a moment, from the latest readings.
 *
 * @param time UTC milliseconds
 */
export function dwellingNow(places: readonly LatestAtPlace[], time: number, settings = nowSettings): DwellingNow {
  const outdoor = places.find((place) => place.kind === 'outdoor-air');
  const outdoorPressure = outdoor ? pressureAt(outdoor, time) : null;
  const rooms = places.filter((place) => place.kind === 'room-air');
  const result = places.map((place) => {
    const faced = rooms.find((room) => room.placeId === place.facesPlaceId) ?? rooms[0];
    const air = isSurface(place.kind) ? faced : place;
    return placeNow(place, air ? pressureAt(air, time) : null, outdoorPressure, time, settings);
  });
  return { ...headline(result), places: result };
}

const isFresh = (latest: Latest | null, time: number): latest is Latest =>
  latest !== null && FRESH.has(hearing(time, latest.time, latest.intervalSeconds));

function pressureAt(place: LatestAtPlace, time: number): number | null {
  const { temperature, humidity } = place;
  if (!isFresh(temperature, time) || !isFresh(humidity, time)) return null;
  return vapourPressure(temperature.value, Math.min(humidity.value, 100));
}

const DRIEST = saturationPressure(-60);

function placeNow(
  place: LatestAtPlace,
  pressure: number | null,
  outdoorPressure: number | null,
  time: number,
  settings: typeof nowSettings,
): PlaceNow {
  const temperature = isFresh(place.temperature, time) ? place.temperature.value : null;
  const humidity = isFresh(place.humidity, time) ? Math.min(place.humidity.value, 100) : null;
  const timberMoisture = isFresh(place.timberMoisture, time) ? place.timberMoisture.value : null;
  const dew = pressure !== null && pressure >= DRIEST ? dewPoint(pressure) : null;
  const wettable = isSurface(place.kind) || place.kind === 'behind-lining';
  const margin = wettable && temperature !== null && dew !== null ? temperature - dew : null;
  const atSurface =
    wettable && temperature !== null && pressure !== null ? surfaceHumidity(pressure, temperature) : null;
  const hasExcess = place.kind === 'room-air' || place.kind === 'loft-air';
  const figures = {
    temperature,
    humidity,
    dewPoint: dew,
    margin,
    surfaceHumidity: atSurface,
    vapourExcess: hasExcess && pressure !== null && outdoorPressure !== null ? pressure - outdoorPressure : null,
    timberMoisture,
  };
  const at = Math.max(place.temperature?.time ?? -1, place.timberMoisture?.time ?? -1, place.humidity?.time ?? -1);
  return {
    placeId: place.placeId,
    name: place.name,
    kind: place.kind,
    at: at < 0 ? null : at,
    state: stateOf(place.kind, figures, at, settings),
    ...figures,
  };
}

type Figures = Pick<PlaceNow, 'temperature' | 'humidity' | 'margin' | 'surfaceHumidity' | 'timberMoisture'>;

function stateOf(kind: PlaceKind, figures: Figures, at: number, settings: typeof nowSettings): PlaceState {
  const { temperature, margin, surfaceHumidity: atSurface, timberMoisture } = figures;
  if (at < 0) return { code: 'no-reading', tone: 'unknown', words: 'no reading yet' };
  if (temperature === null && timberMoisture === null) {
    return { code: 'stale', tone: 'unknown', words: 'not heard lately' };
  }
  if (timberMoisture !== null) {
    return timberMoisture > settings.timberLimitPct
      ? { code: 'wet', tone: 'act', words: `over ${settings.timberLimitPct} %: timber may decay` }
      : { code: 'dry', tone: 'quiet', words: `under ${settings.timberLimitPct} %` };
  }
  if (margin === null || atSurface === null || temperature === null) {
    return isSurface(kind)
      ? { code: 'as-measured', tone: 'unknown', words: 'no room humidity to judge it by' }
      : { code: 'as-measured', tone: 'quiet', words: '' };
  }
  const risk = isRiskHour(atSurface, temperature) === true;
  if (kind === 'behind-lining') {
    return risk
      ? { code: 'damp', tone: 'watch', words: `damp: ${riskCriteria.humidity} % or more` }
      : { code: 'dry', tone: 'quiet', words: `under ${riskCriteria.humidity} %` };
  }
  if (isCondensationHour(margin)) return { code: 'condensing', tone: 'act', words: 'moisture is settling now' };
  if (risk) return { code: 'risk', tone: 'act', words: `${atSurface.toFixed(0)} % at the surface: mould can grow` };
  if (atSurface >= settings.closeHumidityPct) {
    return { code: 'close', tone: 'watch', words: `close: ${margin.toFixed(1)} K above the dew point` };
  }
  return { code: 'clear', tone: 'quiet', words: `clear by ${margin.toFixed(1)} K` };
}

function headline(places: readonly PlaceNow[]): { headline: string; detail: string } {
  const surfaces = places
    .filter((place) => isSurface(place.kind) && place.margin !== null)
    .sort((a, b) => a.margin! - b.margin!);
  const coldest = surfaces[0];
  if (coldest === undefined) {
    return places.some((place) => place.at !== null)
      ? {
          headline: 'No surface can be judged at the moment.',
          detail: 'It takes a fresh reading of a ceiling surface and of the room’s temperature and humidity.',
        }
      : { headline: 'No readings yet.', detail: 'Connect a sensor or import a file; the Sensors page says how.' };
  }
  const detail = `Nearest to its dew point: ${coldest.name}, ${coldest.temperature!.toFixed(1)} °C, ${
    coldest.margin! > 0 ? `${coldest.margin!.toFixed(1)} K above` : `${Math.abs(coldest.margin!).toFixed(1)} K below`
  } the dew point of the room.`;
  if (coldest.state.code === 'condensing') return { headline: `Moisture is settling: ${coldest.name}.`, detail };
  const risky = surfaces.find((place) => place.state.code === 'risk');
  if (risky) return { headline: `Too damp for comfort: ${risky.name}.`, detail };
  if (coldest.state.code === 'close') return { headline: `Dry now, but ${coldest.name} is close.`, detail };
  return { headline: 'Dry now.', detail };
}
