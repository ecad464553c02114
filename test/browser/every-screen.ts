import { placeKinds } from '../../server/analysis/vocabulary.ts';
import type { Place } from '../../server/api/contract/dwelling.ts';
import type { Screen } from '../../web/src/screen.ts';

/** An address of every kind of screen; a kind that is added does not compile until it is here. Places have one each. */
const addresses: Record<Exclude<Screen['kind'], 'place'>, string> = {
  section: '/',
  tonight: '/tonight',
  'before-after': '/before-after',
  loft: '/loft',
  lining: '/lining',
  diary: '/diary',
  notices: '/notices',
  'notice-rules': '/notices/rules',
  'forecast-score': '/notices/forecast-score',
  recipients: '/notices/recipients',
  sensors: '/sensors',
  connect: '/sensors/connect',
  importing: '/sensors/import',
  calibrate: '/sensors/calibrate',
  placing: '/sensors/placing',
  standing: '/sensors/stand?sensor=slope',
  evidence: '/evidence',
  settings: '/settings',
  people: '/settings/people',
  portfolio: '/portfolio',
  nowhere: '/nothing-is-here',
};

/** Every screen of a home, and the story of a place of every kind, by name. */
export const everyScreen: readonly string[] = [
  ...Object.keys(addresses),
  ...placeKinds.map((kind) => `the story of a place, ${kind}`),
];

/** Where a screen is; null: the home has no place of that kind. */
export function addressOf(screen: string, places: readonly Pick<Place, 'id' | 'kind'>[]): string | null {
  if (screen in addresses) return addresses[screen as keyof typeof addresses];
  const place = places.find(({ kind }) => screen.endsWith(`, ${kind}`));
  return place === undefined ? null : `/place/${place.id}`;
}
