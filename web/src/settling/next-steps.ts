import type { Dwelling, Phase, Place, Sensor } from '../../../server/api/contract/dwelling.ts';
import { isUnmeasured } from './usual-section.ts';

/** Something without which a home is not settled, and where it is done. */
export interface NextStep {
  readonly kind: 'section' | 'sensor' | 'place' | 'room' | 'surface' | 'outdoors' | 'phase';
  readonly done: boolean;
  readonly path: string;
}

/** What is known of a home, as far as the steps need it. */
export interface Settling extends Pick<Dwelling, 'section' | 'sectionConfirmed'> {
  readonly places: readonly Pick<Place, 'id' | 'kind'>[];
  readonly sensors: readonly {
    readonly placements: readonly Pick<Sensor['placements'][number], 'placeId' | 'to'>[];
    readonly series: readonly Pick<Sensor['series'][number], 'last'>[];
  }[];
  readonly phases: readonly Pick<Phase, 'kind'>[];
}

/** All steps in the order in which they are best done. Each follows from what is there: none is ticked off by hand. */
export function nextSteps({ section, sectionConfirmed, places, sensors, phases }: Settling): NextStep[] {
  const heard = sensors.filter(({ series }) => series.some(({ last }) => last !== null));
  const watched = new Set(
    heard.flatMap(({ placements }) => placements.flatMap(({ placeId, to }) => (to === null ? [placeId] : []))),
  );
  const watches = (kind: Place['kind']): boolean =>
    places.some((place) => place.kind === kind && watched.has(place.id));
  return [
    { kind: 'section', done: sectionConfirmed || !isUnmeasured(section), path: '/settings#section' },
    { kind: 'sensor', done: heard.length > 0, path: '/sensors#connect' },
    // one that was taken away had its place
    {
      kind: 'place',
      done: heard.length > 0 && heard.every(({ placements }) => placements.length > 0),
      path: '/sensors',
    },
    { kind: 'room', done: watches('room-air'), path: '/sensors' },
    { kind: 'surface', done: watches('ceiling-surface'), path: '/sensors' },
    { kind: 'outdoors', done: watches('outdoor-air'), path: '/sensors' },
    { kind: 'phase', done: phases.some(({ kind }) => kind === 'before'), path: '/diary' },
  ];
}
