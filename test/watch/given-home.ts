import type { Dwelling, IncomingReading, Store } from '../../server/store/port.ts';
import { givenDwelling, HOUR } from '../store/contract/given.ts';

export { HOUR } from '../store/contract/given.ts';
export const minutes = (n: number): number => n * 60_000;

export const BEGIN = Date.UTC(2026, 0, 4, 0);
/** Hours in which the slope is under the dew point of the room, by 0.5 K and more. */
export const spellOf = { from: BEGIN + 5 * 24 * HOUR + 2 * HOUR, to: BEGIN + 5 * 24 * HOUR + 9 * HOUR };
/** Nothing at all is heard. */
const stopOf = { from: BEGIN + 8 * 24 * HOUR + 3 * HOUR, to: BEGIN + 8 * 24 * HOUR + 12 * HOUR };
/** The loft's sensor says nothing from here on. */
const loftUntil = BEGIN + 9 * 24 * HOUR;

/** A room, its slope, a loft and outdoors, and one person who wants to hear of everything but at night. */
export async function givenHome(store: Store): Promise<Dwelling> {
  const dwelling = await givenDwelling(store);
  for (const [key, kind] of [
    ['room', 'room-air'],
    ['slope', 'ceiling-surface'],
    ['loft', 'loft-air'],
    ['out', 'outdoor-air'],
  ] as const) {
    const place = await store.addPlace({ dwellingId: dwelling.id, name: key, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(dwelling.id, key);
    await store.placeSensor(dwelling.id, sensor.id, place.id, 0);
  }
  await store.addRecipient({
    dwellingId: dwelling.id,
    name: 'Sam',
    channel: 'email',
    address: 'sam@example.org',
    secret: null,
    language: 'en',
    rules: { codes: null, minimumSeverity: 'note' },
    quietHours: { fromMinute: 22 * 60, toMinute: 7 * 60, breakFor: ['condensing-now'] },
    weeklySummary: true,
    dailyDigest: false,
    active: true,
    unsubscribedAt: null,
  });
  return dwelling;
}

/**
 * Readings of `[from, to)`, every 15 minutes. The room is at 19 °C and 50 % (a dew point of 8.3 °C by the Magnus formula of
 * WMO-No. 8), the slope at 14 °C but for the spell, when it is at 6 °C; small swings keep the sensors from looking stuck.
 */
export function homeReadings(dwellingId: number, from: number, to: number): IncomingReading[] {
  const readings: IncomingReading[] = [];
  const first = Math.ceil(from / minutes(15)) * minutes(15);
  for (let time = first; time < to; time += minutes(15)) {
    if (time < BEGIN || (time >= stopOf.from && time < stopOf.to)) continue;
    const k = time / minutes(15);
    const swing = Math.sin(k / 7) * 0.4 + Math.sin(k / 3) * 0.2;
    const wet = time >= spellOf.from && time < spellOf.to;
    const one = (sensorKey: string, quantity: 'temperature' | 'humidity', value: number): void => {
      readings.push({ dwellingId, sensorKey, quantity, time, value: Number(value.toFixed(2)) });
    };
    one('room', 'temperature', 19 + swing);
    one('room', 'humidity', 50 + swing);
    one('slope', 'temperature', (wet ? 6 : 14) + swing);
    one('out', 'temperature', 4 + 3 * swing);
    one('out', 'humidity', 85 + swing);
    if (time >= loftUntil) continue;
    one('loft', 'temperature', 6 + 2 * swing);
    one('loft', 'humidity', 75 + swing);
  }
  return readings;
}
