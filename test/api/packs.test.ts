import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Pack, packPreview, pack as packSchema } from '../../server/api/contract/packs.ts';
import { createPackMaker } from '../../server/api/packs.ts';
import { readConfig } from '../../server/config.ts';
import { verifyPack } from '../../server/evidence/verify.ts';
import { type Coomb, databaseFile, startCoomb } from '../../server/main.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { FROM, givenSealedHome, TO } from '../evidence/home.ts';

let folder: string;
let coomb: Coomb;
const wanted = {
  from: new Date(FROM).toISOString(),
  to: new Date(TO).toISOString(),
  places: null,
  words: 'with-words',
};

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-packs-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  const store = await openSqliteStore(databaseFile(config));
  await givenSealedHome(store);
  await store.close();
  coomb = await startCoomb(config, pino({ level: 'silent' }), () => TO + 3_600_000);
  await coomb.settled();
}, 120_000);

afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true, force: true });
});

const ask = (path: string, method = 'GET', body?: unknown): Promise<Response> =>
  fetch(`${coomb.address}/api/v1/dwellings/larch/${path}`, {
    method,
    ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'content-type': 'application/json' } }),
  });

async function untilDone(id: string) {
  const steps = new Set<string | null>();
  for (;;) {
    const job = packSchema.parse(await (await ask(`packs/${id}`)).json());
    steps.add(job.step);
    if (job.state !== 'making') return { job, steps };
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

describe('an evidence pack over the API', () => {
  it('is previewed: what comes along, how complete, how large, sealed since when, signed by whom', async () => {
    const preview = packPreview.parse(await (await ask('pack-preview', 'POST', { ...wanted, places: [2] })).json());
    expect(preview.places.map(({ placeId, chosen }) => [placeId, chosen])).toEqual([
      [1, false],
      [2, true],
      [4, false],
      [5, false],
    ]);
    for (const { knownHours, hours } of preview.places) expect([knownHours, hours]).toEqual([42 * 24, 42 * 24]);
    expect(preview.sealed).toEqual({ first: '2025-11-01', last: '2025-12-12', days: 42 });
    expect(preview).toMatchObject({ notes: 1, photos: 1, calibrations: 1 });
  });

  it('is made while the server answers, tells its steps, and is found right once downloaded', async () => {
    const preview = packPreview.parse(await (await ask('pack-preview', 'POST', wanted)).json());
    const begun = await ask('packs', 'POST', wanted);
    expect(begun.status).toBe(201);
    const { id } = packSchema.parse(await begun.json());
    expect((await ask('now')).status).toBe(200);
    const { job } = await untilDone(id);
    expect(job).toMatchObject({
      state: 'ready',
      problem: null,
      file: 'coomb-evidence-larch-2025-11-01-to-2025-12-12.zip',
    });
    const download = await ask(`packs/${id}/file`);
    expect(download.headers.get('content-disposition')).toContain(job.file);
    expect(download.headers.get('content-type')).toContain('application/zip');
    const bytes = Buffer.from(await download.arrayBuffer());
    expect(bytes.length).toBe(job.bytes);
    // the size that was promised is of the right order
    expect(bytes.length / preview.bytes).toBeGreaterThan(0.3);
    expect(bytes.length / preview.bytes).toBeLessThan(3);
    const file = join(folder, 'downloaded.zip');
    writeFileSync(file, bytes);
    const verified = await verifyPack(file, openSqliteStore, { fingerprint: preview.fingerprint, entries: new Map() });
    expect(verified.faults).toEqual([]);
  }, 60_000);

  it('is stopped and leaves nothing behind', async () => {
    const { id } = packSchema.parse(await (await ask('packs', 'POST', wanted)).json());
    expect((await ask(`packs/${id}/file`)).status).toBe(404);
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect((await ask(`packs/${id}`, 'DELETE')).status).toBe(204);
    expect((await ask(`packs/${id}`)).status).toBe(404);
    await expect
      .poll(() => readdirSync(join(folder, 'packs')).filter((name) => name.includes(id)), { timeout: 10_000 })
      .toEqual([]);
  }, 60_000);

  it('that is removed before it is heard that it is done is gone, and the program goes on', async () => {
    const store = await openSqliteStore(databaseFile(readConfig({}, { dataFolder: folder })));
    const data = mkdtempSync(join(tmpdir(), 'coomb-packs-'));
    const place = { engine: 'sqlite', file: databaseFile(readConfig({}, { dataFolder: folder })) } as const;
    const packs = createPackMaker({ store, place, dataFolder: data, version: '0', clock: () => TO + 3_600_000 });
    const { handlers } = packs;
    const params = { dwelling: 'larch' };
    const body = { ...wanted, report: 'works', paper: 'A4' };
    const { id } = (await handlers.makePack({ params, body, visit: { actor: { kind: 'nobody' } } } as never)) as Pack;
    const state = async () => (await handlers.getPack({ params: { ...params, id } } as never)) as Pack;
    await expect.poll(async () => (await state()).step, { timeout: 30_000 }).not.toBe('waiting');
    // nothing is heard of the process from here on, while it finishes and says so
    const held = new Int32Array(new SharedArrayBuffer(4));
    while (!existsSync(join(data, 'packs', `${id}.zip`))) Atomics.wait(held, 0, 0, 20);
    Atomics.wait(held, 0, 0, 1000);
    await handlers.removePack({ params: { ...params, id } } as never);
    // waits for the end of the process
    await packs.close();
    expect(readdirSync(join(data, 'packs'))).toEqual([]);
    await store.close();
    rmSync(data, { recursive: true });
  }, 60_000);

  it.each([
    ['of a place that is not there', { places: [77] }, 400],
    ['that ends before it begins', { to: wanted.from }, 400],
    ['of no place', { places: [] }, 400],
    ['with times that are none', { from: 'yesterday' }, 400],
  ])('%s is refused with what is wrong', async (_, change, status) => {
    const answer = await ask('packs', 'POST', { ...wanted, ...change });
    expect(answer.status).toBe(status);
    expect(await answer.json()).toMatchObject({ code: 'bad-request' });
  });

  it('of another home is not given', async () => {
    expect((await ask('packs/5f0c7f0e-3a55-4a7e-9d7e-0d3f0c7f0e3a')).status).toBe(404);
  });
});
