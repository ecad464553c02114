import { afterEach, beforeEach, describe } from 'vitest';
import type { Store } from '../../server/store/port.ts';
import { accessContract } from './contract/access.ts';
import { buildUpContract } from './contract/build-ups.ts';
import { calibrationContract } from './contract/calibrations.ts';
import { dwellingContract } from './contract/dwellings.ts';
import { exampleContract } from './contract/examples.ts';
import { forecastContract } from './contract/forecasts.ts';
import { hourKeeperContract } from './contract/hour-keeper.ts';
import { hourContract } from './contract/hours.ts';
import { mappingContract } from './contract/mappings.ts';
import { noticeContract } from './contract/notices.ts';
import { onboardingContract } from './contract/onboarding.ts';
import { outboxContract } from './contract/outbox.ts';
import { photoContract } from './contract/photos.ts';
import { portfolioContract } from './contract/portfolio.ts';
import { processContract } from './contract/processes.ts';
import { provenanceContract } from './contract/provenance.ts';
import { quarantineContract } from './contract/quarantine.ts';
import { readingContract } from './contract/readings.ts';
import { shareContract } from './contract/shares.ts';
import type { TestDatabase, UnderTest } from './contract/under-test.ts';

const contracts = {
  dwellings: dwellingContract,
  readings: readingContract,
  calibrations: calibrationContract,
  mappings: mappingContract,
  'build-ups': buildUpContract,
  quarantine: quarantineContract,
  provenance: provenanceContract,
  outbox: outboxContract,
  access: accessContract,
  forecasts: forecastContract,
  hours: hourContract,
  'hour-keeper': hourKeeperContract,
  notices: noticeContract,
  examples: exampleContract,
  photos: photoContract,
  shares: shareContract,
  portfolio: portfolioContract,
  onboarding: onboardingContract,
  processes: processContract,
} satisfies Record<string, (given: UnderTest) => void>;

/**
 * What every engine must do, whatever it is made of. Each test gets an empty database from `create`.
 */
export function storeContract(engine: string, create: () => Promise<TestDatabase>): void {
  describe(`a store in ${engine}`, () => {
    let database: TestDatabase;
    const others: Store[] = [];
    const underTest: UnderTest = {
      store: undefined as unknown as Store,
      async reopen() {
        await underTest.store.close();
        underTest.store = await database.open();
      },
      async another() {
        const store = await database.open();
        others.push(store);
        return store;
      },
    };
    beforeEach(async () => {
      database = await create();
      underTest.store = await database.open();
    });
    afterEach(async () => {
      for (const store of [underTest.store, ...others.splice(0)]) await store.close();
      await database.remove();
    });

    for (const contract of Object.values(contracts)) contract(underTest);
  });
}
