import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, HourMeans, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';

/** A surface or the loft warmer than the room while it is cold outside; outdoors warmer and steadier than the room. */
export function swappedPlaces(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { places, placeId, kind, facesPlaceId } = window;
  const own = places.find((place) => place.placeId === placeId);
  const rooms = places.filter((place) => place.kind === 'room-air' && place.placeId !== placeId);
  const room = rooms.find((place) => place.placeId === facesPlaceId) ?? rooms[0];
  if (own === undefined || room === undefined || kind === null || kind === 'room-air' || kind === 'supply-air')
    return [];
  if (kind === 'outdoor-air') return outdoors(window, own, room, settings);
  const cold =
    places.find((place) => place.kind === 'outdoor-air') ??
    places.find((place) => place.kind === 'loft-air' && place.placeId !== placeId);
  if (cold === undefined) return [];
  let hours = 0;
  let warmer = 0;
  let sum = 0;
  for (let i = 0; i < own.temperature.length; i++) {
    const above = own.temperature[i]! - room.temperature[i]!;
    if (!(room.temperature[i]! - cold.temperature[i]! >= settings.swappedDifferenceK) || Number.isNaN(above)) continue;
    hours++;
    sum += above;
    if (above >= settings.swappedK) warmer++;
  }
  if (hours < settings.swappedHours || warmer < settings.swappedShare * hours) return [];
  return [finding(window, own, room, { hours, warmer, meanK: sum / hours })];
}

function outdoors(window: SensorWindow, own: HourMeans, room: HourMeans, settings: HealthSettings): HealthFinding[] {
  let hours = 0;
  let warmer = 0;
  const outside = { sum: 0, squares: 0 };
  const inside = { sum: 0, squares: 0 };
  const add = (to: { sum: number; squares: number }, value: number): void => {
    to.sum += value;
    to.squares += value * value;
  };
  for (let i = 0; i < own.temperature.length; i++) {
    const above = own.temperature[i]! - room.temperature[i]!;
    if (Number.isNaN(above)) continue;
    hours++;
    add(outside, own.temperature[i]!);
    add(inside, room.temperature[i]!);
    if (above >= settings.swappedK) warmer++;
  }
  if (hours < settings.swappedHours || warmer < settings.swappedShare * hours) return [];
  const variance = ({ sum, squares }: { sum: number; squares: number }): number => squares / hours - (sum / hours) ** 2;
  // a heat wave is warmer than the room too, but never steadier
  if (!(variance(outside) < variance(inside))) return [];
  return [finding(window, own, room, { hours, warmer, meanK: (outside.sum - inside.sum) / hours })];
}

function finding(
  window: SensorWindow,
  own: HourMeans,
  room: HourMeans,
  { hours, warmer, meanK }: { hours: number; warmer: number; meanK: number },
): HealthFinding {
  return {
    code: 'swapped-places',
    severity: 'warning',
    message: `${own.name} reads warmer than ${room.name} in ${warmer} of ${hours} hours, by ${meanK.toFixed(1)} K on average: the two sensors seem to stand at each other's places.`,
    data: { warmerByK: meanK, hoursWarmer: warmer, hours, ownPlace: own.name, roomPlace: room.name },
    from: window.start,
    to: window.start + own.temperature.length * HOUR_MS,
    whatToDo:
      'Warm each sensor in your hand for a minute and see which of them answers, then tell the right place from the date it has stood there.',
    effect: { kind: 'shown' },
  };
}
