import type { Arrivals } from '../analysis/health/finding.ts';
import { healthSettings } from '../analysis/health/settings.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';

/**
 * Watches how far the newest time stamp of each sensor lies behind its arrival while the program runs: the store keeps
 * when a reading was measured and not when it came. Forgotten at a restart.
 */
export interface ArrivalWatch {
  /** Readings that have just been written. */
  came(readings: readonly { readonly dwellingId: number; readonly sensorKey: string; readonly time: number }[]): void;
  /** null: nothing of the sensor has come since the start */
  of(dwellingId: number, sensorKey: string): Arrivals | null;
}

const MOST_HOURS = healthSettings.windowMs / HOUR_MS;

export function createArrivalWatch(clock: () => number): ArrivalWatch {
  const sensors = new Map<string, { times: number[]; lags: number[] }>();
  const keyOf = (dwellingId: number, sensorKey: string): string => `${dwellingId}/${sensorKey}`;
  return {
    came(readings) {
      const now = clock();
      const newest = new Map<string, number>();
      for (const { dwellingId, sensorKey, time } of readings) {
        const key = keyOf(dwellingId, sensorKey);
        newest.set(key, Math.max(newest.get(key) ?? Number.NEGATIVE_INFINITY, time));
      }
      for (const [key, time] of newest) {
        const kept = sensors.get(key) ?? { times: [], lags: [] };
        sensors.set(key, kept);
        const last = kept.times.length - 1;
        const sameHour = last >= 0 && Math.floor(kept.times[last]! / HOUR_MS) === Math.floor(now / HOUR_MS);
        if (!sameHour) {
          kept.times.push(now);
          kept.lags.push(now - time);
        } else if (now - time < kept.lags[last]!) {
          // what is sent late now and then is not the clock's doing
          kept.lags[last] = now - time;
        }
        if (kept.times.length > MOST_HOURS) {
          kept.times.shift();
          kept.lags.shift();
        }
      }
    },
    of(dwellingId, sensorKey) {
      const kept = sensors.get(keyOf(dwellingId, sensorKey));
      return kept ? { times: Float64Array.from(kept.times), lags: Float64Array.from(kept.lags) } : null;
    },
  };
}
