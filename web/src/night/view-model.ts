import type { PlaceNow } from '../../../server/api/contract/figures.ts';
import type { MatchedNights, Night, TypicalPlace } from '../../../server/api/contract/played-night.ts';

export type ShownNight = Night;
type Tone = PlaceNow['state']['tone'];

const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;

/** Every place as it was in one hour of a night, in the form that the sheet shows now. */
export function placesInHour(night: Night, hour: number): PlaceNow[] {
  const at = new Date(Date.parse(night.start) + hour * HOUR_MS).toISOString();
  return night.places.map((place) => {
    const figure = (name: keyof typeof place.figures) => {
      const value = place.figures[name].values[hour] ?? null;
      return value === null ? null : { value, plusMinus: place.figures[name].plusMinus[hour] ?? null };
    };
    return {
      placeId: place.placeId,
      name: place.name,
      kind: place.kind,
      airPlaceId: place.airPlaceId,
      position: place.position,
      at,
      state: place.states[hour]!,
      temperature: figure('temperature'),
      humidity: figure('humidity'),
      vapourPressure: figure('vapourPressure'),
      dewPoint: figure('dewPoint'),
      margin: figure('margin'),
      surfaceHumidity: figure('surfaceHumidity'),
      vapourExcess: figure('vapourExcess'),
      timberMoisture: figure('timberMoisture'),
      trends: [],
      findings: [],
    };
  });
}

/** The gravest state of any surface in each hour; unknown where none was judged. */
export function tonesOf(night: Night): Tone[] {
  const surfaces = night.places.filter(({ kind }) => kind === 'ceiling-surface' || kind === 'control-surface');
  return Array.from({ length: night.hours }, (_, hour) => {
    const tones = surfaces.map(({ states }) => states[hour]?.tone ?? 'unknown');
    return (['act', 'watch', 'quiet'] as const).find((tone) => tones.includes(tone)) ?? 'unknown';
  });
}

/** A local date some days on. */
export const dayAfter = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);

export type Matched = Extract<MatchedNights, { kind: 'matched' }>;

/** A place as it typically was, in the form that the sheet shows now; without a ±, for it is no measurement error. */
export function typicalNow(place: TypicalPlace): PlaceNow {
  const figure = (name: keyof TypicalPlace['figures']) => {
    const typical = place.figures[name] ?? null;
    return typical === null ? null : { value: typical.value, plusMinus: null };
  };
  return {
    placeId: place.placeId,
    name: place.name,
    kind: place.kind,
    airPlaceId: null,
    position: place.position,
    at: null,
    state: place.state,
    temperature: figure('temperature'),
    humidity: figure('humidity'),
    vapourPressure: figure('vapourPressure'),
    dewPoint: figure('dewPoint'),
    margin: figure('margin'),
    surfaceHumidity: figure('surfaceHumidity'),
    vapourExcess: figure('vapourExcess'),
    timberMoisture: figure('timberMoisture'),
    trends: [],
    findings: [],
  };
}
