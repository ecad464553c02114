import type { DeviceAccount, HomeWanted, Mapping, Place, Placement, Sensor } from './port.ts';

/** What there is of a home before it is filled up. */
export interface HomeFound {
  readonly places: readonly Place[];
  readonly sensors: readonly Sensor[];
  readonly placements: readonly Placement[];
  readonly mappings: readonly Mapping[];
  /** of this home */
  readonly accounts: readonly DeviceAccount[];
}

export const nothingFound: HomeFound = { places: [], sensors: [], placements: [], mappings: [], accounts: [] };

/** What a home lacks of what is wanted. */
export interface HomeLacks {
  readonly places: HomeWanted['places'];
  readonly sensors: HomeWanted['sensors'];
  /** of a sensor that has stood nowhere yet: one that was moved since stays where it is */
  readonly stands: readonly { readonly key: string; readonly place: string }[];
  readonly mappings: readonly Pick<Mapping, 'topicPattern' | 'sensorKey' | 'values' | 'time'>[];
  readonly accounts: readonly Pick<DeviceAccount, 'username' | 'passwordHash' | 'sensorKey'>[];
}

export function lacksOf(found: HomeFound, wanted: HomeWanted): HomeLacks {
  const idOf = new Map(found.sensors.map(({ key, id }) => [key, id]));
  const hasStood = (key: string): boolean => found.placements.some(({ sensorId }) => sensorId === idOf.get(key));
  return {
    places: wanted.places.filter(({ name }) => !found.places.some((place) => place.name === name)),
    sensors: wanted.sensors.filter(({ key }) => !idOf.has(key)),
    stands: wanted.sensors.flatMap(({ key, place }) => (place === null || hasStood(key) ? [] : [{ key, place }])),
    mappings: wanted.sensors.flatMap(({ key: sensorKey, mapping }) =>
      mapping === null || found.mappings.some(({ topicPattern }) => topicPattern === mapping.topicPattern)
        ? []
        : [{ ...mapping, sensorKey, time: null }],
    ),
    accounts: wanted.sensors.flatMap(({ key: sensorKey, account }) =>
      account === null || found.accounts.some(({ username }) => username === account.username)
        ? []
        : [{ ...account, sensorKey }],
    ),
  };
}
