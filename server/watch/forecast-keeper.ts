import { setImmediate } from 'node:timers/promises';
import { DateTime } from 'luxon';
import { tonight } from '../analysis/forecast/night.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { whileThere } from '../store/while-there.ts';
import { type ForecastStore, forecastDwelling } from './tonight.ts';

/** Local hours as of which tonight's forecast is kept, to be scored when the night is over. */
export const keptHours = [12, 18] as const;

/** The hour's last readings and their records are given so long to come in, ms. */
const SETTLE_MS = 10 * 60_000;
const LOOK_MS = 60_000;

export interface ForecastKeeperParts {
  readonly store: ForecastStore & Pick<Store, 'dwellings' | 'keptForecasts' | 'keepForecast' | 'doAlone'>;
  readonly clock: () => number;
  readonly log: { error(detail: object, message: string): void };
}

/** Keeps the forecasts of every dwelling at the hours at which they are scored. */
export interface ForecastKeeper {
  /** Keeps what is due and was not kept yet; resolves with how many forecasts that were. */
  keepDue(): Promise<number>;
  close(): Promise<void>;
}

/**
 * Looks every minute for a forecast that is due. A forecast that was missed because the program was not running is made
 * good as long as its night runs, as of the hour at which it was due; the store keeps one for each place, night and hour.
 */
export function createForecastKeeper({ store, clock, log }: ForecastKeeperParts): ForecastKeeper {
  /** what was tried, by dwelling: the surfaces that had not enough then are not asked again every minute */
  const tried = new Map<number, string>();
  let running: Promise<number> = Promise.resolve(0);

  async function keepOf(dwelling: Dwelling, now: number): Promise<number> {
    const night = tonight(now, dwelling.zone);
    const due = keptHours
      .map((hour) => ({ hour, asOf: DateTime.fromISO(night.date, { zone: dwelling.zone }).set({ hour }).toMillis() }))
      .filter(({ asOf }) => asOf + SETTLE_MS <= now);
    const key = `${night.date} ${due.length}`;
    if (due.length === 0 || tried.get(dwelling.id) === key) return 0;
    const there = await store.keptForecasts(dwelling.id, night.date);
    let kept = 0;
    for (const { hour, asOf } of due) {
      if (there.some((one) => one.night === night.date && one.hour === hour)) continue;
      for (const { place, forecast } of await forecastDwelling(store, dwelling, asOf)) {
        if (forecast.kind === 'not-enough') continue;
        const { chance, minimumMargin, at, basis } = forecast;
        const isNew = await store.keepForecast({
          dwellingId: dwelling.id,
          placeId: place.id,
          night: night.date,
          hour,
          madeAt: now,
          chance,
          ...minimumMargin,
          at,
          basis,
        });
        if (isNew) kept += 1;
      }
    }
    tried.set(dwelling.id, key);
    return kept;
  }

  async function keepAll(): Promise<number> {
    const now = clock();
    let kept = 0;
    for (const dwelling of await store.dwellings()) {
      await setImmediate();
      try {
        const keep = () => whileThere(store, dwelling.id, () => keepOf(dwelling, now));
        kept += (await store.doAlone('forecasts', dwelling.id, keep)) ?? 0;
      } catch (error) {
        log.error({ err: error, dwelling: dwelling.slug }, 'the forecast of a night could not be kept; trying again');
      }
    }
    return kept;
  }

  const keepDue = (): Promise<number> => {
    running = running.then(keepAll, keepAll);
    return running;
  };
  const timer = setInterval(() => {
    keepDue().catch((error: unknown) => log.error({ err: error }, 'forecasts could not be kept; trying again'));
  }, LOOK_MS);
  timer.unref();
  return {
    keepDue,
    async close() {
      clearInterval(timer);
      await running.catch(() => 0);
    },
  };
}
