import { type CasesOf, meanBack } from './watch-case.ts';

/** Measured timber is over the moisture at which it may decay. */
export const timberWet: CasesOf = ({ places }, all) => {
  const { limitPct, hours, endPct } = all['timber-wet'];
  return places.flatMap((place) => {
    const moisture = place.hours.timberMoisture;
    const fewest = Math.ceil(hours / 4);
    const meanAt = (i: number): number | null => meanBack(moisture, i, hours, fewest);
    return place.kind !== 'loft-timber' && place.kind !== 'behind-lining'
      ? []
      : [
          {
            rule: 'timber-wet' as const,
            placeId: place.id,
            sensorId: null,
            detail: '',
            known: (k) => !Number.isNaN(moisture[k]!),
            begins(i) {
              const mean = meanAt(i);
              if (mean === null || mean <= limitPct) return null;
              let since = i;
              while (since > 0 && !(moisture[since - 1]! <= limitPct) && since > i - hours) since -= 1;
              return {
                since,
                severity: 'warning' as const,
                chance: null,
                data: { moisturePct: mean, limitPct, hours },
              };
            },
            ends(i) {
              const mean = meanAt(i);
              return mean !== null && mean <= endPct ? i : null;
            },
          },
        ];
  });
};
