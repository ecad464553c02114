import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { HOUR_MS, type PlaceKind } from '../../server/analysis/vocabulary.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { IncomingReading, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import type { BenchRow } from './row.ts';

const START = Date.UTC(2025, 10, 1);
const kinds: readonly PlaceKind[] = [
  'room-air',
  'ceiling-surface',
  'control-surface',
  'behind-lining',
  'loft-air',
  'loft-timber',
  'outdoor-air',
  'supply-air',
];
const DAYS = 20;
const MINUTES_A_BATCH = 60;
const COMMITS = 480;
const RUNS = 3;

/** Eight sensors that report temperature and humidity every minute, as they would arrive in a span of minutes. */
function* minuteReadings(from: number, minutes: number): Generator<IncomingReading> {
  for (let minute = from; minute < from + minutes; minute++) {
    for (let k = 0; k < kinds.length; k++) {
      const time = START + minute * 60_000 + k * 731;
      const wave = Math.sin(minute / 700 + k) + ((minute * 7919 + k * 31) % 17) / 40;
      const reading = { dwellingId: 1, sensorKey: `sensor-${k}`, time };
      yield { ...reading, quantity: 'temperature', value: Math.round((12 + 5 * wave) * 100) / 100 };
      yield { ...reading, quantity: 'humidity', value: Math.round((65 - 12 * wave) * 10) / 10 };
    }
  }
}

function batches(minutes: number): IncomingReading[][] {
  return Array.from({ length: minutes / MINUTES_A_BATCH }, (_, k) => [
    ...minuteReadings(k * MINUTES_A_BATCH, MINUTES_A_BATCH),
  ]);
}

async function openHome(path: string): Promise<Store> {
  const store = await openSqliteStore(path);
  const section = {
    pitchDeg: 40,
    slopeLengthMm: 1800,
    roomHeightMm: 2300,
    liningThicknessMm: 60,
    loftInsulationMm: 200,
    eavesGapMm: 50,
  };
  const dwelling = await store.addDwelling({ slug: 'bench', name: 'bench', zone: 'Europe/London', section });
  for (const [k, kind] of kinds.entries()) {
    const place = await store.addPlace({ dwellingId: dwelling.id, name: kind, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(dwelling.id, `sensor-${k}`);
    await store.placeSensor(dwelling.id, sensor.id, place.id, 0);
  }
  return store;
}

/** The least that keeps readings durably: one table with the same key, no checks, no marks, nothing made when unknown. */
function openBare(path: string) {
  const db = new Database(path);
  db.pragma('journal_mode = WAL');
  db.pragma('synchronous = FULL');
  db.exec(`CREATE TABLE reading (dwelling_id INTEGER NOT NULL, series_id INTEGER NOT NULL, time INTEGER NOT NULL,
    value INTEGER NOT NULL, PRIMARY KEY (dwelling_id, series_id, time)) STRICT, WITHOUT ROWID`);
  const insert = db.prepare('INSERT INTO reading VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING');
  const seriesOf = (reading: IncomingReading) =>
    Number(reading.sensorKey.slice(7)) * 2 + (reading.quantity === 'humidity' ? 1 : 0);
  const append = db.transaction((readings: readonly IncomingReading[]) => {
    for (const reading of readings) {
      insert.run(reading.dwellingId, seriesOf(reading), reading.time, Math.round(reading.value * 1000));
    }
  });
  return { db, append };
}

const timed = async (work: () => unknown): Promise<number> => {
  const from = performance.now();
  await work();
  return performance.now() - from;
};

/** Both by turns, so that what disturbs the machine disturbs both; the least disturbed run of each, ms. */
async function byTurns(work: () => unknown, bare: () => unknown, prepare?: () => unknown): Promise<[number, number]> {
  let measured = Number.POSITIVE_INFINITY;
  let limit = Number.POSITIVE_INFINITY;
  for (let run = 0; run < RUNS; run++) {
    await prepare?.();
    measured = Math.min(measured, await timed(work));
    limit = Math.min(limit, await timed(bare));
  }
  return [measured, limit];
}

/** Hands out a list in as many equal parts as there are runs, one at a call. */
function partByPart<T>(all: readonly T[]): () => readonly T[] {
  const size = all.length / RUNS;
  let k = 0;
  return () => all.slice(k * size, ++k * size);
}

const sizeOf = (path: string): number => {
  const db = new Database(path, { readonly: true });
  const size = Number(db.pragma('page_count', { simple: true })) * Number(db.pragma('page_size', { simple: true }));
  db.close();
  return size;
};

/** What the store costs over the bare table it cannot do without, and the rebuild of hour records over a GROUP BY. */
export async function benchStore(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-bench-'));
  try {
    return await benchIn(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function benchIn(folder: string): Promise<BenchRow[]> {
  const rows: BenchRow[] = [];
  const perSecond = (name: string, count: number, unit: string, [ms, bareMs]: [number, number], aim: number) => {
    const measured = (count / ms) * 1000;
    const limit = (count / bareMs) * 1000;
    rows.push({ name, measured, limit, unit, ratio: measured / limit, aim, direction: 'at least' });
  };

  const path = join(folder, 'store.sqlite');
  const barePath = join(folder, 'bare.sqlite');
  const store = await openHome(path);
  const bare = openBare(barePath);
  const whole = batches(DAYS * 24 * 60);
  const count = whole.length * whole[0]!.length;
  const part = partByPart(whole);
  const barePart = partByPart(whole);
  const inParts = await byTurns(
    async () => {
      for (const readings of part()) await store.append({ receivedAt: START, readings, quarantined: [] });
    },
    () => {
      for (const readings of barePart()) bare.append(readings);
    },
  );
  const each = whole[0]!.length;
  perSecond(`readings kept in commits of ${each}, against bare inserts`, count / RUNS, 'rows/s', inParts, 0.6);

  await keepHours(store);
  const grouped = bare.db.prepare(
    `SELECT series_id, time / ${HOUR_MS} AS hour, avg(value), min(value), max(value), count(*)
     FROM reading WHERE dwelling_id = 1 GROUP BY series_id, hour`,
  );
  const rebuilding = await byTurns(
    () => keepHours(store),
    () => grouped.raw().all(),
    () => store.discardHours(1),
  );
  perSecond(
    'hour records rebuilt from one-minute readings, against a plain GROUP BY',
    count,
    'rows/s',
    rebuilding,
    0.5,
  );

  await store.discardHours(1);
  await store.close();
  bare.db.close();
  const measured = sizeOf(path) / count;
  const limit = sizeOf(barePath) / count;
  const name = 'bytes a reading on disk, written in order of time, against the bare table';
  rows.push({ name, measured, limit, unit: 'bytes', ratio: measured / limit, aim: 1.15, direction: 'at most' });

  const single = await openHome(join(folder, 'single.sqlite'));
  const bareSingle = openBare(join(folder, 'bare-single.sqlite'));
  const singles = [...minuteReadings(0, (COMMITS * RUNS) / kinds.length / 2)];
  const nextSingles = partByPart(singles);
  const nextBareSingles = partByPart(singles);
  const alone = await byTurns(
    async () => {
      for (const reading of nextSingles()) {
        await single.append({ receivedAt: START, readings: [reading], quarantined: [] });
      }
    },
    () => {
      for (const reading of nextBareSingles()) bareSingle.append([reading]);
    },
  );
  perSecond('durable commits of one reading, against a bare insert and commit', COMMITS, 'commits/s', alone, 0.5);
  await single.close();
  bareSingle.db.close();
  return rows;
}
