import type { CasesOf } from './watch-case.ts';

/** No sensor at all is heard: the broker, the network or the power is gone, not one battery. */
export const readingsStopped: CasesOf = ({ heard, heardBefore }, all) => {
  const { hours } = all['readings-stopped'];
  return [
    {
      rule: 'readings-stopped' as const,
      placeId: null,
      sensorId: null,
      detail: '',
      known: () => true,
      begins(i) {
        let since = i + 1;
        while (since > 0 && heard[since - 1] === 0) since -= 1;
        const quiet = i + 1 - since;
        // a home from which nothing was ever heard has not stopped
        if (quiet < hours || (since === 0 && !heardBefore)) return null;
        return { since, severity: 'caution' as const, chance: null, data: { hours: quiet } };
      },
      ends: (i) => (heard[i] === 1 ? i : null),
    },
  ];
};
