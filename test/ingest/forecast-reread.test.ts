import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type MessageReceiver, withOutdoorForecasts } from '../../server/ingest/forecast-receiver.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createRereader, type Rereader } from '../../server/ingest/reread.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { dwelling, type Home, openHome } from './home.ts';

const HOUR = 3_600_000;
const NOON = Date.UTC(2026, 0, 14, 12);

let now: number;
let home: Home;
let writer: Writer;
let receiver: MessageReceiver;
let rereader: Rereader;
/** dwellings that were told of a new forecast */
let told: number[];
beforeEach(async () => {
  now = NOON;
  told = [];
  home = await openHome();
  writer = createWriter(home.store);
  const readings = createReceiver(home.store, writer, () => now);
  receiver = withOutdoorForecasts(
    readings,
    home.store,
    writer,
    () => now,
    (id) => told.push(id),
  );
  rereader = createRereader(home.store, receiver, writer, () => now);
});
afterEach(async () => {
  await rereader.close();
  await writer.close();
  await home.close();
});

const forecast = (issued: number, temperature = 3) => ({
  issued: new Date(issued).toISOString(),
  hours: [1, 2].map((k) => ({
    time: new Date(NOON + k * HOUR).toISOString(),
    temperature_c: temperature,
    humidity_pct: 88,
  })),
});
const send = (json: unknown, slug = 'gable-cottage', delivery: 'live' | 'retained' = 'live') =>
  receiver.receive('mqtt', `coomb/${slug}/outdoor-forecast`, Buffer.from(JSON.stringify(json)), delivery);

it('outdoor forecasts that come together with readings each become what they would alone', async () => {
  const incoming = (topic: string, json: unknown) => ({
    topic: `coomb/${topic}`,
    payload: Buffer.from(JSON.stringify(json)),
    delivery: 'live' as const,
  });
  expect(
    await receiver.receiveAll('mqtt', [
      incoming('gable-cottage/loft', { temperature_c: 1 }),
      incoming('gable-cottage/outdoor-forecast', forecast(NOON - HOUR)),
      incoming('gable-cottage/outdoor-forecast', { issued: 'today' }),
      incoming('gable-cottage/eaves', { temperature_c: 2, humidity_pct: 60 }),
    ]),
  ).toMatchObject([
    { kind: 'stored', readings: 1 },
    { kind: 'stored', readings: 2 },
    { kind: 'quarantined' },
    { kind: 'stored', readings: 2 },
  ]);
  expect(await home.store.countReadings(home.dwellingId)).toBe(3);
  expect(await home.store.outdoorForecasts(home.dwellingId, 0)).toMatchObject([{ issued: NOON - HOUR }]);
  expect(told).toEqual([home.dwellingId]);
});

describe('an outdoor forecast in quarantine', () => {
  it('for a home that was added since is kept as if it had been there, with the time it came, and once', async () => {
    expect(await send(forecast(NOON - HOUR), 'mill-house')).toMatchObject({ kind: 'quarantined' });
    expect(await send(forecast(NOON), 'mill-house', 'retained')).toMatchObject({ kind: 'quarantined' });
    expect(await rereader.run()).toEqual({ messages: 0, readings: 0, left: 2 });
    now = NOON + 4 * HOUR;
    const { id } = await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    receiver.forget();
    expect(await rereader.run()).toEqual({ messages: 2, readings: 4, left: 0 });
    expect(await home.store.outdoorForecasts(id, 0)).toMatchObject([
      { issued: NOON - HOUR, received: NOON, from: NOON + HOUR },
      { issued: NOON, received: NOON, from: NOON + HOUR },
    ]);
    expect(told).toEqual([id, id]);
    expect(await home.store.countQuarantined()).toBe(0);
    expect(await rereader.run()).toEqual({ messages: 0, readings: 0, left: 0 });
  });

  it('that is still not understood stays there, and is never taken for readings of a sensor', async () => {
    await send({ issued: 'today' });
    await send({ temperature_c: 3 });
    expect(await rereader.run()).toEqual({ messages: 0, readings: 0, left: 2 });
    expect(await home.store.sensors(home.dwellingId)).toEqual([]);
    expect(await home.store.countQuarantined()).toBe(2);
  });

  it('that was marked too late, as when the power goes in between, is not kept twice', async () => {
    await send(forecast(NOON), 'mill-house');
    const { id } = await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    const [row] = await home.store.quarantined('coomb/mill-house/outdoor-forecast', 1);
    const understood = await receiver.read(row!.topic, row!.payload, row!.receivedAt);
    if (understood.kind !== 'forecast') throw new Error(understood.kind);
    await receiver.keepForecast(understood);
    now = NOON + HOUR;
    await send(forecast(NOON, 5), 'mill-house');
    expect(await rereader.run()).toEqual({ messages: 1, readings: 2, left: 0 });
    expect((await home.store.outdoorForecasts(id, 0)).map(({ received }) => received)).toEqual([NOON, NOON + HOUR]);
  });

  it("that lay ahead of this computer's clock, which stood back, is kept once that is known", async () => {
    now = NOON - 5 * HOUR;
    expect(await send(forecast(NOON - HOUR))).toMatchObject({ fault: { code: 'bad-forecast' } });
    // by the right clock it would have lain ahead as well
    expect(await send(forecast(NOON + HOUR))).toMatchObject({ fault: { code: 'bad-forecast' } });
    const untilId = await home.store.lastQuarantinedId();
    now = NOON;
    expect(await rereader.runStoodBack({ afterId: 0, untilId, behindMs: 5 * HOUR })).toEqual({
      messages: 1,
      readings: 2,
      left: 1,
    });
    expect(await home.store.outdoorForecasts(home.dwellingId, 0)).toMatchObject([
      { issued: NOON - HOUR, received: NOON },
    ]);
  });
});
