import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { type Coomb, startCoomb } from '../../server/main.ts';
import { fillDisk, mountSmallDisk, smallDisksWork } from '../faults/small-disk.ts';
import { givenDwelling, NEW_YEAR } from '../store/contract/given.ts';
import { readExposition } from './exposition.ts';

let folder: string;
let coomb: Coomb;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-metrics-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0 });
  coomb = await startCoomb(config, pino({ level: 'silent' }));
  await givenDwelling(coomb.store);
});
afterAll(async () => {
  await coomb.close();
  rmSync(folder, { recursive: true });
});

const send = (to: Coomb, body: string) =>
  fetch(`${to.address}/api/v1/dwellings/mill-cottage/readings/a`, { method: 'POST', body });

it('/metrics is in the text exposition format, and counts what came in', async () => {
  expect((await send(coomb, '{"temperature_c": 20}')).status).toBe(200);
  expect((await send(coomb, 'rubbish')).status).toBe(422);
  const response = await fetch(`${coomb.address}/metrics`);
  // Prometheus text exposition format 0.0.4: media type
  expect(response.headers.get('content-type')).toMatch(/^text\/plain; version=0\.0\.4/);
  const families = readExposition(await response.text());
  const value = (name: string) => families.get(name)?.samples[0]?.value;
  expect(value('coomb_messages_total')).toBe(2);
  expect(value('coomb_readings_total')).toBe(1);
  expect(value('coomb_quarantined_total')).toBe(1);
  expect(value('coomb_quarantine_not_kept_total')).toBe(0);
  expect(value('coomb_healthy')).toBe(1);
  expect(families.get('coomb_commit_seconds')!.samples.length).toBeGreaterThan(5);
  for (const [name, { type, help }] of families) {
    expect([name, type === 'untyped', help]).not.toContain(null);
    // best practice of the format's documentation, from memory: what only rises ends in _total
    expect(type === 'counter', name).toBe(name.endsWith('_total'));
  }
});

it('/metrics through a proxy on this machine wants a sign-in once there is a passphrase', async () => {
  const first = await fetch(`${coomb.address}/api/v1/access/first-passphrase`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ name: 'Maud', passphrase: 'slow otters mend slates' }),
  });
  const cookie = first.headers.get('set-cookie')!.split(';')[0]!;
  const ask = async (headers: Record<string, string>) => (await fetch(`${coomb.address}/metrics`, { headers })).status;
  expect(await ask({})).toBe(200);
  expect(await ask({ 'x-forwarded-for': '203.0.113.9' })).toBe(401);
  expect(await ask({ 'x-forwarded-for': '203.0.113.9', cookie })).toBe(200);
});

it.skipIf(!smallDisksWork)(
  'a full disk: readings are held, not acknowledged, /readyz and /healthz say so, and all goes on once there is room',
  async () => {
    const disk = mountSmallDisk(8 << 10);
    const config = readConfig({}, { dataFolder: disk, httpPort: 0, mqttPort: 0 });
    const small = await startCoomb(config, pino({ level: 'silent' }));
    await givenDwelling(small.store);
    const makeRoom = fillDisk(disk);
    let answered = 0;
    const total = 400;
    const sent = Array.from({ length: total }, async (_, n) => {
      const { status } = await send(small, JSON.stringify({ time: NEW_YEAR + n * 60_000, temperature_c: 20 }));
      if (status === 200) answered++;
      return status;
    });
    let reasons: string[] = [];
    for (let tries = 0; tries < 100 && reasons.length === 0; tries++) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      reasons = ((await (await fetch(`${small.address}/healthz`)).json()) as { reasons: string[] }).reasons;
    }
    expect(reasons.join()).toMatch(/readings cannot be stored: The disk is full/);
    const ready = await fetch(`${small.address}/readyz`);
    expect([ready.status, await ready.json()]).toMatchObject([503, { ready: false }]);
    expect(answered).toBe(await small.store.countReadings(1));
    expect(answered).toBeLessThan(total);
    makeRoom();
    expect(new Set(await Promise.all(sent))).toEqual(new Set([200]));
    expect(await small.store.countReadings(1)).toBe(total);
    expect((await fetch(`${small.address}/readyz`)).status).toBe(200);
    await small.close();
  },
  60_000,
);
