import type { OnboardingFaultWhat } from '../analysis/onboarding-faults.ts';
import { type HomeFound, lacksOf, nothingFound } from '../store/onboarding-rows.ts';
import type { HomeWanted, Store } from '../store/port.ts';
import { faultAt, type HomeInFile, inOrder, type OnboardingFault, readHomes } from './onboarding-file.ts';

/** How many things a file would add, or did. */
export interface OnboardingCounts {
  readonly dwellings: number;
  readonly places: number;
  readonly sensors: number;
  readonly mappings: number;
  readonly accounts: number;
}

export interface Onboarding {
  readonly faults: readonly OnboardingFault[];
  /** homes without a fault that lack something, and what all of them lack */
  readonly homes: readonly HomeInFile[];
  readonly lacking: OnboardingCounts;
  /** slugs of all homes of the file that are or will be there, for their labels */
  readonly named: readonly string[];
}

/** What a device signs in with, to be put into it: it is kept nowhere. */
export interface DevicePassword {
  readonly dwelling: string;
  readonly sensor: string;
  readonly username: string;
  readonly password: string;
}

type Reads = Pick<Store, 'findDwelling' | 'places' | 'sensors' | 'placements' | 'mappings' | 'deviceAccounts'>;

/** Looks a file through beside what is there, and changes nothing. */
export async function lookThrough(store: Reads, text: string): Promise<Onboarding> {
  const file = readHomes(text);
  const faults = [...file.faults];
  const [mappings, accounts] = await Promise.all([store.mappings(), store.deviceAccounts()]);
  const homes: HomeInFile[] = [];
  const sums = { dwellings: 0, places: 0, sensors: 0, mappings: 0, accounts: 0 };
  const named: string[] = [];
  for (const home of file.homes) {
    const { slug } = home.dwelling;
    const known = await store.findDwelling(slug);
    const id = known?.id ?? -1;
    const found: HomeFound =
      known === null
        ? nothingFound
        : {
            places: await store.places(id),
            sensors: await store.sensors(id),
            placements: await store.placements(id),
            mappings: mappings.filter(({ dwellingId }) => dwellingId === id),
            accounts: accounts.filter(({ dwellingId }) => dwellingId === id),
          };
    const own: OnboardingFault[] = [];
    const fault = (row: number, column: OnboardingFault['column'], what: OnboardingFaultWhat): void => {
      own.push(faultAt({ row, column, dwelling: slug }, what));
    };
    if (known !== null && known.zone !== home.dwelling.zone) {
      fault(home.row, 'zone', { code: 'zone-differs', data: { dwelling: slug, zone: known.zone } });
    }
    for (const { name, kind, faces } of home.places) {
      const row = home.placeRows.get(name)!;
      const there = found.places.find((place) => place.name === name);
      if (there !== undefined && there.kind !== kind) {
        fault(row, 'place_kind', { code: 'kind-differs', data: { place: name, kind: there.kind } });
      }
      const isRoom = (place: { name: string; kind: string }) => place.name === faces && place.kind === 'room-air';
      if (faces !== null && !home.places.some(isRoom) && !found.places.some(isRoom)) {
        fault(row, 'faces', { code: 'no-such-room', data: { room: faces, dwelling: slug } });
      }
    }
    for (const { username, mapping, row } of home.sensors) {
      const account = accounts.find((one) => one.username === username);
      if (account !== undefined && account.dwellingId !== id) {
        fault(row, 'sensor', { code: 'username-elsewhere', data: { username: account.username } });
      } else if (account !== undefined && account.revokedAt !== null) {
        fault(row, 'account', { code: 'account-revoked', data: { username: account.username } });
      }
      const mapped = mappings.find(({ topicPattern }) => topicPattern === mapping?.topicPattern);
      if (mapped !== undefined && mapped.dwellingId !== id) {
        fault(row, 'topic', { code: 'topic-elsewhere', data: { topic: mapped.topicPattern } });
      }
    }
    faults.push(...own);
    if (own.length > 0) continue;
    named.push(slug);
    const lacks = lacksOf(
      found,
      wantedOf(home, () => ''),
    );
    const isNew = known === null ? 1 : 0;
    sums.dwellings += isNew;
    sums.places += lacks.places.length;
    sums.sensors += lacks.sensors.length;
    sums.mappings += lacks.mappings.length;
    sums.accounts += lacks.accounts.length;
    const lists = [lacks.places, lacks.sensors, lacks.stands, lacks.mappings, lacks.accounts];
    if (isNew === 1 || lists.some((list) => list.length > 0)) homes.push(home);
  }
  return { faults: inOrder(faults), homes, lacking: sums, named };
}

function wantedOf(
  { dwelling, area, buildType, group, places, sensors }: HomeInFile,
  hashOf: (username: string) => string,
): HomeWanted {
  return {
    dwelling,
    area,
    buildType,
    group,
    places,
    sensors: sensors.map(({ key, name, model, place, mapping, username }) => ({
      key,
      name,
      model,
      place,
      mapping,
      account: username === null ? null : { username, passwordHash: hashOf(username) },
    })),
  };
}

export interface OnboardingParts {
  readonly store: Pick<Store, 'onboard'>;
  readonly clock: () => number;
  /** a new random password, and the digest that is kept of it */
  readonly makePassword: () => { readonly password: string; readonly hash: string };
  /** keeps passwords of a home before its accounts are made: one that was lost could never be found again */
  readonly keepPasswords?: (passwords: readonly DevicePassword[]) => void;
}

/**
 * Adds the homes of a file that was looked through, each as a whole or not at all. Gives what was added, and the passwords
 * of the accounts that were made.
 */
export async function addHomes(
  { store, clock, makePassword, keepPasswords }: OnboardingParts,
  homes: readonly HomeInFile[],
): Promise<{ readonly added: OnboardingCounts; readonly passwords: readonly DevicePassword[] }> {
  const sums = { dwellings: 0, places: 0, sensors: 0, mappings: 0, accounts: 0 };
  const passwords: DevicePassword[] = [];
  for (const home of homes) {
    const made = new Map<string, DevicePassword>();
    const hashes = new Map<string, string>();
    for (const { key, username } of home.sensors) {
      if (username === null) continue;
      const { password, hash } = makePassword();
      hashes.set(username, hash);
      made.set(username, { dwelling: home.dwelling.slug, sensor: key, username, password });
    }
    keepPasswords?.([...made.values()]);
    const outcome = await store.onboard(
      wantedOf(home, (username) => hashes.get(username)!),
      clock(),
    );
    sums.dwellings += outcome.dwellings;
    sums.places += outcome.places;
    sums.sensors += outcome.sensors;
    sums.mappings += outcome.mappings;
    sums.accounts += outcome.accounts.length;
    for (const username of outcome.accounts) passwords.push(made.get(username)!);
  }
  return { added: sums, passwords };
}
