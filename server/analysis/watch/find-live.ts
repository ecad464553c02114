import type { PlaceNow } from '../now.ts';
import { HOUR_MS } from '../vocabulary.ts';
import { condensingNow } from './condensing-now.ts';
import { caseBefore } from './find-events.ts';
import type { WatchHistory } from './history.ts';
import { noticeSettings, type WatchSettings } from './settings.ts';
import { scanCase } from './watch-case.ts';
import { subjectKey, type WatchEvent } from './watch-event.ts';

/** Whether an event rests on latest readings alone: the record of its hour will confirm it or not. */
export const isLive = ({ data }: Pick<WatchEvent, 'data'>): boolean => data.live === true;

/**
 * What begins in the hour that runs, as far as the latest readings tell: the rule for whole hours, with the readings in
 * the place of the record that is not there yet. An event is dated as that record would date it, so that the hour, when it
 * is over, finds the same event and its notice goes on.
 *
 * @param history whole hours up to the one that runs, without it
 * @param latest places as their fresh readings are
 * @param known events found before
 * @param readAt UTC milliseconds, within the hour that runs
 */
export function findLiveEvents(
  history: WatchHistory,
  latest: readonly PlaceNow[],
  settings: WatchSettings,
  known: readonly WatchEvent[],
  readAt: number,
): WatchEvent[] {
  if (!settings['condensing-now'].on) return [];
  const running = withRunningHour(history, latest);
  const scan = { from: history.start + history.hours * HOUR_MS, onceFrom: readAt };
  const open = new Set(known.filter(({ endedAt }) => endedAt === null).map(subjectKey));
  return condensingNow(running, settings)
    .filter((one) => !open.has(subjectKey(one)))
    .flatMap((one) =>
      scanCase(one, caseBefore(one, known, scan), running, history.hours, noticeSettings.gapHours)
        .filter(({ endedAt }) => endedAt === null)
        .map((event) => ({ ...event, data: { ...event.data, live: true, readAt } })),
    );
}

/** Surfaces that are at or under the dew point by their latest readings. */
export const isWetNow = ({ margin }: PlaceNow): boolean => margin !== null && margin.value <= 0;

function withRunningHour(history: WatchHistory, latest: readonly PlaceNow[]): WatchHistory {
  const places = history.places.map((place) => {
    const now = latest.find(({ placeId }) => placeId === place.id);
    const columns = Object.entries(place.hours).map(([name, column]) => {
      const longer = new Float64Array(history.hours + 1).fill(Number.NaN);
      longer.set(column.subarray(0, history.hours));
      longer[history.hours] = valueNow(now, name);
      return [name, longer] as const;
    });
    return { ...place, hours: Object.fromEntries(columns) as unknown as typeof place.hours };
  });
  return { ...history, hours: history.hours + 1, places };
}

function valueNow(now: PlaceNow | undefined, name: string): number {
  switch (name) {
    case 'temperature':
    case 'humidity':
    case 'vapourPressure':
    case 'margin':
    case 'surfaceHumidity':
      return now?.[name]?.value ?? Number.NaN;
    default:
      return Number.NaN;
  }
}
