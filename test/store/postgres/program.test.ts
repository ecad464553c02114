import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readConfig } from '../../../server/config.ts';
import { type Coomb, startCoomb } from '../../../server/main.ts';
import type { TestDatabase } from '../contract/under-test.ts';
import { programs, startServer, type TestServer, whyNot } from '../postgres-server.ts';

describe.skipIf(programs === null)(`the program on PostgreSQL${programs === null ? ` (${whyNot})` : ''}`, () => {
  let server: TestServer;
  let database: TestDatabase & { readonly url: string };
  let folder: string;
  let coomb: Coomb;
  beforeAll(async () => {
    server = await startServer();
    database = await server.database();
    folder = mkdtempSync(join(tmpdir(), 'coomb-on-pg-'));
    const settings = {
      COOMB_DATABASE_URL: database.url,
      COOMB_DATA: folder,
      COOMB_HTTP_PORT: '0',
      COOMB_MQTT_PORT: '0',
    };
    coomb = await startCoomb(readConfig(settings), pino({ level: 'silent' }));
  });
  afterAll(async () => {
    await coomb?.close();
    await server?.stop();
    rmSync(folder, { recursive: true, force: true });
  });

  // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
  const ask = async (path: string, method = 'GET', body?: object): Promise<{ status: number; body: any }> => {
    const response = await fetch(`${coomb.address}${path}`, {
      method,
      ...(body === undefined ? {} : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
    });
    return { status: response.status, body: await response.json() };
  };

  test('takes readings from the broker, acknowledges them once they are stored, and shows what they come to', async () => {
    const section = {
      pitchDeg: 40,
      slopeLengthMm: 1800,
      roomHeightMm: 2300,
      liningThicknessMm: 60,
      loftInsulationMm: 200,
      eavesGapMm: 50,
    };
    const added = await ask('/api/v1/dwellings', 'POST', {
      slug: 'mill',
      name: 'Mill',
      zone: 'Europe/London',
      section,
    });
    expect(added.status).toBe(201);
    await ask('/api/v1/dwellings/mill/places', 'POST', { name: 'Lounge', kind: 'room-air' });
    const client = await connectAsync(coomb.mqttAddress);
    const hour = Math.floor(Date.now() / 3_600_000) * 3_600_000 - 3 * 3_600_000;
    for (let k = 0; k < 12; k++) {
      const message = { temperature_c: 18 + k / 10, humidity_pct: 60, time: hour + k * 300_000 };
      await client.publishAsync('coomb/mill/lounge', JSON.stringify(message), { qos: 1 });
    }
    await client.endAsync();
    const id = (await coomb.store.dwellings())[0]!.id;
    expect(await coomb.store.countReadings(id)).toBe(24);
    const [sensor] = (await ask('/api/v1/dwellings/mill/sensors')).body;
    const placed = await ask(`/api/v1/dwellings/mill/sensors/${sensor.id}/placements`, 'POST', {
      placeId: 1,
      from: new Date(hour).toISOString(),
    });
    expect(placed.status).toBeLessThan(300);
    await coomb.settled();
    const [record] = await coomb.store.hourRecords(id, 1, hour, hour + 3_600_000);
    // mean of 18.0 to 19.1 in steps of 0.1, by hand
    expect(record?.temperatureMean).toBeCloseTo(18.55, 10);
    expect((await ask('/readyz')).body).toMatchObject({ ready: true });
    expect((await ask('/api/v1/backups')).body).toMatchObject({ elsewhere: true, folder: null });
    expect((await ask('/api/v1/backups', 'POST')).body.detail).toMatch(/pg_dump/);
  });

  test('holds what comes while the database is down, says so, and acknowledges it once it is back', async () => {
    const client = await connectAsync(coomb.mqttAddress);
    const id = (await coomb.store.dwellings())[0]!.id;
    const before = await coomb.store.countReadings(id);
    await server.kill();
    let acknowledged = false;
    const sent = client
      .publishAsync('coomb/mill/lounge', JSON.stringify({ temperature_c: 18, time: Date.now() }), { qos: 1 })
      .then(() => {
        acknowledged = true;
      });
    await expect.poll(async () => (await ask('/readyz')).status, { timeout: 20_000 }).toBe(503);
    expect(JSON.stringify((await ask('/healthz')).body.reasons)).toMatch(/database server cannot be reached/);
    expect((await ask('/api/v1/dwellings')).status).toBe(503);
    expect(acknowledged).toBe(false);
    await server.startAgain();
    await sent;
    await client.endAsync();
    expect(await coomb.store.countReadings(id)).toBe(before + 1);
    expect((await ask('/readyz')).body).toMatchObject({ ready: true });
  });
});
