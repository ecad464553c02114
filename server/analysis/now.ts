import { RISK_HUMIDITY } from '../physics/hours-over.ts';
import {
  measuredDewPoint,
  measuredMargin,
  measuredSurfaceHumidity,
  measuredVapourPressure,
} from '../physics/propagation.ts';
import { DRIEST_DEW } from '../physics/saturation.ts';
import { type Measured, propagate, standardUncertainty } from '../physics/uncertainty.ts';
import { hearing } from './health/hearing.ts';
import { isCondensationHour, isRiskHour } from './risk.ts';
import { isSurface, type PlaceKind } from './vocabulary.ts';

/** The latest value of one quantity at a place, with the errors its sensor may have. */
export interface Latest {
  /** UTC milliseconds */
  readonly time: number;
  readonly measured: Measured;
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
  /**
   * What the record of an hour says, where the moment is an hour: its values stand, and the latest ones only say how sure
   * they are
   */
  readonly hour?: HourFigures;
}

/** Figures of a place in one hour, from its records; null where not known. Units as in the glossary. */
export type HourFigures = Readonly<Record<FigureName, number | null>>;

export const figureNames = [
  'temperature',
  'humidity',
  'vapourPressure',
  'dewPoint',
  'margin',
  'surfaceHumidity',
  'vapourExcess',
  'timberMoisture',
] as const;

export type FigureName = (typeof figureNames)[number];

/** A value with half the width of its 95 % interval in the same unit; null where no error is known. */
export interface Figure {
  readonly value: number;
  readonly plusMinus: number | null;
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
  | 'no-reading'
  | 'gap';

export type Tone = 'quiet' | 'watch' | 'act' | 'unknown';

export interface PlaceState {
  readonly code: StateCode;
  readonly tone: Tone;
  readonly words: string;
}

/**
 * A place at a moment; null where it is not known or makes no sense there. Units as in the glossary. Vapour pressure and
 * dew point are of the place's own air, or of the room air a surface faces.
 */
export interface PlaceNow extends PlaceFigures {
  readonly placeId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  /** whose air it is judged by: the room a surface faces, else its own; null: a surface without a room */
  readonly airPlaceId: number | null;
  /** UTC milliseconds of the latest reading; null: none yet */
  readonly at: number | null;
  readonly state: PlaceState;
}

export type PlaceFigures = Readonly<Record<FigureName, Figure | null>>;

/** What the headline says; `place` is the name in it. */
export interface HeadlineAbout {
  readonly code: (typeof headlineCodes)[number];
  readonly place: string | null;
}

export const headlineCodes = [
  'not-judged',
  'nothing-measured',
  'no-readings',
  'condensing',
  'risk',
  'close',
  'hidden',
  'dry',
] as const;

export interface DwellingNow {
  readonly headline: string;
  readonly headlineAbout: HeadlineAbout;
  readonly detail: string;
  readonly places: readonly PlaceNow[];
}

/** Where "close" and "damp" begin. */
export const nowSettings = Object.freeze({
  /** a surface at this relative humidity, %, is close to the limit of a risk hour */
  closeHumidityPct: 75,
  /** timber wetter than this may decay, %; common practice, no source */
  timberLimitPct: 20,
  /** half width of a 95 % interval in standard uncertainties; JCGM 100:2008 (GUM), G.6.6 */
  coverageFactor: 2,
});

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
    return placeNow(place, air ?? null, outdoorPressure, time, settings);
  });
  return { ...headline(result, places.some(({ hour }) => hour !== undefined) ? 'then' : 'now'), places: result };
}

const isFresh = (latest: Latest | null, time: number): latest is Latest =>
  latest !== null && hearing(time, latest.time, latest.intervalSeconds) === 'heard';

/** A sensor that reads over 100 % is taken to mean 100. */
const clamped = (humidity: Measured): Measured => (humidity.value > 100 ? { ...humidity, value: 100 } : humidity);

/** Vapour pressure at a place that has air of its own; null where it is not known or too low for a dew point. */
function pressureAt(place: LatestAtPlace, time: number): Measured | null {
  const { temperature, humidity } = place;
  if (!isFresh(temperature, time) || !isFresh(humidity, time)) return null;
  const pressure = measuredVapourPressure(temperature.measured, clamped(humidity.measured));
  return pressure.value >= DRIEST_DEW ? pressure : null;
}

function figure(value: Measured | null, settings: typeof nowSettings): Figure | null {
  if (value === null) return null;
  const plusMinus = value.parts.length === 0 ? null : settings.coverageFactor * standardUncertainty(value);
  return { value: value.value, plusMinus };
}

function placeNow(
  place: LatestAtPlace,
  air: LatestAtPlace | null,
  outdoorPressure: Measured | null,
  time: number,
  settings: typeof nowSettings,
): PlaceNow {
  const pressure = air && pressureAt(air, time);
  const temperature = isFresh(place.temperature, time) ? place.temperature.measured : null;
  const humidity = isFresh(place.humidity, time) ? clamped(place.humidity.measured) : null;
  const timberMoisture = isFresh(place.timberMoisture, time) ? place.timberMoisture.measured : null;
  const wettable = isSurface(place.kind) || place.kind === 'behind-lining';
  const judged = wettable && temperature !== null && pressure !== null;
  const hasExcess = (place.kind === 'room-air' || place.kind === 'loft-air') && pressure && outdoorPressure;
  const shown = (value: Measured | null): Figure | null => figure(value, settings);
  const worked: PlaceFigures = {
    temperature: shown(temperature),
    humidity: shown(humidity),
    vapourPressure: shown(pressure),
    dewPoint: shown(pressure && measuredDewPoint(pressure)),
    margin: shown(judged ? measuredMargin(pressure, temperature) : null),
    surfaceHumidity: shown(judged ? measuredSurfaceHumidity(pressure, temperature) : null),
    vapourExcess: shown(
      hasExcess ? propagate(pressure.value - outdoorPressure.value, [pressure, 1], [outdoorPressure, -1]) : null,
    ),
    timberMoisture: shown(timberMoisture),
  };
  const figures = place.hour === undefined ? worked : ofHour(worked, place.hour);
  const times = [place.temperature, place.humidity, place.timberMoisture].flatMap((latest) =>
    latest ? [latest.time] : [],
  );
  const at = times.length === 0 ? null : Math.max(...times);
  return {
    placeId: place.placeId,
    name: place.name,
    kind: place.kind,
    airPlaceId: air?.placeId ?? null,
    at,
    state: stateOf(place.kind, figures, place.hour === undefined ? at : 'hour', settings),
    ...figures,
  };
}

const ofHour = (worked: PlaceFigures, hour: HourFigures): PlaceFigures =>
  Object.fromEntries(
    figureNames.map((name) => {
      const [figure, value] = [worked[name], hour[name]];
      return [name, figure === null || value === null ? null : { ...figure, value }];
    }),
  ) as unknown as PlaceFigures;

type Judged = Readonly<
  Record<'temperature' | 'margin' | 'surfaceHumidity' | 'timberMoisture', { readonly value: number } | null>
>;

/** The state of a place whose figures are means of hours. */
export const stateInHour = (kind: PlaceKind, figures: Judged): PlaceState =>
  stateOf(kind, figures, 'hour', nowSettings);

function stateOf(
  kind: PlaceKind,
  figures: Judged,
  at: number | 'hour' | null,
  settings: typeof nowSettings,
): PlaceState {
  const temperature = figures.temperature?.value ?? null;
  const margin = figures.margin?.value ?? null;
  const atSurface = figures.surfaceHumidity?.value ?? null;
  const timberMoisture = figures.timberMoisture?.value ?? null;
  if (at === null) return { code: 'no-reading', tone: 'unknown', words: 'no reading yet' };
  if (temperature === null && timberMoisture === null) {
    if (at === 'hour') return { code: 'gap', tone: 'unknown', words: 'not measured' };
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
      ? { code: 'damp', tone: 'watch', words: `damp: ${RISK_HUMIDITY} % or more` }
      : { code: 'dry', tone: 'quiet', words: `under ${RISK_HUMIDITY} %` };
  }
  if (isCondensationHour(margin))
    return { code: 'condensing', tone: 'act', words: at === 'hour' ? 'moisture settled' : 'moisture is settling now' };
  if (risk) return { code: 'risk', tone: 'act', words: `${atSurface.toFixed(0)} % at the surface: mould can grow` };
  if (atSurface >= settings.closeHumidityPct) {
    return { code: 'close', tone: 'watch', words: `close: ${margin.toFixed(1)} K above the dew point` };
  }
  return { code: 'clear', tone: 'quiet', words: `clear by ${margin.toFixed(1)} K` };
}

function headline(places: readonly PlaceNow[], tense: 'now' | 'then'): Omit<DwellingNow, 'places'> {
  const about = (code: HeadlineAbout['code'], place: PlaceNow | null = null): HeadlineAbout => ({
    code,
    place: place?.name ?? null,
  });
  const now = tense === 'now';
  const surfaces = places
    .filter((place) => isSurface(place.kind) && place.margin !== null)
    .sort((a, b) => a.margin!.value - b.margin!.value);
  const coldest = surfaces[0];
  if (coldest === undefined) {
    return places.some((place) => place.at !== null)
      ? {
          headlineAbout: about('not-judged'),
          headline: `No surface can be judged ${now ? 'at the moment' : 'in this hour'}.`,
          detail: 'It takes a fresh reading of a ceiling surface and of the room’s temperature and humidity.',
        }
      : !now
        ? { headlineAbout: about('nothing-measured'), headline: 'Nothing was measured in this hour.', detail: '' }
        : {
            headlineAbout: about('no-readings'),
            headline: 'No readings yet.',
            detail: 'Connect a sensor or import a file; the Sensors page says how.',
          };
  }
  const margin = coldest.margin!;
  const sure = margin.plusMinus === null ? '' : ` ± ${margin.plusMinus.toFixed(1)}`;
  const side = margin.value > 0 ? 'above' : 'below';
  const detail = `Nearest to its dew point: ${coldest.name}, ${coldest.temperature!.value.toFixed(1)} °C, ${Math.abs(margin.value).toFixed(1)}${sure} K ${side} the dew point of the room.`;
  if (coldest.state.code === 'condensing')
    return {
      headlineAbout: about('condensing', coldest),
      headline: `Moisture ${now ? 'is settling' : 'settled'}: ${coldest.name}.`,
      detail,
    };
  const risky = surfaces.find((place) => place.state.code === 'risk');
  if (risky) return { headlineAbout: about('risk', risky), headline: `Too damp for comfort: ${risky.name}.`, detail };
  if (coldest.state.code === 'close')
    return {
      headlineAbout: about('close', coldest),
      headline: `Dry${now ? ' now' : ''}, but ${coldest.name} is close.`,
      detail,
    };
  const hidden = places.find(({ state }) => state.code === 'damp' || state.code === 'wet');
  if (hidden)
    return {
      headlineAbout: about('hidden', hidden),
      headline: `Dry in the room, damp out of sight: ${hidden.name}.`,
      detail,
    };
  return { headlineAbout: about('dry'), headline: now ? 'Dry now.' : 'Dry.', detail };
}
