import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, onTestFinished, test } from 'vitest';
import { keepHours } from '../../server/store/hour-keeper.ts';
import { movedTables } from '../../server/store/moving/tables.ts';
import { moveStore } from '../../server/store/moving.ts';
import type { Dwelling, Store } from '../../server/store/port.ts';
import { openPostgresStore } from '../../server/store/postgres.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import {
  appendReadings,
  DAY,
  givenDwelling,
  givenPlace,
  givenWatchedPlace,
  HOUR,
  MINUTE,
  message,
  NEW_YEAR,
  readingOf,
} from './contract/given.ts';
import { programs, startServer, type TestServer, whyNot } from './postgres-server.ts';

const cli = fileURLToPath(new URL('../../server/cli.ts', import.meta.url));
const LAST = NEW_YEAR + 20 * DAY;

/** A home with something of most kinds, in `file`. */
async function fill(file: string, slug: string, minutes: number): Promise<Dwelling> {
  const store = await openSqliteStore(file);
  const home = await givenDwelling(store, slug);
  const id = home.id;
  const ceiling = await givenWatchedPlace(store, home, 'ceiling-surface', 'slope');
  const room = await givenWatchedPlace(store, home, 'room-air', 'bedroom');
  // a place that refers to one that came later
  await store.changePlace(id, ceiling.place.id, { facesPlaceId: room.place.id });
  const readings = Array.from({ length: minutes }, (_, n) => [
    readingOf(home, 'slope', 'temperature', NEW_YEAR + n * MINUTE, (n % 400) / 10),
    // one that whole thousandths cannot give back
    readingOf(home, 'bedroom', 'humidity', NEW_YEAR + n * MINUTE, n % 7 === 0 ? 50 + Math.PI : 50 + (n % 30) / 10),
  ]).flat();
  for (let at = 0; at < readings.length; at += 5000) await appendReadings(store, readings.slice(at, at + 5000));
  await appendReadings(store, [readingOf(home, 'slope', 'temperature', NEW_YEAR, 19.123456789)]);
  await store.append({
    receivedAt: NEW_YEAR,
    readings: [],
    quarantined: [message(), message({ topic: `coomb/${slug}/odd`, payload: new Uint8Array([0, 255, 1]) })],
  });
  await store.addCalibrations(id, [
    {
      seriesId: 1,
      from: NEW_YEAR,
      method: 'side-by-side',
      points: [{ reading: 20.25, reference: 20 }],
      uncertainty: 0.125,
      sharedSource: 'one run',
      sharedUncertainty: 0.1,
      note: '',
      madeAt: NEW_YEAR,
    },
  ]);
  await store.addPhase({ dwellingId: id, kind: 'before', name: 'before', from: NEW_YEAR, to: LAST });
  const other = await store.addPhase({ dwellingId: id, kind: 'works', name: 'removed', from: LAST, to: null });
  await store.removePhase(id, other.id);
  const entry = await store.addDiaryEntry({
    dwellingId: id,
    time: NEW_YEAR,
    kind: 'note',
    text: 'a "word", ü and \u2028',
  });
  const photo = await store.addPhoto(
    { dwellingId: id, takenAt: null, sha256: 'ab'.repeat(32), width: 2, height: 1, addedAt: NEW_YEAR },
    { full: new Uint8Array([255, 0, 92, 120]), thumbnail: new Uint8Array([1]) },
  );
  await store.setEntryPhotos(id, entry.id, [{ id: photo.id, alt: 'the corner' }]);
  await store.recordTrail({
    at: NEW_YEAR,
    personName: null,
    dwellingId: id,
    action: 'tested',
    detail: { of: 'moving' },
  });
  await keepHours(store, { chunkHours: 24 * 7 });
  // and some that still wait to be rebuilt
  await appendReadings(store, [readingOf(home, 'slope', 'temperature', LAST, 11)], LAST);
  while ((await store.sealNextDay(id, Math.floor((NEW_YEAR + 9 * DAY) / DAY), NEW_YEAR + 9 * DAY)) !== null);
  await store.installationKey();
  await store.close();
  return home;
}

const databaseIn = (url: string): string => /\/([a-z0-9_]+)\?/.exec(url)![1]!;

/** What a store says of a home: as much as its port gives. */
async function told(store: Store, { id }: { id: number }) {
  const series = await store.series(id);
  const readings = await Promise.all(series.map((one) => store.readings(id, one.id, 0, LAST + 1, 1_000_000)));
  const places = await store.places(id);
  return {
    dwellings: await store.dwellings(),
    places,
    sensors: await store.sensors(id),
    placements: await store.placements(id),
    series,
    readings,
    conflicts: await store.conflicts(id, 100),
    hours: await Promise.all(places.map((place) => store.hourRecords(id, place.id, NEW_YEAR, LAST))),
    stale: (await store.staleHours(id, 0, 1000)).map(({ hour }) => hour),
    calibrations: await store.calibrations(id),
    phases: await store.phases(id),
    diary: await store.diary(id),
    photos: await store.photos(id),
    image: Buffer.from(await store.photoImage(id, 1, 'full')).toString('hex'),
    seals: await store.daySeals(id, 0, 1e6),
    journal: await store.journal(id),
    faults: await store.checkSeals(id),
  };
}

/** Phases and places get numbers that were never given, entries of the journal go on, and readings come in. */
async function goesOn(store: Store, home: Dwelling): Promise<void> {
  const before = await store.journal(home.id);
  // the second was removed before the move: its number is not given again
  const phase = { dwellingId: home.id, kind: 'works', name: 'works', from: LAST, to: null } as const;
  expect((await store.addPhase(phase)).id).toBe(3);
  const place = await givenPlace(store, home, 'outdoor-air');
  expect(place.id).toBe(3);
  const after = await store.journal(home.id);
  expect(after.slice(0, before.length)).toEqual(before);
  expect(after.at(-1)!.id).toBe(before.at(-1)!.id + 2);
  const outcome = await appendReadings(store, [
    readingOf(home, 'slope', 'temperature', LAST, 11),
    readingOf(home, 'slope', 'temperature', LAST + HOUR, 12),
  ]);
  expect(outcome).toEqual({ stored: 1, repeated: 1, conflicting: 0 });
  await keepHours(store);
  expect(await store.countStaleHours()).toBe(0);
}

describe('the tables that are moved', () => {
  test('are all that SQLite has but what each engine fills by itself, and come after what they refer to', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'coomb-moving-'));
    onTestFinished(() => rmSync(folder, { recursive: true }));
    await (await openSqliteStore(join(folder, 'coomb.db'))).close();
    const db = new Database(join(folder, 'coomb.db'));
    onTestFinished(() => void db.close());
    const there = db
      .prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'")
      .pluck()
      .all();
    const own = ['migration', 'last_mark'];
    expect(movedTables.map(({ name }) => name).sort()).toEqual(there.filter((name) => !own.includes(name)).sort());
    for (const [k, { name, key }] of movedTables.entries()) {
      const primary = db
        .prepare<[string], string>('SELECT name FROM pragma_table_info(?) WHERE pk > 0 ORDER BY pk')
        .pluck()
        .all(name);
      if (primary.length > 0) expect(key, name).toEqual(primary);
      const refersTo = db.prepare<[string], string>('SELECT "table" FROM pragma_foreign_key_list(?)').pluck().all(name);
      const before = movedTables.slice(0, k + 1).map((table) => table.name);
      for (const other of refersTo) expect(before, `${name} refers to ${other}`).toContain(other);
    }
  });
});

describe.skipIf(programs === null)(`a home moved up to PostgreSQL${programs === null ? ` (${whyNot})` : ''}`, () => {
  let server: TestServer;
  let folder: string;
  let file: string;
  beforeAll(async () => {
    server = await startServer();
  });
  afterAll(async () => {
    await server?.stop();
  });
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'coomb-moving-'));
    file = join(folder, 'coomb.db');
    onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  });
  const emptyUrl = async (): Promise<string> => {
    const database = await server.database();
    onTestFinished(() => database.remove());
    return database.url;
  };
  const everything = { sourceName: 'the source', slug: null };

  test('is the same home there, and goes on where it was', { timeout: 60_000 }, async () => {
    const home = await fill(file, 'mill-cottage', 3000);
    const before = await openSqliteStore(file);
    const expected = await told(before, home);
    await before.close();
    const url = await emptyUrl();
    const { tables } = await moveStore({ engine: 'sqlite', file }, { engine: 'postgres', url }, everything);
    expect(tables.find(({ name }) => name === 'reading')!.rows).toBe(6001);
    const after = await openPostgresStore({ url });
    onTestFinished(() => after.close());
    expect(await told(after, home)).toEqual(expected);
    expect(expected.faults).toEqual([]);
    await goesOn(after, home);
    // a second move into the same database would mix homes
    await expect(moveStore({ engine: 'sqlite', file }, { engine: 'postgres', url }, everything)).rejects.toThrow(
      'holds homes already',
    );
  });

  test('leaves with its data alone, as one file', { timeout: 60_000 }, async () => {
    await fill(file, 'mill-cottage', 300);
    const other = await fill(file, 'weir-house', 2000);
    const before = await openSqliteStore(file);
    const { dwellings, ...expected } = await told(before, other);
    await before.close();
    const url = await emptyUrl();
    await moveStore({ engine: 'sqlite', file }, { engine: 'postgres', url }, everything);
    const taken = join(folder, 'weir-house.db');
    const leaving = { sourceName: 'the landlord', slug: 'weir-house' };
    await moveStore({ engine: 'postgres', url }, { engine: 'sqlite', file: taken }, leaving);
    const store = await openSqliteStore(taken);
    onTestFinished(() => store.close());
    const { dwellings: alone, ...there } = await told(store, other);
    expect(alone).toEqual(dwellings.filter(({ slug }) => slug === 'weir-house'));
    expect(there).toEqual(expected);
    expect((await store.quarantineGroups(10)).map(({ topic }) => topic)).toEqual(['coomb/weir-house/odd']);
    expect(await store.trail(10)).toEqual([]);
    await goesOn(store, other);
    await expect(
      moveStore(
        { engine: 'postgres', url },
        { engine: 'sqlite', file: join(folder, 'x.db') },
        { ...leaving, slug: 'nowhere' },
      ),
    ).rejects.toThrow('There is no dwelling nowhere; there are mill-cottage, weir-house.');
  });

  test('goes on after its process was killed in the middle, and cannot be opened half', {
    timeout: 120_000,
  }, async () => {
    const home = await fill(file, 'mill-cottage', 25_000);
    const url = await emptyUrl();
    const command = ['--import', 'tsx', cli, 'migrate', '--from', `sqlite:${file}`, '--to', 'postgres'];
    const env = { ...process.env, COOMB_DATABASE_URL: url };
    const child = spawn(process.execPath, command, { env, stdio: ['ignore', 'pipe', 'inherit'] });
    let said = '';
    for await (const chunk of child.stdout) {
      said += String(chunk);
      if (said.includes('moving reading')) break;
    }
    child.kill('SIGKILL');
    if (child.exitCode === null && child.signalCode === null) await once(child, 'exit');
    await expect(openPostgresStore({ url })).rejects.toThrow('run the same coomb migrate again');
    const name = databaseIn(url);
    const [half] = await server.query<{ count: string }>('SELECT count(*) FROM reading', name);
    expect(Number(half!.count)).toBeLessThan(50_001);

    // another source is not mixed into it
    await expect(
      moveStore({ engine: 'sqlite', file }, { engine: 'postgres', url }, { sourceName: 'another', slug: null }),
    ).rejects.toThrow('Another move into this database was begun');

    const again = spawnSync(process.execPath, command, { env, encoding: 'utf8' });
    expect(again.stderr).toBe('');
    expect(again.status).toBe(0);
    expect(again.stdout).toContain('50,001 of them readings, are the same');
    expect(again.stdout + again.stderr).not.toContain('host=');
    const store = await openPostgresStore({ url });
    onTestFinished(() => store.close());
    expect(await store.countReadings(home.id)).toBe(50_001);
    expect(await store.checkSeals(home.id)).toEqual([]);
  });

  test('is not called moved when a row on the way is not what it was', { timeout: 60_000 }, async () => {
    await fill(file, 'mill-cottage', 300);
    const url = await emptyUrl();
    // a database that changes what it is given: any reason is as good as this one
    await server.query(
      `CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN NEW.name := 'another'; RETURN NEW; END $$;
       CREATE TRIGGER spoilt BEFORE INSERT ON sensor FOR EACH ROW EXECUTE FUNCTION spoil()`,
      databaseIn(url),
    );
    await expect(moveStore({ engine: 'sqlite', file }, { engine: 'postgres', url }, everything)).rejects.toThrow(
      /^sensor differs after the move: 2 rows in the source, 2 in the database moved into/,
    );
    await expect(openPostgresStore({ url })).rejects.toThrow('run the same coomb migrate again');
  });
});
