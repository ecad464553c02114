import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { StoreError } from '../../../server/store/port.ts';
import { connect } from '../../../server/store/sqlite/database.ts';
import { migrate, migrations } from '../../../server/store/sqlite/migrations.ts';
import { openSqliteStore } from '../../../server/store/sqlite.ts';
import { givenDwelling } from '../contract/given.ts';
import { newDatabasePath, withDatabase } from './folder.ts';

const versionOf = (path: string) => withDatabase(path, (db) => db.pragma('user_version', { simple: true }));
const tablesOf = (path: string) =>
  withDatabase(path, (db) =>
    db
      .prepare<[], { name: string; strict: number; wr: number }>(
        "SELECT name, strict, wr FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'",
      )
      .all(),
  );

describe('the schema', () => {
  test('is made from nothing, with a note of when and by which version of the program', async () => {
    const path = newDatabasePath();
    const before = Date.now();
    await (await openSqliteStore(path)).close();
    expect(versionOf(path)).toBe(migrations.length);
    const notes = withDatabase(path, (db) =>
      db.prepare<[], { version: number; applied_at: string; program: string }>('SELECT * FROM migration').all(),
    );
    const { version } = JSON.parse(readFileSync(new URL('../../../package.json', import.meta.url), 'utf8'));
    expect(notes.map((note) => note.version)).toEqual(migrations.map((_, k) => k + 1));
    for (const note of notes) {
      expect(note.program).toBe(version);
      expect(Date.parse(note.applied_at)).toBeGreaterThanOrEqual(before);
    }
  });

  test('is left alone when it is up to date', async () => {
    const path = newDatabasePath();
    const store = await openSqliteStore(path);
    await givenDwelling(store);
    await store.close();
    const notes = () => withDatabase(path, (db) => db.prepare('SELECT * FROM migration').all());
    const first = notes();
    const again = await openSqliteStore(path);
    expect(await again.dwellings()).toHaveLength(1);
    await again.close();
    expect(notes()).toEqual(first);
  });

  test('has strict tables only, and the dwelling leads every key but those of the dwelling and of what belongs to none', async () => {
    const path = newDatabasePath();
    await (await openSqliteStore(path)).close();
    const tables = tablesOf(path);
    expect(tables.filter(({ strict }) => strict === 0)).toEqual([]);
    const ofNoDwelling = [
      'dwelling',
      'quarantine',
      'quarantine_not_kept',
      'migration',
      'last_mark',
      'installation',
      'last_dwelling',
      'person',
      'session',
      'trail',
      'home_group',
      'person_reach',
      'person_of_group',
    ];
    withDatabase(path, (db) => {
      const keyed = tables.filter(({ name }) => !ofNoDwelling.includes(name));
      expect(keyed.length).toBeGreaterThan(8);
      for (const { name } of keyed) {
        const key = db.prepare('SELECT name FROM pragma_table_info(?) WHERE pk > 0 ORDER BY pk').pluck().all(name);
        expect(key[0], `primary key of ${name}`).toBe('dwelling_id');
        const foreign = db.prepare('SELECT "from" FROM pragma_foreign_key_list(?) WHERE seq = 0').pluck().all(name);
        expect(new Set(foreign), `foreign keys of ${name}`).toEqual(new Set(['dwelling_id']));
      }
    });
  });

  test('that a newer program wrote is refused untouched, and the error says what to do', async () => {
    const path = newDatabasePath();
    await (await openSqliteStore(path)).close();
    const newer = migrations.length + 1;
    withDatabase(path, (db) => db.pragma(`user_version = ${newer}`));
    const bytes = readFileSync(path);
    await expect(openSqliteStore(path)).rejects.toMatchObject({ name: 'StoreError', fault: 'newer-schema' });
    await expect(openSqliteStore(path)).rejects.toThrow(/newer version of the program.*backup/);
    expect(readFileSync(path).equals(bytes)).toBe(true);
  });

  test('of another program is refused untouched', async () => {
    const path = newDatabasePath();
    withDatabase(path, (db) => db.exec('CREATE TABLE recipe (name TEXT)'));
    await expect(openSqliteStore(path)).rejects.toThrow(/another program/);
    expect(tablesOf(path).map(({ name }) => name)).toEqual(['recipe']);
  });

  test('is taken onward one whole step at a time: a step that fails leaves the steps before it', () => {
    const path = newDatabasePath();
    const db = connect(path);
    const later = [
      ...migrations,
      'CREATE TABLE later (x INTEGER) STRICT',
      'CREATE TABLE half (x INTEGER) STRICT; nonsense',
    ];
    expect(() => migrate(db, later)).toThrow(/nonsense/);
    expect(db.pragma('user_version', { simple: true })).toBe(migrations.length + 1);
    const names = db.prepare('SELECT name FROM sqlite_schema').pluck().all();
    expect(names).toContain('later');
    expect(names).not.toContain('half');
    migrate(db, [...later.slice(0, -1), 'CREATE TABLE half (x INTEGER) STRICT']);
    expect(db.pragma('user_version', { simple: true })).toBe(migrations.length + 2);
    expect(() => migrate(db)).toThrow(StoreError);
    db.close();
  });
});

describe('a file that is not a database', () => {
  test.each([
    ['text', Buffer.from('time,temperature_c\n'.repeat(100))],
    ['noise', Buffer.from(Array.from({ length: 8192 }, (_, k) => (k * 7919) % 251))],
  ])('but %s is refused and not written to', async (_, content) => {
    const path = newDatabasePath();
    writeFileSync(path, content);
    await expect(openSqliteStore(path)).rejects.toMatchObject({
      fault: 'failed',
      message: expect.stringMatching(/check the path/),
    });
    expect(readFileSync(path).equals(content)).toBe(true);
  });

  test('in a folder that does not exist is an error that says so', async () => {
    await expect(openSqliteStore(`${newDatabasePath()}/none/coomb.sqlite`)).rejects.toMatchObject({
      name: 'StoreError',
      fault: 'failed',
      message: expect.stringMatching(/folder/),
    });
  });
});
