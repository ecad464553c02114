import { HOUR_MS } from '../vocabulary.ts';
import { type CasesOf, meanBack } from './watch-case.ts';

/** The loft's air holds more vapour than its own before phase or outdoor air explains: room air leaks in, or it is not aired. */
export const loftWetter: CasesOf = ({ places, start }, all) => {
  const { days, riseOverBeforePa, overOutdoorsPa, endSharePct } = all['loft-wetter'];
  const span = days * 24;
  const outdoor = places.find(({ kind }) => kind === 'outdoor-air');
  if (outdoor === undefined) return [];
  const outside = outdoor.hours.vapourPressure;
  return places.flatMap((place) => {
    if (place.kind !== 'loft-air') return [];
    const own = place.hours.vapourPressure;
    const excess = (k: number): number => own[k]! - outside[k]!;
    const meanAt = (i: number): number | null => meanBack(excess, i, span, span / 2);
    const base = (i: number): number | null => {
      const { before } = place;
      // the mean must not reach back into the before phase
      return before !== null && start + (i - span) * HOUR_MS >= before.until ? before.excessPa : null;
    };
    const limitAt = (i: number): number => {
      const before = base(i);
      return before === null ? overOutdoorsPa : before + riseOverBeforePa;
    };
    return [
      {
        rule: 'loft-wetter' as const,
        placeId: place.id,
        sensorId: null,
        detail: '',
        known: (k) => !Number.isNaN(excess(k)),
        begins(i) {
          const mean = meanAt(i);
          if (mean === null || mean < limitAt(i)) return null;
          return {
            since: Math.max(0, i - span + 1),
            severity: 'caution' as const,
            chance: null,
            data: {
              days,
              excessPa: mean,
              beforePa: base(i),
              limitPa: limitAt(i),
              loftHumidityPct: meanBack(place.hours.humidity, i, span, 1),
            },
          };
        },
        ends(i) {
          const mean = meanAt(i);
          const before = base(i);
          const limit =
            before === null ? (overOutdoorsPa * endSharePct) / 100 : before + (riseOverBeforePa * endSharePct) / 100;
          return mean !== null && mean <= limit ? i : null;
        },
      },
    ];
  });
};
