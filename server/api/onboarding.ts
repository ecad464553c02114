import type { SensorLabel } from '../evidence/labels.ts';
import { passwordHash } from '../ingest/account.ts';
import { addHomes, lookThrough } from '../ingest/onboarding.ts';
import { onboardingColumns } from '../ingest/onboarding-file.ts';
import type { Store } from '../store/port.ts';
import { newToken } from './access/token.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { receiveBytes, type Upload } from './upload.ts';

export interface OnboardingApi {
  readonly store: Store;
  readonly clock: () => number;
  /** homes, mappings and accounts changed */
  readonly changed: () => Promise<void>;
}

const MOST_BYTES = 16 << 20;
const MOST_HOMES = 100;

type Names = 'listOnboardingColumns' | 'checkOnboarding' | 'onboardHomes' | 'getLabels';

/** Many homes from one file, and labels for their sensors. */
export function onboardingHandlers({ store, clock, changed }: OnboardingApi): Pick<Handlers, Names> {
  const textOf = async (upload: Upload): Promise<string> =>
    (await receiveBytes(upload, MOST_BYTES, 'A file of homes')).toString('utf8');
  return {
    async listOnboardingColumns() {
      return Object.entries(onboardingColumns).map(([name, meaning]) => ({ name, meaning }));
    },
    async checkOnboarding({ upload }) {
      const { faults, lacking, named } = await lookThrough(store, await textOf(upload));
      return { faults: [...faults], lacking, dwellings: [...named] };
    },
    async onboardHomes({ upload }) {
      const { faults, homes, named } = await lookThrough(store, await textOf(upload));
      const makePassword = () => {
        const password = newToken().slice(0, 24);
        return { password, hash: passwordHash(password) };
      };
      try {
        const { added, passwords } = await addHomes({ store, clock, makePassword }, homes);
        return { faults: [...faults], added, dwellings: [...named], passwords: [...passwords] };
      } finally {
        await changed();
      }
    },
    async getLabels({ query }) {
      const slugs = query.dwellings.split(',').filter((slug) => slug !== '');
      if (slugs.length > MOST_HOMES) {
        throw new RequestProblem('bad-request', `Ask for labels of at most ${MOST_HOMES} homes at a time.`);
      }
      const labels = await labelsOf(store, slugs, query.base);
      if (labels.length === 0) throw new RequestProblem('not-found', 'These homes have no sensors.');
      const { labelsHtml, labelsPdf } = await import('../evidence/labels.ts');
      return query.format === 'pdf'
        ? { type: 'application/pdf', bytes: await labelsPdf(labels, 'coomb') }
        : { type: 'text/html; charset=utf-8', bytes: Buffer.from(labelsHtml(labels, 'coomb')) };
    },
  };
}

/** A label for every sensor of homes, in their order. */
export async function labelsOf(
  store: Pick<Store, 'findDwelling' | 'places' | 'sensors' | 'placements'>,
  slugs: readonly string[],
  base: string,
): Promise<SensorLabel[]> {
  const { placingAddress } = await import('../evidence/labels.ts');
  const labels: SensorLabel[] = [];
  for (const slug of slugs) {
    const dwelling = await store.findDwelling(slug);
    if (dwelling === null) continue;
    const [places, sensors, placements] = await Promise.all([
      store.places(dwelling.id),
      store.sensors(dwelling.id),
      store.placements(dwelling.id),
    ]);
    for (const { id, key, name } of sensors) {
      const now = placements.find(({ sensorId, to }) => sensorId === id && to === null);
      labels.push({
        home: dwelling.name,
        sensor: name,
        key,
        place: places.find((place) => place.id === now?.placeId)?.name ?? null,
        address: placingAddress(base, slug, key),
      });
    }
  }
  return labels;
}
