import { mouldStages } from '../../physics/mould-stage.ts';
import type { CasesOf } from './watch-case.ts';

/** The mould index of a place passes a stage. Each stage is an event of its own. */
export const mouldStagePassed: CasesOf = ({ places }, all) => {
  const { stage: first, fallBy } = all['mould-stage'];
  const stages = mouldStages.filter(({ stage }) => stage >= first && stage > 0);
  return places.flatMap((place) => {
    const { mouldIndex, hours } = place;
    if (mouldIndex === null) return [];
    return stages.map(({ stage, visible }) => ({
      rule: 'mould-stage' as const,
      placeId: place.id,
      sensorId: null,
      detail: String(stage),
      // the index is held through hours that are not known
      known: (k: number) => !Number.isNaN(mouldIndex[k]!),
      begins(i: number) {
        if (!(mouldIndex[i]! >= stage)) return null;
        return {
          since: i,
          severity: visible ? ('warning' as const) : ('caution' as const),
          chance: null,
          data: {
            stage,
            visible,
            index: mouldIndex[i]!,
            humidityPct: Number.isNaN(hours.surfaceHumidity[i]!) ? null : hours.surfaceHumidity[i]!,
          },
        };
      },
      ends: (i: number) => (mouldIndex[i]! <= stage - fallBy ? i : null),
    }));
  });
};
