import { createReadStream } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { createGunzip } from 'node:zlib';
import { parse } from 'csv-parse';
import { type Quantity, quantities } from '../physics/quantities.ts';
import { liveHome } from '../simulate/live.ts';
import { type Scenario, scenarioSchema } from '../simulate/scenario.ts';
import { keepHours } from '../store/hour-keeper.ts';
import type { Dwelling, IncomingReading, Store } from '../store/port.ts';

/** Small, so that a server on the same database hardly waits for its turn. */
const BATCH_READINGS = 5_000;
const BACKFILL_MESSAGES = 2_000;

export type SampleStep = 'readings' | 'hours' | 'now';

/** What is being done, and how far it has come, 0 to 1. */
export type Progress = (step: SampleStep, share: number) => void;

export async function readScenario(folder: string): Promise<Scenario> {
  return scenarioSchema.parse(JSON.parse(await readFile(join(folder, 'scenario.json'), 'utf8')));
}

/**
 * Loads the invented home, as an example, with all its readings and builds its hour records; does nothing when it is
 * there already.
 *
 * @throws StoreError `already-there` when a home of people has its short name
 */
export async function loadSample(store: Store, folder: string, progress: Progress): Promise<Dwelling> {
  const scenario = await readScenario(folder);
  const examples = new Set((await store.examples()).map(({ dwellingId }) => dwellingId));
  const known = (await store.dwellings()).find(({ id, slug }) => slug === scenario.dwelling.slug && examples.has(id));
  if (known) return known;
  const dwelling = await store.addExample(scenario.dwelling);
  await loadReadings(store, dwelling, scenario, folder, (share) => progress('readings', share));
  await tellStory(store, dwelling, scenario);
  await keepHours(store, { onProgress: ({ done, total }) => progress('hours', done / total) });
  return dwelling;
}

/** Fills in what the home would have sent since its last reading. */
export async function fillToNow(store: Store, dwellingId: number, progress: Progress): Promise<void> {
  const last = Math.max(...(await store.lastReadings(dwellingId)).map(({ time }) => time));
  const messages = liveHome().backfill(last + 1, Date.now());
  for (let at = 0; at < messages.length; at += BACKFILL_MESSAGES) {
    const readings = messages.slice(at, at + BACKFILL_MESSAGES).flatMap(({ sensor, time, payload }) =>
      (
        [
          ['temperature', payload.temperature_c],
          ['humidity', payload.humidity_pct],
          ['timberMoisture', payload.timber_moisture_pct],
          ['battery', payload.battery_v],
        ] as const
      ).flatMap(([quantity, value]) =>
        value === undefined ? [] : [{ dwellingId, sensorKey: sensor, quantity, time, value }],
      ),
    );
    await store.append({ receivedAt: Date.now(), readings, quarantined: [] });
    progress('now', at / messages.length);
  }
  await keepHours(store);
}

async function tellStory(store: Store, dwelling: Dwelling, scenario: Scenario): Promise<void> {
  const dwellingId = dwelling.id;
  const placeIds = new Map<string, number>();
  const roomsFirst = [...scenario.places].sort((a, b) => Number(a.faces !== null) - Number(b.faces !== null));
  for (const { key, name, kind, faces, position } of roomsFirst) {
    const facesPlaceId = faces === null ? null : placeIds.get(faces)!;
    placeIds.set(key, (await store.addPlace({ dwellingId, name, kind, facesPlaceId, position })).id);
  }
  const sensorIds = new Map<string, number>();
  for (const { key, name, model, intervalSeconds } of scenario.sensors) {
    const { id } = await store.ensureSensor(dwellingId, key);
    await store.changeSensor(dwellingId, id, { name, model });
    sensorIds.set(key, id);
    for (const series of await store.series(dwellingId)) {
      if (series.sensorId === id) await store.setInterval(dwellingId, series.id, intervalSeconds);
    }
  }
  const inOrder = [...scenario.placements].sort((a, b) => a.from.localeCompare(b.from));
  for (const { sensor, place, from, to } of inOrder) {
    const sensorId = sensorIds.get(sensor)!;
    await store.placeSensor(dwellingId, sensorId, placeIds.get(place)!, Date.parse(from));
    if (to !== null) await store.placeSensor(dwellingId, sensorId, null, Date.parse(to));
  }
  for (const { kind, name, from, to } of scenario.phases) {
    await store.addPhase({ dwellingId, kind, name, from: Date.parse(from), to: to === null ? null : Date.parse(to) });
  }
  for (const { time, kind, text } of scenario.diary) {
    await store.addDiaryEntry({ dwellingId, time: Date.parse(time), kind, text });
  }
}

async function loadReadings(
  store: Store,
  dwelling: Dwelling,
  scenario: Scenario,
  folder: string,
  progress: (share: number) => void,
): Promise<void> {
  const quantityOf = new Map<string, Quantity>(
    (Object.keys(quantities) as Quantity[]).map((quantity) => [quantities[quantity].wire, quantity]),
  );
  const rows = scenario.sensors.reduce((sum, sensor) => sum + sensor.rows, 0);
  let done = 0;
  let batch: IncomingReading[] = [];
  const flush = async (): Promise<void> => {
    await store.append({ receivedAt: Date.now(), readings: batch, quarantined: [] });
    batch = [];
    progress(done / rows);
  };
  for (const { key, file } of scenario.sensors) {
    await pipeline(
      createReadStream(join(folder, file)),
      createGunzip(),
      parse({ columns: true }),
      async (records: AsyncIterable<Record<string, string>>) => {
        for await (const record of records) {
          done++;
          const time = Date.parse(record.time!);
          for (const [wire, text] of Object.entries(record)) {
            const quantity = quantityOf.get(wire);
            if (quantity === undefined || text === '') continue;
            batch.push({ dwellingId: dwelling.id, sensorKey: key, quantity, time, value: Number(text) });
          }
          if (batch.length >= BATCH_READINGS) await flush();
        }
      },
    );
  }
  await flush();
}
