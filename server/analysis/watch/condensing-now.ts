import { isSurface } from '../vocabulary.ts';
import { excessAt } from './history.ts';
import { chanceUnder, wetnessOf } from './sureness.ts';
import type { CasesOf } from './watch-case.ts';
import { countBack } from './watch-case.ts';

/**
 * Moisture settles on a surface: hours at or under the dew point of the room. In the hour that runs, the latest readings
 * stand for its record (`find-live.ts`).
 */
export const condensingNow: CasesOf = ({ places }, all) => {
  const settings = all['condensing-now'];
  return places.flatMap((place) => {
    const air = places.find(({ id }) => id === place.airPlaceId);
    if (!isSurface(place.kind) || air === undefined) return [];
    const { margin } = place.hours;
    const known = (k: number): boolean => !Number.isNaN(margin[k]!);
    const wet = (k: number): boolean | null => (known(k) ? margin[k]! <= 0 : null);
    return [
      {
        rule: 'condensing-now' as const,
        placeId: place.id,
        sensorId: null,
        detail: '',
        known,
        begins(i) {
          if (!(margin[i]! <= 0)) return null;
          let since = i;
          while (since > 0 && wet(since - 1) === true) since -= 1;
          if (i - since + 1 < settings.hours && margin[i]! > -settings.clearK) return null;
          const figures = wetnessOf(place, air, i);
          return {
            since,
            severity: 'warning' as const,
            chance: figures === null ? null : chanceUnder(figures.margin, 0),
            data: {
              hours: i - since + 1,
              marginK: margin[i]!,
              marginPlusMinusK: figures?.margin.plusMinus ?? null,
              surfaceC: place.hours.temperature[i]!,
              dewPointC: place.hours.temperature[i]! - margin[i]!,
              roomC: air.hours.temperature[i]!,
              roomHumidityPct: air.hours.humidity[i]!,
              excessPa: excessAt({ places }, air, i),
            },
          };
        },
        ends(i) {
          const dry = (k: number): boolean | null => (known(k) ? margin[k]! > settings.dryK : null);
          const back = countBack(i, settings.dryHours, dry);
          if (back.known < settings.dryHours * 0.75 || back.held < back.known) return null;
          return Math.max(0, i - settings.dryHours + 1);
        },
      },
    ];
  });
};
