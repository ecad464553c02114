import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { storeContract } from './contract.ts';

storeContract('SQLite', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'coomb-store-'));
  return {
    open: () => openSqliteStore(join(folder, 'coomb.sqlite')),
    remove: () => rm(folder, { recursive: true }),
  };
});
