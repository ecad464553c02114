import { saturationPressureOverWater } from '../../physics/saturation.ts';
import { HOUR_MS, isSurface, type PlaceKind } from '../vocabulary.ts';
import type { HealthFinding, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf, runsOf, spanWords } from './shared.ts';

/** For how long the air of a place may be saturated before the humidity element is doubted, ms. */
export function saturationAllowed(kind: PlaceKind, settings: HealthSettings): number {
  if (kind === 'room-air' || kind === 'supply-air') return settings.saturatedRoomMs;
  return kind === 'outdoor-air' ? settings.saturatedOutdoorMs : settings.saturatedLoftMs;
}

/**
 * Whether saturation that lasts too long is left out of the numbers. Not behind a lining and at surfaces: there it may be
 * the very trouble that is looked for, and leaving it out would hide it.
 */
export const saturationLeftOut = (kind: PlaceKind): boolean =>
  kind === 'room-air' || kind === 'loft-air' || kind === 'outdoor-air' || kind === 'supply-air';

/**
 * The humidity stays at 100 % for longer than the air of such a place does. A surface is that wet where the room's vapour
 * says so; then the sensor is right.
 */
export function stuckAt100(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { series, kind } = window;
  if (series.humidity === undefined || kind === null) return [];
  const { times, values } = series.humidity;
  const allowed = saturationAllowed(kind, settings);
  const leftOut = saturationLeftOut(kind);
  return runsOf(values.length, (k) => values[k]! >= settings.saturatedPct)
    .map(({ first, last }) => ({ from: times[first]!, to: times[last]!, readings: last - first + 1 }))
    .filter(({ from, to, readings }) => to - from >= allowed && readings >= settings.overFullReadings)
    .filter(({ from, to }) => !isSurface(kind) || !(expectedAtSurface(window, from, to) >= settings.dampSurfacePct))
    .map(({ from, to, readings }) => ({
      code: 'stuck-at-100' as const,
      severity: 'warning' as const,
      message: leftOut
        ? `Its humidity stood at 100 % for ${spanWords(to - from)}, longer than air does here: water lies on the element.`
        : `Its humidity stood at 100 % for ${spanWords(to - from)}: either water lies on the element, or it is truly that wet there.`,
      data: { hours: (to - from) / HOUR_MS, readings, allowedHours: allowed / HOUR_MS },
      from,
      to,
      whatToDo: leftOut
        ? 'Take it down, let it dry in a warm dry room for a day, and see whether it comes back to what another sensor shows; shield it from drips.'
        : 'Look there for water before you blame the sensor; then let the sensor dry in a warm room and compare it with another.',
      effect:
        leftOut && to - from >= allowed + 2 * HOUR_MS
          ? ({ kind: 'not-counted' } as const)
          : ({ kind: 'shown' } as const),
    }));
}

/** Median humidity that the room's vapour makes at a surface over a span, %; NaN: not known. */
function expectedAtSurface({ places, placeId, start }: SensorWindow, from: number, to: number): number {
  const own = places.find((place) => place.placeId === placeId);
  if (own === undefined) return Number.NaN;
  const expected: number[] = [];
  for (let i = 0; i < own.temperature.length; i++) {
    const begins = start + i * HOUR_MS;
    if (begins < from || begins >= to) continue;
    const humidity = (100 * own.vapourPressure[i]!) / saturationPressureOverWater(own.temperature[i]!);
    if (!Number.isNaN(humidity)) expected.push(humidity);
  }
  return medianOf(expected);
}
