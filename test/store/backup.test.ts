import { execFileSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { pino } from 'pino';
import { beforeEach, describe, expect, onTestFinished, test } from 'vitest';
import { createBackups } from '../../server/store/backups.ts';
import type { Dwelling, Store } from '../../server/store/port.ts';
import { checkBackup, restoreBackup, writeBackup } from '../../server/store/sqlite/backup.ts';
import { migrations } from '../../server/store/sqlite/migrations.ts';
import { tableSums } from '../../server/store/sqlite/table-sums.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { mountSmallDisk, smallDisksWork } from '../faults/small-disk.ts';
import { appendReadings, DAY, givenDwelling, MINUTE, message, NEW_YEAR, readingOf } from './contract/given.ts';

let folder: string;
let database: string;
let store: Store;
let home: Dwelling;
let next = 0;

const some = (count: number) =>
  Array.from({ length: count }, () => {
    const n = next++;
    return readingOf(home, `s${n % 5}`, 'temperature', NEW_YEAR + n * MINUTE, (n % 400) / 10);
  });

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-backup-'));
  mkdirSync(join(folder, 'data'));
  database = join(folder, 'data', 'coomb.db');
  store = await openSqliteStore(database);
  home = await givenDwelling(store);
  next = 0;
  await appendReadings(store, some(5000));
  await store.append({ receivedAt: NEW_YEAR, readings: [], quarantined: [message()] });
  while ((await store.sealNextDay(home.id, Math.floor((NEW_YEAR + 9 * DAY) / DAY), NEW_YEAR)) !== null);
  writeFileSync(join(folder, 'data', 'evidence-key.pem'), 'the key');
  onTestFinished(async () => {
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });
});

const order = (file = join(folder, 'one.backup')) => ({
  database,
  beside: [join(folder, 'data', 'evidence-key.pem'), join(folder, 'data', 'not-there')],
  to: { file },
  program: '9.9.9',
});
const sumsOf = (path: string) => {
  const db = new Database(path, { readonly: true });
  try {
    return tableSums(db);
  } finally {
    db.close();
  }
};
const restoreInto = (dataFolder: string, from: string, present: 'refuse' | 'set-aside' = 'refuse') =>
  restoreBackup({ from, dataFolder, databaseName: 'coomb.db', present });
const emptyFolder = (name = 'other'): string => {
  mkdirSync(join(folder, name));
  return join(folder, name);
};

describe('a backup', () => {
  test('goes round: every table, every sealed day and the key are the same in a new folder', async () => {
    const backup = await writeBackup(order());
    expect(backup).toMatchObject({
      readings: 5000,
      program: '9.9.9',
      schemaVersion: migrations.length,
      files: ['evidence-key.pem'],
    });
    expect(backup.seals).toEqual([
      { dwelling: home.slug, day: expect.any(Number), entry: expect.stringMatching(/^[0-9a-f]{64}$/) },
    ]);
    const other = emptyFolder();
    expect(restoreInto(other, backup.path)).toMatchObject({ setAside: null });
    expect(sumsOf(join(other, 'coomb.db'))).toEqual(sumsOf(database));
    expect(readFileSync(join(other, 'evidence-key.pem'), 'utf8')).toBe('the key');
    const restored = await openSqliteStore(join(other, 'coomb.db'));
    expect(await restored.checkSeals(home.id)).toEqual([]);
    const days = [0, Number.MAX_SAFE_INTEGER] as const;
    expect(await restored.daySeals(home.id, ...days)).toEqual(await store.daySeals(home.id, ...days));
    expect(await restored.countQuarantined()).toBe(1);
    await restored.close();
  });

  test('is readable by its owner alone, for it holds the key that signs packs', async () => {
    const { path } = await writeBackup(order());
    expect(statSync(path).mode & 0o777).toBe(0o600);
    const other = emptyFolder();
    restoreInto(other, path);
    for (const name of readdirSync(other)) expect(statSync(join(other, name)).mode & 0o777, name).toBe(0o600);
  });

  test('taken while readings are being written equals the store at one moment: all commits up to it, none after', async () => {
    let writing = true;
    let commits = 0;
    const load = (async () => {
      while (writing) {
        await appendReadings(store, some(50));
        commits++;
        await new Promise((resolve) => setImmediate(resolve));
      }
    })();
    const backups = createBackups({
      place: { engine: 'sqlite', file: database },
      beside: [],
      program: '1',
      settings: { folder: join(folder, 'backups'), everyHours: 24, keep: 3 },
      clock: Date.now,
      log: pino({ level: 'silent' }),
    });
    // the process takes a while to begin: readings come in before, during and after the copy
    const { path, readings, tables } = await backups.make();
    const commitsThen = commits;
    writing = false;
    await load;
    await backups.close();
    expect(commitsThen).toBeGreaterThan(3);
    expect(readings).toBeGreaterThanOrEqual(5000);
    expect(readings).toBeLessThanOrEqual(5000 + 50 * commitsThen);
    // whole commits only
    expect((readings - 5000) % 50).toBe(0);
    const copy = new Database(path, { readonly: true });
    onTestFinished(() => void copy.close());
    // readings were written in the order of time: the copy is everything before one moment
    const [count, last] = copy.prepare<[], [number, number]>('SELECT count(*), max(time) FROM reading').raw().get()!;
    expect(last).toBe(NEW_YEAR + (count - 1) * MINUTE);
    expect(tables.reading!.rows).toBe(count);
    expect(checkBackup(path).readings).toBe(count);
  });

  test('does not hold up the event loop that takes readings in for 50 ms', async () => {
    await appendReadings(store, some(100_000));
    const backups = createBackups({
      place: { engine: 'sqlite', file: database },
      beside: [],
      program: '1',
      settings: { folder: join(folder, 'backups'), everyHours: 24, keep: 3 },
      clock: Date.now,
      log: pino({ level: 'silent' }),
    });
    const longest = async (work: () => Promise<unknown>): Promise<number> => {
      let most = 0;
      let last = performance.now();
      // what this process itself used of the processor: another program on the machine is no fault of ours
      let used = process.cpuUsage();
      const look = (): void => {
        const now = performance.now();
        const { user, system } = process.cpuUsage(used);
        most = Math.max(most, Math.min(now - last, (user + system) / 1000));
        last = now;
        used = process.cpuUsage();
      };
      const timer = setInterval(look, 2);
      await work();
      look();
      clearInterval(timer);
      return most;
    };
    const elsewhere = await longest(() => backups.make());
    await backups.close();
    const here = await longest(() => writeBackup(order()));
    // on a slow computer as many times as long as it takes longer for the same work done here
    expect(elsewhere).toBeLessThan(Math.max(50, here / 10));
  });

  test('asked for twice in one second, by the program and by commands at once, is made every time', async () => {
    const backups = createBackups({
      place: { engine: 'sqlite', file: database },
      beside: [],
      program: '1',
      settings: { folder: join(folder, 'backups'), everyHours: 24, keep: 20 },
      clock: () => NEW_YEAR,
      log: pino({ level: 'silent' }),
    });
    await backups.make();
    const into = { ...order(), to: { folder: join(folder, 'backups'), moment: NEW_YEAR } };
    // while commands write, and their files are unfinished, the program looks for what was broken off
    const made = await Promise.all([writeBackup(into), backups.make(), writeBackup(into), writeBackup(into)]);
    await backups.make();
    await backups.close();
    expect(new Set(made.map(({ path }) => path)).size).toBe(4);
    const listed = backups.list();
    expect(listed.map(({ name }) => name)).toEqual(
      ['-6', '-5', '-4', '-3', '-2', ''].map((nth) => `coomb-2026-01-01T00-00-00Z${nth}.backup`),
    );
    for (const { path, at } of listed) {
      expect(at).toBe(NEW_YEAR);
      expect(checkBackup(path).readings).toBe(5000);
    }
    expect(readdirSync(join(folder, 'backups'))).toHaveLength(6);
  }, 60_000);

  test('that was broken off an hour ago is cleared away, and one that is being written is not', async () => {
    const into = join(folder, 'backups');
    mkdirSync(into);
    const [old, fresh] = ['coomb-2026-01-01T00-00-00Z.backup.part', 'coomb-2026-01-02T00-00-00Z.backup.part'];
    for (const name of [old!, fresh!]) writeFileSync(join(into, name), 'half');
    const anHourAgo = Date.now() / 1000 - 3600;
    utimesSync(join(into, old!), anHourAgo, anHourAgo);
    const backups = createBackups({
      place: { engine: 'sqlite', file: database },
      beside: [],
      program: '1',
      settings: { folder: into, everyHours: 24, keep: 3 },
      clock: () => NEW_YEAR,
      log: pino({ level: 'silent' }),
    });
    await backups.make();
    await backups.close();
    expect(readdirSync(into).sort()).toEqual(['coomb-2026-01-01T00-00-00Z.backup', fresh]);
  }, 60_000);

  test('refuses to write over a file', async () => {
    writeFileSync(join(folder, 'one.backup'), 'a letter');
    await expect(writeBackup(order())).rejects.toThrow(/is there already: name another/);
    expect(readFileSync(join(folder, 'one.backup'), 'utf8')).toBe('a letter');
  });
});

describe('a damaged backup', () => {
  test.each([
    ['cut short', (bytes: Buffer) => bytes.subarray(0, bytes.length >> 1)],
    [
      'with a page overwritten',
      (bytes: Buffer) => Buffer.from(bytes).fill(0x5a, bytes.length >> 1, (bytes.length >> 1) + 4096),
    ],
    ['that is text', () => Buffer.from('time,temperature_c\n'.repeat(500))],
    ['that is empty', () => Buffer.alloc(0)],
  ])('%s is named, and nothing is restored from it', async (_, damage) => {
    const { path } = await writeBackup(order());
    writeFileSync(path, damage(readFileSync(path)));
    const other = emptyFolder();
    expect(() => restoreInto(other, path)).toThrow(path);
    expect(() => restoreInto(other, path)).toThrow(/another backup|check the path/);
    expect(readdirSync(other)).toEqual([]);
  });

  test('in which one value was changed, so that the file is sound, is told by the table', async () => {
    const { path } = await writeBackup(order());
    const db = new Database(path);
    db.exec('DROP TRIGGER IF EXISTS reading_is_kept');
    for (const name of db
      .prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'reading'")
      .pluck()
      .all()) {
      db.exec(`DROP TRIGGER ${name}`);
    }
    const changed = db.prepare('UPDATE reading SET value = value + 1 WHERE time = ?').run(NEW_YEAR + 777 * MINUTE);
    expect(changed.changes).toBe(1);
    db.close();
    expect(() => restoreInto(emptyFolder(), path)).toThrow(/reading differs from what was backed up/);
  });

  test('by every flipped byte of its pages of readings is found', async () => {
    const { path } = await writeBackup(order());
    const sound = readFileSync(path);
    const db = new Database(path, { readonly: true });
    const root = db.prepare<[], number>("SELECT rootpage FROM sqlite_schema WHERE name = 'reading'").pluck().get()!;
    db.close();
    for (const offset of [100, 2000, 3000, 4090]) {
      const bytes = Buffer.from(sound);
      const at = (root - 1) * 4096 + offset;
      bytes[at] = bytes[at]! ^ 0x10;
      writeFileSync(path, bytes);
      let told = '';
      try {
        checkBackup(path);
        told = 'nothing';
      } catch (error) {
        told = (error as Error).message;
      }
      // a byte that no row and no structure uses may be anything
      if (told === 'nothing') expect(sumsOf(path).reading).toEqual(sumsOf(database).reading);
      else expect(told).toContain(path);
    }
  });
});

describe('restoring', () => {
  test('into a folder with data is refused, and with --replace that data is moved aside whole', async () => {
    const { path } = await writeBackup(order());
    await appendReadings(store, some(10));
    const before = sumsOf(database);
    await store.close();
    const data = join(folder, 'data');
    expect(() => restoreInto(data, path)).toThrow(/not empty.*--replace/);
    expect(sumsOf(database)).toEqual(before);
    const { setAside } = restoreInto(data, path, 'set-aside');
    expect(sumsOf(join(setAside!, 'coomb.db'))).toEqual(before);
    expect(readFileSync(join(setAside!, 'evidence-key.pem'), 'utf8')).toBe('the key');
    expect(sumsOf(database).reading!.rows).toBe(5000);
    store = await openSqliteStore(database);
    expect(await store.countReadings(home.id)).toBe(5000);
  });

  test('twice in one second moves both aside', async () => {
    const { path } = await writeBackup(order());
    const other = emptyFolder();
    const restore = () =>
      restoreBackup({ from: path, dataFolder: other, databaseName: 'coomb.db', present: 'set-aside' }, () => NEW_YEAR);
    expect([restore(), restore(), restore()].map(({ setAside }) => setAside)).toEqual([
      null,
      join(other, 'set-aside-2026-01-01T00-00-00Z'),
      join(other, 'set-aside-2026-01-01T00-00-00Z-2'),
    ]);
  });

  test('under a running program is refused', async () => {
    const { path } = await writeBackup(order());
    expect(() => restoreInto(join(folder, 'data'), path, 'set-aside')).toThrow(/running program uses .*stop it first/);
    expect(await store.countReadings(home.id)).toBe(5000);
  });

  test('what a newer program backed up is refused and says which is needed', async () => {
    const { path } = await writeBackup(order());
    const db = new Database(path);
    db.pragma(`user_version = ${migrations.length + 1}`);
    db.close();
    expect(() => restoreInto(emptyFolder(), path)).toThrow(/newer version of the program.*install that version/);
  });

  test('a database that is no backup is refused', () => {
    expect(() => restoreInto(emptyFolder(), database)).toThrow(/is no backup of this program/);
  });

  test('a file that is not there is said to be so', () => {
    expect(() => restoreInto(emptyFolder(), join(folder, 'none.backup'))).toThrow(/none.backup/);
  });
});

describe('when it cannot be written', () => {
  test.skipIf(!smallDisksWork)(
    'a full disk is said to be full with what is needed, and no half of a backup stays',
    async () => {
      const disk = mountSmallDisk(256);
      await expect(writeBackup(order(join(disk, 'one.backup')))).rejects.toMatchObject({
        fault: 'full',
        message: expect.stringMatching(/needs about \d+ MiB.*free some space/),
      });
      expect(readdirSync(disk)).toEqual([]);
    },
  );

  test.skipIf(process.getuid?.() !== 0 || !smallDisksWork)(
    'a folder mounted read-only is said to be so, with what to do',
    async () => {
      const disk = mountSmallDisk(4096);
      execFileSync('mount', ['-o', 'remount,ro', disk]);
      await expect(writeBackup(order(join(disk, 'one.backup')))).rejects.toMatchObject({
        fault: 'read-only',
        message: expect.stringMatching(/may not write there.*choose another folder/),
      });
    },
  );

  test.skipIf(process.getuid?.() === 0)('a folder without the right to write is said to be so', async () => {
    const shut = emptyFolder('shut');
    chmodSync(shut, 0o500);
    await expect(writeBackup(order(join(shut, 'one.backup')))).rejects.toMatchObject({ fault: 'read-only' });
  });
});

describe('on schedule', () => {
  const scheduled = (clock: () => number, change: { folder?: string; keep?: number } = {}) =>
    createBackups({
      place: { engine: 'sqlite', file: database },
      beside: [],
      program: '1',
      settings: { folder: change.folder ?? join(folder, 'backups'), everyHours: 24, keep: change.keep ?? 2 },
      clock,
      log: pino({ level: 'silent' }),
    });

  test('the first is made at once, as many as wanted are kept, and the oldest go', async () => {
    let now = NEW_YEAR + 10 * DAY;
    const backups = scheduled(() => now);
    await backups.make();
    expect(backups.newestAt()).toBe(now);
    for (let day = 1; day <= 3; day++) {
      now += DAY;
      await backups.make();
    }
    expect(backups.list().map(({ at }) => at)).toEqual([now, now - DAY]);
    expect(backups.reasons()).toEqual([]);
    now += 49 * 3_600_000;
    expect(backups.reasons()).toEqual(['the last backup is 49 hours old, and one is due every 24']);
    await backups.close();
  }, 60_000);

  test('only files that it made are taken away', async () => {
    let now = NEW_YEAR;
    mkdirSync(join(folder, 'backups'));
    writeFileSync(join(folder, 'backups', 'photos.backup'), 'mine');
    const backups = scheduled(() => now, { keep: 1 });
    await backups.make();
    now += DAY;
    await backups.make();
    expect(readdirSync(join(folder, 'backups')).sort()).toEqual(['coomb-2026-01-02T00-00-00Z.backup', 'photos.backup']);
    await backups.close();
  }, 60_000);

  test('one that failed says why until one works, and older ones stay', async () => {
    writeFileSync(join(folder, 'a-file'), '');
    const backups = scheduled(() => NEW_YEAR, { folder: join(folder, 'a-file', 'backups') });
    await expect(backups.make()).rejects.toThrow(/Check the path/);
    expect(backups.reasons()).toEqual([expect.stringMatching(/^no backup could be made: .*a-file/)]);
    expect(backups.state().lastFailure).toMatchObject({ at: NEW_YEAR });
    await backups.close();
  });

  test('one whose process is killed under way leaves nothing that looks like a backup', async () => {
    await appendReadings(store, some(50_000));
    const backups = scheduled(() => NEW_YEAR);
    const made = backups.make();
    const failed = expect(made).rejects.toThrow(/broken off/);
    await new Promise((resolve) => setTimeout(resolve, 30));
    await backups.close();
    await failed;
    expect(backups.list()).toEqual([]);
    expect(existsSync(join(folder, 'data', 'coomb.db'))).toBe(true);
  });
});
