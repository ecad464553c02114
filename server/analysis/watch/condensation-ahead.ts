import { DateTime } from 'luxon';
import { nightOn } from '../forecast/night.ts';
import { HOUR_MS } from '../vocabulary.ts';
import { excessAt, type NightAhead, type WatchHistory } from './history.ts';
import type { WatchSettings } from './settings.ts';
import type { CasesOf, WatchCase } from './watch-case.ts';

/**
 * Condensation is likely in the coming night: told in the evening, over in the morning. Nights that follow a wet one are not
 * told anew: they are the event that `condensing-now` keeps open.
 */
export const condensationAhead: CasesOf = (history, settings) => {
  const nights = new Map<string, NightAhead>();
  for (const made of history.nights.values()) {
    for (const night of made) nights.set(`${night.placeId}/${night.date}`, night);
  }
  return [...nights.values()].map(({ placeId, date }) => nightCase(history, settings, placeId, date));
};

/** The case of one night at one surface, also where no forecast speaks of it any more. */
export function nightCase(history: WatchHistory, all: WatchSettings, placeId: number, date: string): WatchCase {
  const { start, zone, nights, places } = history;
  const surface = places.find(({ id }) => id === placeId);
  const air = places.find(({ id }) => id === surface?.airPlaceId);
  const { chancePct, fromHour, afterDryHours } = all['condensation-ahead'];
  const earliest = DateTime.fromISO(date, { zone }).set({ hour: fromHour }).toMillis();
  const end = nightOn(date, zone).to;
  return {
    rule: 'condensation-ahead',
    placeId,
    sensorId: null,
    detail: date,
    known: () => true,
    begins(i) {
      const time = start + (i + 1) * HOUR_MS;
      const night = nights.get(start + i * HOUR_MS)?.find((one) => one.placeId === placeId && one.date === date);
      if (night === undefined || time < earliest || time >= end || 100 * night.chance < chancePct) return null;
      if (surface?.hours.margin.subarray(Math.max(0, i + 1 - afterDryHours), i + 1).some((margin) => margin <= 0))
        return null;
      return {
        since: i,
        severity: 'caution',
        chance: night.chance,
        data: {
          date,
          nightFrom: night.from,
          nightTo: night.to,
          likeliestAt: night.likeliestAt,
          excessPa: excessAt(history, air, i),
          marginK: night.margin.value,
          marginLowK: night.margin.low,
          marginHighK: night.margin.high,
        },
      };
    },
    ends: (i) => (start + (i + 1) * HOUR_MS >= end ? i + 1 : null),
  };
}

/** Whether the coming night is judged at a moment: in the evening, by the clock of the home. */
export const isEvening = (time: number, zone: string, { 'condensation-ahead': { fromHour } }: WatchSettings): boolean =>
  DateTime.fromMillis(time, { zone }).hour >= fromHour;
