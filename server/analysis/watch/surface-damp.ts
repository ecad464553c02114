import { atRisk } from '../../physics/hours-over.ts';
import { isSurface } from '../vocabulary.ts';
import { excessAt } from './history.ts';
import { chanceOver, wetnessOf } from './sureness.ts';
import { type CasesOf, countBack } from './watch-case.ts';

/** A surface that is damp for many hours: mould can grow there long before water is seen. */
export const surfaceDamp: CasesOf = ({ places }, all) => {
  const { limitPct, hours, ofHours, endHours } = all['surface-damp'];
  return places.flatMap((place) => {
    const air = places.find(({ id }) => id === place.airPlaceId);
    if (!isSurface(place.kind) || air === undefined) return [];
    const { surfaceHumidity, temperature } = place.hours;
    const damp = (k: number): boolean | null =>
      Number.isNaN(surfaceHumidity[k]! + temperature[k]!)
        ? null
        : atRisk(surfaceHumidity[k]!, temperature[k]!, limitPct);
    return [
      {
        rule: 'surface-damp' as const,
        placeId: place.id,
        sensorId: null,
        detail: '',
        known: (k) => damp(k) !== null,
        begins(i) {
          if (damp(i) !== true) return null;
          const back = countBack(i, ofHours, damp);
          if (back.held < hours) return null;
          let highest = i;
          for (let k = back.first; k <= i; k++) if (surfaceHumidity[k]! > surfaceHumidity[highest]!) highest = k;
          const now = wetnessOf(place, air, i);
          return {
            since: back.first,
            severity: 'caution' as const,
            chance: now === null ? null : chanceOver(now.humidity, limitPct),
            data: {
              hours: back.held,
              ofHours,
              limitPct,
              highestPct: surfaceHumidity[highest]!,
              surfaceHumidityPct: surfaceHumidity[i]!,
              surfaceHumidityPlusMinusPct: now?.humidity.plusMinus ?? null,
              surfaceC: temperature[i]!,
              excessPa: excessAt({ places }, air, i),
            },
          };
        },
        ends(i) {
          const back = countBack(i, ofHours, damp);
          if (back.known < ofHours / 2 || back.held > endHours) return null;
          for (let k = i; k >= 0 && k > i - ofHours; k--) if (damp(k) === true) return k + 1;
          return Math.max(0, i - ofHours + 1);
        },
      },
    ];
  });
};
