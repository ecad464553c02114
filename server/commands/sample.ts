import { createReadStream } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { createGunzip } from 'node:zlib';
import { parse } from 'csv-parse';
import { type Quantity, quantities } from '../physics/quantities.ts';
import { type Scenario, scenarioSchema } from '../simulate/scenario.ts';
import { keepHours } from '../store/hour-keeper.ts';
import type { Dwelling, IncomingReading, Store } from '../store/port.ts';

const BATCH_READINGS = 20_000;

/** How far the loading has come, 0 to 1, and what is being done. */
export type Progress = (done: number, what: string) => void;

export async function readScenario(folder: string): Promise<Scenario> {
  return scenarioSchema.parse(JSON.parse(await readFile(join(folder, 'scenario.json'), 'utf8')));
}

/** Loads the invented home with all its readings and builds its hour records; does nothing when it is there already. */
export async function loadSample(store: Store, folder: string, progress: Progress): Promise<Dwelling> {
  const scenario = await readScenario(folder);
  const known = (await store.dwellings()).find(({ slug }) => slug === scenario.dwelling.slug);
  if (known) return known;
  const dwelling = await store.addDwelling(scenario.dwelling);
  await loadReadings(store, dwelling, scenario, folder, (share) => progress(share * 0.5, 'reading the sample'));
  await tellStory(store, dwelling, scenario);
  await keepHours(store, {
    onProgress: ({ done, total }) => progress(0.5 + (0.5 * done) / total, 'working out the hours'),
  });
  return dwelling;
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
