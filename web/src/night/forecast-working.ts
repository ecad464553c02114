import type { Working } from '../../../server/api/contract/comparison.ts';
import type { Tonight } from '../../../server/api/contract/tonight.ts';
import { forecastWorkingWords as t } from '../words/forecast-working.ts';
import { when } from '../words/format.ts';
import { sectionWords } from '../words/section.ts';

type Input = Working['inputs'][number];

export const chancePath = (placeId: number): string => `tonight.${placeId}.chance`;
export const lowestPath = (placeId: number): string => `tonight.${placeId}.lowest`;

/** How the chance and the lowest margin of every surface were worked out. */
export const forecastWorkings = (tonight: Tonight, zone: string): readonly Working[] =>
  tonight.surfaces.flatMap((surface): Working[] => {
    if (surface.kind !== 'forecast') return [];
    const { working: w, placeId, basis } = surface;
    const n = t.names;
    const of = (name: string, value: number | string | null, unit = ''): Input => ({ name, value, unit });
    const errors = [
      of(n.pastNights, w.pastNights),
      of(n.error, w.pastErrorK, 'K'),
      of(n.sensors, w.sensorUncertaintyK, 'K'),
      ...(w.hoursSeen === 0 ? [] : [of(n.hoursSeen, w.hoursSeen, 'h'), of(n.lowestSeen, w.lowestSeenK, 'K')]),
    ];
    return [
      {
        figure: chancePath(placeId),
        formula: t.chance,
        inputs: [...errors, of(n.pastRate, 100 * w.pastRate, '%')],
        uncertainty: t.chanceUncertain,
        source: t.source,
      },
      {
        figure: lowestPath(placeId),
        formula: t.lowest,
        inputs: [
          of(n.surface, w.expected.surfaceC, '°C'),
          of(n.dewPoint, w.expected.dewPointC, '°C'),
          of(n.room, w.expected.roomC, '°C'),
          of(n.cold, w.expected.coldC, '°C'),
          of(n.f, w.f),
          of(n.coldLag, w.coldLagHours, 'h'),
          of(n.roomLag, w.roomLagHours, 'h'),
          ...errors,
          of(n.basis, sectionWords.tonight.bases[basis]),
          ...(w.feedIssued === null ? [] : [of(n.feed, when(zone, w.feedIssued, 'full'))]),
        ],
        uncertainty: t.lowestUncertain,
        source: t.source,
      },
    ];
  });
