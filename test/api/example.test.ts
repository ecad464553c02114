import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import Database from 'better-sqlite3';
import mqtt from 'mqtt';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { givenHome, startServer, type TestServer } from './server.ts';

const HOUR = 3_600_000;
/** The program's clock begins at a full hour, so that no hour, and no day, turns between two looks. */
const ahead = HOUR - (Date.now() % HOUR);
let server: TestServer;
beforeAll(async () => {
  server = await startServer(() => Date.now() + ahead);
  await givenHome(server);
});
afterAll(() => server.close());

const state = async () => (await server.operate('getExample', '/example')).body;

async function until(wanted: string): Promise<{ steps: Set<string>; longestAnswerMs: number }> {
  const steps = new Set<string>();
  let longestAnswerMs = 0;
  for (;;) {
    const begun = performance.now();
    const now = await state();
    longestAnswerMs = Math.max(longestAnswerMs, performance.now() - begun);
    expect(now.problem).toBeNull();
    if (now.step !== null) steps.add(now.step);
    if (now.state === wanted) return { steps, longestAnswerMs };
    await setTimeout(50);
  }
}

/** Everything of the home that is no example, to the last byte. */
function rowsOfHome(): string {
  const db = new Database(join(server.folder, 'coomb.db'), { readonly: true });
  try {
    const tables = db
      .prepare<[], string>(
        `SELECT list.name FROM pragma_table_list AS list, pragma_table_info(list.name) AS info
         WHERE list.schema = 'main' AND info.name = 'dwelling_id' ORDER BY 1`,
      )
      .pluck()
      .all();
    return JSON.stringify(
      tables.map((table) => [table, db.prepare(`SELECT * FROM "${table}" WHERE dwelling_id = 1`).raw().all()]),
    );
  } finally {
    db.close();
  }
}
const sizeOfExample = (): number => {
  const db = new Database(join(server.folder, 'coomb.db'), { readonly: true });
  try {
    return db.prepare<[], number>('SELECT count(*) FROM reading WHERE dwelling_id > 1').pluck().get()!;
  } finally {
    db.close();
  }
};

describe('the example', () => {
  it('is loaded beside a home, shown fresh, and removed without a trace; the home is untouched and keeps being heard', async () => {
    await server.operate('sendReadings', '/dwellings/mill-cottage/readings/one', { json: { temperature_c: 19.5 } });
    await server.coomb.settled();
    // its line among many too, which is worked out by itself a minute after the start
    await server.coomb.summarised();
    const before = rowsOfHome();
    expect(await state()).toMatchObject({ state: 'absent', dwelling: null, name: 'Thrimble Cottage, Nether Sallowby' });
    expect((await server.operate('removeExample', '/example')).status).toBe(404);

    expect((await server.operate('addExample', '/example')).body.state).toBe('loading');
    expect((await server.operate('removeExample', '/example')).status).toBe(409);
    const loaded = await until('there');
    expect(loaded.steps).toContain('readings');
    const { dwelling } = await state();
    const now = (await server.operate('getNow', `/dwellings/${dwelling}/now`)).body;
    expect(now.places.length).toBeGreaterThan(5);
    expect(Date.now() - Date.parse(now.heard.lastReading)).toBeLessThan(60 * 60_000);
    expect(sizeOfExample()).toBeGreaterThan(300_000);
    expect(rowsOfHome()).toBe(before);

    const client = await mqtt.connectAsync(server.coomb.mqttAddress);
    expect((await server.operate('removeExample', '/example')).body.state).toBe('removing');
    const dwellings = (await server.operate('listDwellings', '/dwellings')).body;
    expect(dwellings.map(({ slug }: { slug: string }) => slug)).toEqual(['mill-cottage']);
    const waits: number[] = [];
    for (let k = 0; (await state()).state === 'removing'; k++) {
      const begun = performance.now();
      await client.publishAsync('coomb/mill-cottage/two', JSON.stringify({ humidity_pct: 50 + (k % 7) }), { qos: 1 });
      waits.push(performance.now() - begun);
    }
    await client.endAsync();
    expect(waits.length).toBeGreaterThan(10);
    waits.sort((a, b) => a - b);
    expect(waits[Math.floor(waits.length * 0.95)]!).toBeLessThan(500);
    console.log(`removal: ${waits.length} acknowledgements, longest ${waits.at(-1)!.toFixed(0)} ms`);
    expect(await state()).toMatchObject({ state: 'absent', problem: null });
    expect(sizeOfExample()).toBe(0);
    const kept = (await server.operate('listSensors', '/dwellings/mill-cottage/sensors')).body;
    expect(kept.map(({ key }: { key: string }) => key)).toEqual(['one', 'two']);
  }, 180_000);

  it('says why where a home of people has its name, and leaves that home alone', async () => {
    await givenHome(server, 'thrimble-cottage');
    await server.operate('addExample', '/example');
    while ((await state()).state === 'loading') await setTimeout(50);
    expect(await state()).toMatchObject({ state: 'absent', problem: expect.stringContaining('name') });
    expect((await server.operate('removeExample', '/example')).status).toBe(404);
    const dwellings = (await server.operate('listDwellings', '/dwellings')).body;
    expect(dwellings.map(({ slug }: { slug: string }) => slug)).toContain('thrimble-cottage');
  }, 60_000);
});
