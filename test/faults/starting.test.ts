import { once } from 'node:events';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, it, onTestFinished } from 'vitest';
import { newDataFolder, startProgram } from './program.ts';

it('a start that fails after it has begun to listen: the program ends with the reason, and whoever keeps it running can start it anew', async () => {
  const data = await newDataFolder();
  onTestFinished(data.remove);
  // what is asked for last of all that a start needs of the database
  const db = new Database(join(data.folder, 'coomb.db'));
  db.exec('ALTER TABLE recipient RENAME COLUMN daily_digest TO elsewhere');
  db.close();

  const program = startProgram({ dataFolder: data.folder, from: 'source' });
  onTestFinished(() => program.kill());
  const [code] = (await once(program.process, 'exit')) as [number | null];
  expect(code).toBe(1);
  expect(program.log.join('')).toMatch(/The database could not do this: .*daily_digest/);
}, 60_000);
