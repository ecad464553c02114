import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { StoreError } from '../../../server/store/port.ts';
import { connect, type Database } from '../../../server/store/postgres/database.ts';
import { migrate, migrations, readVersion } from '../../../server/store/postgres/migrations.ts';
import { detachPartition, partitionKeeper, partitionsOf } from '../../../server/store/postgres/partitions.ts';
import { openPostgresStore } from '../../../server/store/postgres.ts';
import { connect as connectSqlite } from '../../../server/store/sqlite/database.ts';
import { migrate as migrateSqlite } from '../../../server/store/sqlite/migrations.ts';
import { dwellingCalled } from '../contract/given.ts';
import { programs, startServer, type TestServer, whyNot } from '../postgres-server.ts';

/** Tables of the installation, which belong to no dwelling; they are few and small. */
const ofNoDwelling = [
  'dwelling',
  'quarantine',
  'quarantine_not_kept',
  'migration',
  'installation',
  'last_dwelling',
  'person',
  'session',
  'trail',
  'device_name',
  'home_group',
  'person_reach',
  'person_of_group',
];

interface Key {
  readonly table: string;
  readonly name: string;
  readonly kind: 'primary' | 'unique' | 'foreign' | 'unique index';
  readonly columns: string[];
  readonly referred: string | null;
  readonly referredColumns: string[] | null;
}

describe.skipIf(programs === null)(`the schema in PostgreSQL${programs === null ? ` (${whyNot})` : ''}`, () => {
  let server: TestServer;
  beforeAll(async () => {
    server = await startServer();
  });
  afterAll(async () => {
    await server?.stop();
  });

  async function withDatabase<T>(work: (db: Database, url: string) => Promise<T>): Promise<T> {
    const database = await server.database();
    const db = connect({ url: database.url, connections: 4 });
    try {
      return await work(db, database.url);
    } finally {
      await db.close();
      await database.remove();
    }
  }

  async function withEmptyDatabase<T>(name: string, work: (url: string) => Promise<T>): Promise<T> {
    await server.query(`CREATE DATABASE ${name}`);
    try {
      return await work(server.url(name));
    } finally {
      await server.query(`DROP DATABASE ${name} WITH (FORCE)`);
    }
  }

  test('has the dwelling leading every primary, unique and foreign key but those of the installation', async () => {
    const keys = await withDatabase((db) =>
      db.all<Key>(
        `SELECT conrelid::regclass::text AS "table", conname AS name,
           CASE contype WHEN 'p' THEN 'primary' WHEN 'u' THEN 'unique' ELSE 'foreign' END AS kind,
           (SELECT json_agg(attname ORDER BY place) FROM unnest(conkey) WITH ORDINALITY AS k (number, place)
            JOIN pg_attribute ON attrelid = conrelid AND attnum = number) AS columns,
           nullif(confrelid, 0)::regclass::text AS referred,
           (SELECT json_agg(attname ORDER BY place) FROM unnest(confkey) WITH ORDINALITY AS k (number, place)
            JOIN pg_attribute ON attrelid = confrelid AND attnum = number) AS "referredColumns"
         FROM pg_constraint WHERE contype IN ('p', 'u', 'f') AND connamespace = 'public'::regnamespace
         UNION ALL
         SELECT indrelid::regclass::text, indexrelid::regclass::text, 'unique index',
           json_build_array(pg_get_indexdef(indexrelid, 1, false)), NULL, NULL
         FROM pg_index JOIN pg_class ON pg_class.oid = indrelid
         WHERE indisunique AND relnamespace = 'public'::regnamespace
           AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conindid = indexrelid)`,
      ),
    );
    const ours = keys.filter(({ table }) => !ofNoDwelling.includes(table));
    expect(new Set(ours.map(({ kind }) => kind))).toEqual(new Set(['primary', 'unique', 'foreign', 'unique index']));
    expect(ours.length).toBeGreaterThan(60);
    expect(ours.filter(({ columns }) => columns[0] !== 'dwelling_id')).toEqual([]);
    const foreign = ours.filter(({ kind }) => kind === 'foreign');
    expect(
      foreign.filter(
        ({ referred, referredColumns }) => referredColumns![0] !== (referred === 'dwelling' ? 'id' : 'dwelling_id'),
      ),
    ).toEqual([]);
  });

  test('has a primary key in every table with a dwelling, partitions too', async () => {
    const without = await withDatabase((db) =>
      db.all<{ name: string }>(
        `SELECT relname AS name FROM pg_class WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace
           AND EXISTS (SELECT 1 FROM pg_attribute WHERE attrelid = pg_class.oid AND attname = 'dwelling_id')
           AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conrelid = pg_class.oid AND contype = 'p')`,
      ),
    );
    expect(without).toEqual([]);
  });

  test('has the tables and columns of SQLite, so that journals say the same', async () => {
    const sqlite = connectSqlite(':memory:');
    migrateSqlite(sqlite);
    const wanted = sqlite
      .prepare<[], string>(
        `SELECT list.name || '.' || info.name FROM pragma_table_list AS list, pragma_table_info(list.name) AS info
         WHERE list.schema = 'main' AND list.type = 'table' AND list.name NOT LIKE 'sqlite_%' ORDER BY 1`,
      )
      .pluck()
      .all();
    sqlite.close();
    const found = await withDatabase((db) =>
      db.all<{ name: string }>(
        `SELECT relname || '.' || attname AS name FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
         WHERE relkind IN ('r', 'p') AND NOT relispartition AND attnum > 0 AND NOT attisdropped
           AND relnamespace = 'public'::regnamespace`,
      ),
    );
    const names = found.map(({ name }) => name);
    // a sequence stands for it
    expect(wanted.filter((name) => !names.includes(name))).toEqual(['last_mark.mark']);
    expect(names.filter((name) => !wanted.includes(name)).sort()).toEqual([
      'device_name.dwelling_id',
      'device_name.username',
      'dwelling_turn.dwelling_id',
      'dwelling_turn.version',
    ]);
  });

  test('is made once where several processes start at the same time', async () => {
    await withEmptyDatabase('racing', async (url) => {
      const stores = await Promise.all([1, 2, 3, 4].map(() => openPostgresStore({ url })));
      await Promise.all(stores.map((store, k) => store.addDwelling(dwellingCalled(`home-${k}`))));
      expect((await stores[0]!.dwellings()).map(({ id }) => id)).toEqual([1, 2, 3, 4]);
      await Promise.all(stores.map((store) => store.close()));
      const notes = await server.query<{ version: number }>('SELECT version FROM migration', 'racing');
      expect(notes.map(({ version }) => version)).toEqual(migrations.map((_, k) => k + 1));
    });
  });

  test('that a newer program wrote is refused untouched, and the error says what to do', async () => {
    await withDatabase(async (db, url) => {
      await db.run('INSERT INTO migration VALUES ($1, $2, $3)', [migrations.length + 1, 'then', 'newer']);
      await expect(openPostgresStore({ url })).rejects.toMatchObject({ name: 'StoreError', fault: 'newer-schema' });
      await expect(openPostgresStore({ url })).rejects.toThrow(/newer version of the program.*backup/);
      expect(await readVersion(db)).toBe(migrations.length + 1);
    });
  });

  test('of another program is refused untouched', async () => {
    await withEmptyDatabase('foreign_tables', async (url) => {
      await server.query('CREATE TABLE recipe (name text)', 'foreign_tables');
      await expect(openPostgresStore({ url })).rejects.toThrow(/another program, such as recipe/);
      const tables = await server.query("SELECT 1 FROM pg_class WHERE relname = 'dwelling'", 'foreign_tables');
      expect(tables).toEqual([]);
    });
  });

  test('is taken onward one whole step at a time: a step that fails leaves the steps before it', async () => {
    await withDatabase(async (db) => {
      const later = [...migrations, 'CREATE TABLE later (x integer)', 'CREATE TABLE half (x integer); nonsense'];
      await expect(migrate(db, later)).rejects.toThrow(/nonsense/);
      expect(await readVersion(db)).toBe(migrations.length + 1);
      const there = async (name: string) =>
        (await db.first<{ there: boolean }>('SELECT to_regclass($1) IS NOT NULL AS there', [name]))!.there;
      expect(await there('later')).toBe(true);
      expect(await there('half')).toBe(false);
      await migrate(db, [...later.slice(0, -1), 'CREATE TABLE half (x integer)']);
      expect(await readVersion(db)).toBe(migrations.length + 2);
      await expect(migrate(db)).rejects.toThrow(StoreError);
    });
  });

  test('gets its partitions when they are needed, also when several processes need one at once', async () => {
    await withDatabase(async (db) => {
      const times = [Date.UTC(2025, 11, 31, 23), Date.UTC(2026, 0, 1), Date.UTC(1970, 0, 1), Date.UTC(2150, 0, 1)];
      await Promise.all([1, 2, 3].map(() => partitionKeeper(db).ensure('reading', times)));
      expect(await partitionsOf(db, 'reading')).toEqual([
        'reading_2025_12',
        'reading_2026_01',
        'reading_before_2000',
        'reading_from_2100',
      ]);
      await partitionKeeper(db).ensure('hour_record', times);
      expect(await partitionsOf(db, 'hour_record')).toEqual([
        'hour_record_2025_10',
        'hour_record_2026_01',
        'hour_record_before_2000',
        'hour_record_from_2100',
      ]);
    });
  });

  test('keeps readings as they are, and none without a series of its dwelling', async () => {
    await withDatabase(async (db, url) => {
      const store = await openPostgresStore({ url });
      const home = await store.addDwelling(dwellingCalled('home'));
      const time = Date.UTC(2026, 0, 1);
      const reading = { dwellingId: home.id, sensorKey: 'a', quantity: 'temperature', time, value: 20 } as const;
      await store.append({ receivedAt: time, readings: [reading], quarantined: [] });
      await store.close();
      await expect(db.run('UPDATE reading SET value = 0')).rejects.toThrow(/never changed/);
      await expect(db.run('DELETE FROM reading')).rejects.toThrow(/never deleted/);
      await expect(db.run('DELETE FROM reading_2026_01')).rejects.toThrow(/never deleted/);
      await expect(db.run('TRUNCATE reading')).rejects.toThrow(/never deleted/);
      await expect(db.run(`INSERT INTO reading VALUES (1, 2, ${time}, 20)`)).rejects.toThrow(/belongs to a series/);
      await expect(db.run('DELETE FROM series')).rejects.toThrow(/never deleted/);
      await expect(db.run('UPDATE series SET id = 2')).rejects.toThrow(/keeps its number/);
      expect(await db.all('SELECT series_id, value FROM reading')).toEqual([{ series_id: 1, value: 20 }]);
    });
  });

  test('lets go of a partition only by its name, and keeps what was in it', async () => {
    await withDatabase(async (db) => {
      await partitionKeeper(db).ensure('reading', [Date.UTC(2026, 0, 1)]);
      await expect(detachPartition(db, 'reading', 'reading_2026_02')).rejects.toThrow(/must be a partition.*2026_01/);
      await detachPartition(db, 'reading', 'reading_2026_01');
      expect(await partitionsOf(db, 'reading')).toEqual(['reading_before_2000', 'reading_from_2100']);
      expect(await db.all('SELECT * FROM detached_reading_2026_01')).toEqual([]);
    });
  });
});
