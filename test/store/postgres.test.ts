import { afterAll, beforeAll, describe, test } from 'vitest';
import { storeContract } from './contract.ts';
import { programs, startServer, type TestServer, whyNot } from './postgres-server.ts';

if (programs === null) {
  describe('a store in PostgreSQL', () => test.skip(whyNot));
} else {
  let server: TestServer;
  beforeAll(async () => {
    server = await startServer();
  });
  afterAll(async () => {
    await server?.stop();
  });
  storeContract('PostgreSQL', () => server.database());
}
