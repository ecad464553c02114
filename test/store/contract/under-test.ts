import type { Store } from '../../../server/store/port.ts';

/** A database that tests may fill, close and open again. */
export interface TestDatabase {
  /** Opens it; the first time it is empty. */
  open(): Promise<Store>;
  remove(): Promise<void>;
}

/** The store under test. `store` is another one after `reopen`. */
export interface UnderTest {
  store: Store;
  reopen(): Promise<void>;
  /** Opens the same database once more, as another process would; closed after the test. */
  another(): Promise<Store>;
}
