import { atRisk } from '../../physics/hours-over.ts';
import type { PhaseKind } from '../vocabulary.ts';
import { HOUR_MS } from '../vocabulary.ts';
import { chanceOver, wetnessOf } from './sureness.ts';
import { type CasesOf, countBack } from './watch-case.ts';

/** Phases in which a layer may be damp from the works themselves. */
const drying: ReadonlySet<PhaseKind> = new Set(['works', 'drying-out']);

/** The layer behind the lining is damp for most of a week, and not because the works are still drying out. */
export const hiddenLayerDamp: CasesOf = ({ places, phases, start }, all) => {
  const { limitPct, days, sharePct, endSharePct } = all['hidden-layer-damp'];
  const span = days * 24;
  const isDrying = (k: number): boolean => {
    const time = start + k * HOUR_MS;
    return phases.some(({ kind, from, to }) => drying.has(kind) && from <= time && (to === null || time < to));
  };
  return places.flatMap((place) => {
    if (place.kind !== 'behind-lining') return [];
    const { surfaceHumidity, temperature } = place.hours;
    const damp = (k: number): boolean | null =>
      Number.isNaN(surfaceHumidity[k]! + temperature[k]!)
        ? null
        : atRisk(surfaceHumidity[k]!, temperature[k]!, limitPct);
    return [
      {
        rule: 'hidden-layer-damp' as const,
        placeId: place.id,
        sensorId: null,
        detail: '',
        known: (k) => damp(k) !== null,
        begins(i) {
          if (damp(i) !== true || isDrying(i) || isDrying(Math.max(0, i - span + 1))) return null;
          const back = countBack(i, span, damp);
          if (back.known < span / 2 || back.held < (back.known * sharePct) / 100) return null;
          const now = wetnessOf(place, place, i);
          return {
            since: back.first,
            severity: 'caution' as const,
            chance: now === null ? null : chanceOver(now.humidity, limitPct),
            data: {
              days,
              limitPct,
              dampSharePct: (100 * back.held) / back.known,
              humidityPct: surfaceHumidity[i]!,
              humidityPlusMinusPct: now?.humidity.plusMinus ?? null,
              temperatureC: temperature[i]!,
            },
          };
        },
        ends(i) {
          const back = countBack(i, span, damp);
          if (back.known < span / 2 || back.held > (back.known * endSharePct) / 100) return null;
          for (let k = i; k >= 0 && k > i - span; k--) if (damp(k) === true) return k + 1;
          return Math.max(0, i - span + 1);
        },
      },
    ];
  });
};
