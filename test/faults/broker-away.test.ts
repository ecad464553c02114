import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { expect, it, onTestFinished, vi } from 'vitest';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { everyReading } from '../ingest/home.ts';
import { mosquittoIsHere, startMosquitto } from '../ingest/processes.ts';
import { FIRST, MINUTE, openDevice } from './device.ts';
import { newDataFolder, startProgram } from './program.ts';

it.skipIf(!mosquittoIsHere)(
  'Mosquitto stopped for a while and started again: /healthz says so meanwhile, readings by HTTP are still taken, and in the end every reading is there once',
  async () => {
    const data = await newDataFolder();
    onTestFinished(data.remove);
    const mosquitto = await startMosquitto('allow_anonymous true', 'max_queued_messages 0', 'persistence true');
    onTestFinished(mosquitto.stop);
    const address = `mqtt://127.0.0.1:${mosquitto.port}`;
    const program = startProgram({ dataFolder: data.folder, from: 'source', settings: { COOMB_MQTT_URL: address } });
    onTestFinished(() => program.kill());
    const page = await program.address;
    const health = async () => {
      const response = await fetch(`${page}/healthz`);
      return { code: response.status, ...((await response.json()) as { reasons: string[] }) };
    };
    const patience = { timeout: 40_000, interval: 100 };
    await vi.waitFor(async () => expect((await health()).code).toBe(200), patience);
    const device = await openDevice(address);
    device.send(0, 20);
    await vi.waitFor(() => expect(device.acknowledged.size).toBe(20), patience);
    await mosquitto.save();

    await mosquitto.kill();
    device.send(20, 60);
    await vi.waitFor(async () => {
      expect(await health()).toMatchObject({
        code: 503,
        reasons: [expect.stringMatching(/no connection to the broker/)],
      });
    }, patience);
    // nothing is wrong with storing: whoever can reach it otherwise is served
    expect((await fetch(`${page}/readyz`)).status).toBe(200);
    const body = JSON.stringify({ time: FIRST + 1000 * MINUTE, temperature_c: 19 });
    const sent = await fetch(`${page}/api/v1/dwellings/gable-cottage/readings/attic`, { method: 'POST', body });
    expect(sent.status).toBe(200);
    await pause(3000);
    expect(device.acknowledged.size).toBe(20);

    await mosquitto.start();
    await vi.waitFor(() => expect(device.acknowledged.size).toBe(60), patience);
    await vi.waitFor(async () => expect((await health()).code).toBe(200), patience);
    const store = await openSqliteStore(join(data.folder, 'coomb.db'));
    onTestFinished(() => store.close());
    const { id } = (await store.dwellings())[0]!;
    const wanted = [...Array.from({ length: 60 }, (_, n) => n), 1000];
    await vi.waitFor(async () => {
      const numbers = (await everyReading(store, id)).map(([, , time]) => (time - FIRST) / MINUTE);
      expect(numbers).toEqual(wanted);
    }, patience);
    await device.leave();
    expect(await program.stop()).toBe(0);
  },
  120_000,
);
