import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type MessageReceiver, withOutdoorForecasts } from '../../server/ingest/forecast-receiver.ts';
import { leavesOf, suggestPattern } from '../../server/ingest/guess.ts';
import { prepareMapping } from '../../server/ingest/mapping.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createRereader, type Rereader } from '../../server/ingest/reread.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import type { MappedValue, Mapping, New } from '../../server/store/port.ts';
import { dwelling, everyReading, type Home, openHome, quarantineCodes } from './home.ts';

const now = Date.UTC(2026, 0, 31, 17, 20, 0);
let time = now;
let home: Home;
let writer: Writer;
let receiver: MessageReceiver;
let rereader: Rereader;
beforeEach(async () => {
  time = now;
  home = await openHome();
  writer = createWriter(home.store);
  const readings = createReceiver(home.store, writer, () => time);
  receiver = withOutdoorForecasts(
    readings,
    home.store,
    writer,
    () => time,
    () => undefined,
  );
  rereader = createRereader(home.store, receiver, writer, () => time);
});
afterEach(async () => {
  await rereader.close();
  await writer.close();
  await home.close();
});

const value = (pointer: string, change: Partial<MappedValue> = {}): MappedValue => ({
  pointer,
  quantity: 'temperature',
  unit: 'C',
  scale: 1,
  offset: 0,
  sensorKey: null,
  ...change,
});
const humidity = (pointer: string): MappedValue => value(pointer, { quantity: 'humidity', unit: '%' });

async function map(topicPattern: string, values: readonly MappedValue[], change: Partial<New<Mapping>> = {}) {
  const mapping = { dwellingId: home.dwellingId, topicPattern, sensorKey: '{sensor}', values, time: null, ...change };
  expect(prepareMapping(mapping).kind).toBe('ready');
  await home.store.addMapping(mapping);
  receiver.forget();
}
const send = (topic: string, payload: unknown) =>
  receiver.receive('mqtt', topic, Buffer.from(typeof payload === 'string' ? payload : JSON.stringify(payload)));
const stored = () => everyReading(home.store, home.dwellingId);

describe('a mapping', () => {
  it('reads one message with everything in it', async () => {
    await map('attic/{sensor}/state', [
      value('/climate/0/t', { unit: 'F' }),
      humidity('/climate/0/rh'),
      value('/mv', { quantity: 'battery', unit: 'mV' }),
    ]);
    const payload = { climate: [{ t: 50, rh: '81.5' }], mv: 2970, rssi: -70 };
    expect(await send('attic/beam/state', payload)).toEqual({ kind: 'stored', readings: 3, fault: null });
    expect(await stored()).toEqual([
      ['beam', 'battery', now, 2.97],
      ['beam', 'humidity', now, 81.5],
      ['beam', 'temperature', now, 10],
    ]);
  });

  it('reads a topic for each quantity, with nothing but a number in it', async () => {
    await map('attic/{sensor}/temperature', [value('')]);
    await map('attic/{sensor}/humidity', [humidity('')]);
    for (const [topic, text] of [
      ['attic/beam/temperature', '3.5'],
      ['attic/beam/humidity', '+88.0\n'],
      ['attic/beam/humidity', '"89"'],
    ] as const) {
      expect(await send(topic, text)).toMatchObject({ kind: 'stored', readings: 1, fault: null });
      time += 1000;
    }
    expect(await stored()).toEqual([
      ['beam', 'humidity', now + 1000, 88],
      ['beam', 'humidity', now + 2000, 89],
      ['beam', 'temperature', now, 3.5],
    ]);
  });

  it('reads several sensors out of one message, and scales what comes in tenths', async () => {
    await map('hub', [value('/0', { scale: 0.1, sensorKey: 'room' }), value('/1', { scale: 0.1, offset: -1 })], {
      sensorKey: 'loft',
    });
    await send('hub', [217, 35]);
    expect(await stored()).toEqual([
      ['loft', 'temperature', now, 2.5],
      ['room', 'temperature', now, 21.7],
    ]);
  });

  // the same instant, 2026-01-31T17:10:00Z, from `date -u -d @1769879400`
  it.each([
    ['iso-8601', '2026-01-31T18:10:00+01:00'],
    ['epoch-s', 1769879400],
    ['epoch-s', '1769879400'],
    ['epoch-ms', 1769879400000],
  ] as const)('reads the time in the form %s', async (form, at) => {
    await map('attic/{sensor}', [value('/t')], { time: { pointer: '/at', form } });
    await send('attic/beam', { t: 3, at });
    await send('attic/other', { t: 3, at: null });
    expect(await stored()).toEqual([
      ['beam', 'temperature', now - 600_000, 3],
      ['other', 'temperature', now, 3],
    ]);
  });

  it.each([
    ['iso-8601', 1769879400, 'bad-time'],
    ['iso-8601', '2026-01-31T18:10:00', 'time-without-offset'],
    ['epoch-s', 'noon', 'bad-time'],
    ['epoch-s', 1769879400000, 'clock-ahead'],
    ['epoch-ms', 1769879400, 'clock-too-early'],
  ] as const)('sets aside what its time in the form %s cannot be: %s', async (form, at, code) => {
    await map('attic/{sensor}', [value('/t')], { time: { pointer: '/at', form } });
    expect(await send('attic/beam', { t: 3, at })).toMatchObject({ kind: 'quarantined', fault: { code } });
  });

  it('sets aside what cannot be a value, keeps what can, and says which is which', async () => {
    await map('attic/{sensor}', [value('/t'), humidity('/h')]);
    expect(await send('attic/beam', { t: 3, h: 300 })).toMatchObject({
      kind: 'stored',
      readings: 1,
      fault: { code: 'out-of-range', message: expect.stringContaining('/h is 300 %') },
    });
    expect(await send('attic/beam', { t: 'warm', h: null })).toMatchObject({ fault: { code: 'wrong-type' } });
    expect(await send('attic/beam', { t: null })).toMatchObject({ fault: { code: 'no-value' } });
    expect(await send('attic/beam', { x: 1 })).toMatchObject({ fault: { code: 'mapping-finds-nothing' } });
    expect(await send('attic/beam', 'on')).toMatchObject({ fault: { code: 'not-json' } });
    expect(await send('attic/be+am', { t: 1 })).toMatchObject({ fault: { code: 'bad-name' } });
  });

  it('without values says whose the messages are that name their quantities', async () => {
    const { id } = await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    await map('garden/{sensor}', [], { dwellingId: id, sensorKey: 'shed-{sensor}' });
    await send('garden/a', { temperature_c: 4 });
    await send('garden/b', [{ n: 'urn:dev:ow:1:temp', u: 'Cel', v: 5 }]);
    expect(await everyReading(home.store, id)).toEqual([
      ['shed-a', 'temperature', now, 4],
      ['shed-b', 'temperature', now, 5],
    ]);
  });

  it('stands behind the form of our own, and before SenML', async () => {
    await map('coomb/gable-cottage/{sensor}', [value('/celsius')], { sensorKey: 'mapped' });
    await map('garden/{sensor}', [value('/0/v')], { sensorKey: 'mapped' });
    await send('coomb/gable-cottage/eaves', { temperature_c: 1, celsius: 9 });
    await send('coomb/gable-cottage/eaves', { celsius: 2 });
    time += 1000;
    await send('garden/shed', [{ n: 'shed', u: 'Cel', v: 3 }]);
    expect((await stored()).map(([sensor, , , degrees]) => [sensor, degrees])).toEqual([
      ['eaves', 1],
      ['mapped', 2],
      ['mapped', 3],
    ]);
  });

  it('that was removed reads nothing more', async () => {
    await map('attic/{sensor}', [value('/t')]);
    await send('attic/beam', { t: 3 });
    await home.store.removeMapping(home.dwellingId, 1);
    receiver.forget();
    expect(await send('attic/beam', { t: 4 })).toMatchObject({ fault: { code: 'unknown-topic' } });
  });

  it('that cannot be used says all that is wrong with it', () => {
    const result = prepareMapping({
      dwellingId: 1,
      topicPattern: 'attic/{sensor}',
      sensorKey: '{beam}',
      values: [value('t', { unit: 'V', scale: 0, sensorKey: 'a/b' })],
      time: { pointer: '~', form: 'epoch-s' },
    });
    expect(result).toMatchObject({ kind: 'faults' });
    expect(result.kind === 'faults' && result.faults.map(({ pointer }) => pointer)).toEqual([
      '/sensorKey',
      '/values/0/unit',
      '/values/0/scale',
      '/values/0/sensorKey',
      '/values/0/pointer',
      '/time/pointer',
    ]);
  });
});

describe('what waits in quarantine', () => {
  it('is read in when a mapping explains it, with the time it came, once', async () => {
    for (let minute = 0; minute < 450; minute++) {
      time = now + minute * 60_000;
      await send(`attic/s${minute % 3}`, { t: minute / 100 });
    }
    await send('attic/s1', { x: 1 });
    await send('cellar/s1', { t: 1 });
    expect(await home.store.countQuarantined()).toBe(452);
    await map('attic/{sensor}', [value('/t')]);
    expect(await rereader.run()).toEqual({ messages: 450, readings: 450, left: 2 });
    const rows = await stored();
    expect(rows).toHaveLength(450);
    expect(rows[1]).toEqual(['s0', 'temperature', now + 3 * 60_000, 0.03]);
    expect(await home.store.countQuarantined()).toBe(2);
    expect((await home.store.quarantined('attic/s0', 1000)).length).toBe(150);
    expect(await rereader.run()).toEqual({ messages: 0, readings: 0, left: 2 });
    expect(await stored()).toEqual(rows);
  });

  it('is read in when its dwelling is added', async () => {
    await send('coomb/mill-house/loft', { temperature_c: 3 });
    const { id } = await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    receiver.forget();
    time += 3_600_000;
    expect(await rereader.run()).toEqual({ messages: 1, readings: 1, left: 0 });
    expect(await everyReading(home.store, id)).toEqual([['loft', 'temperature', now, 3]]);
  });

  it('is no new reading where it was retained, unless it says its time', async () => {
    const retained = (payload: object) =>
      receiver.receive('mqtt', 'attic/beam', Buffer.from(JSON.stringify(payload)), 'retained');
    await retained({ t: 3 });
    await retained({ t: 4, at: now / 1000 - 60 });
    await map('attic/{sensor}', [value('/t')], { time: { pointer: '/at', form: 'epoch-s' } });
    expect(await rereader.run()).toEqual({ messages: 2, readings: 1, left: 0 });
    expect(await stored()).toEqual([['beam', 'temperature', now - 60_000, 4]]);
    expect(await home.store.countQuarantined()).toBe(0);
  });

  it('and is good in part gives that part, and says what is wrong with the rest', async () => {
    await send('attic/beam', { t: 3, h: 300 });
    await map('attic/{sensor}', [value('/t'), humidity('/h')]);
    expect(await rereader.run()).toMatchObject({ messages: 1, readings: 1 });
    expect(await quarantineCodes(home.store)).toEqual(['out-of-range']);
    expect(await rereader.run()).toEqual({ messages: 0, readings: 0, left: 1 });
    expect(await home.store.quarantined('attic/beam', 10)).toHaveLength(2);
    expect(await stored()).toHaveLength(1);
  });

  it('is left as it is when it cannot be stored', async () => {
    await send('attic/beam', { t: 3 });
    await map('attic/{sensor}', [value('/t')]);
    const refusing = createWriter({
      append: async (batch) => {
        if (batch.readings.length > 0) throw new Error('the store has a bug');
        return home.store.append(batch);
      },
    });
    await createRereader(home.store, receiver, refusing, () => now).run();
    await refusing.close();
    expect(await home.store.countQuarantined()).toBe(1);
    expect(await rereader.run()).toMatchObject({ messages: 1, readings: 1, left: 0 });
  });
});

describe('a guess at a message', () => {
  const guess = (json: unknown, name = 'state') =>
    leavesOf(json, name, now).map(({ pointer, quantity, time: form }) => [
      pointer,
      quantity === null ? form : `${quantity.quantity} in ${quantity.unit}`,
    ]);

  it('finds quantities, units and the time by their names and size', () => {
    expect(
      guess({
        ts: now / 1000,
        when: '2026-01-31T17:00:00Z',
        climate: { temp: 12, temp_f: 54, 'a/b': { humidity: '61' }, rh: 0.61 },
        t: [294, 3],
        vbat: 2970,
        battery: 87,
        co2: 812,
        name: 'hall',
        fan: true,
      }),
    ).toEqual([
      ['/ts', 'epoch-s'],
      ['/when', 'iso-8601'],
      ['/climate/temp', 'temperature in C'],
      ['/climate/temp_f', 'temperature in F'],
      ['/climate/a~1b/humidity', 'humidity in %'],
      ['/climate/rh', 'humidity in ratio'],
      ['/t/0', 'temperature in K'],
      ['/t/1', 'temperature in C'],
      ['/vbat', 'battery in mV'],
      ['/battery', null],
      ['/co2', 'co2 in ppm'],
      ['/name', null],
      ['/fan', null],
    ]);
    expect(guess(21.5, 'temperature')).toEqual([['', 'temperature in C']]);
  });

  it('stays small however large the message', () => {
    expect(
      leavesOf(
        Array.from({ length: 100_000 }, (_, k) => k),
        'x',
        now,
      ),
    ).toHaveLength(300);
    let deep: unknown = 1;
    for (let k = 0; k < 5000; k++) deep = [deep];
    expect(leavesOf(deep, 'x', now)).toEqual([]);
  });

  it('suggests the level that names the sensor', () => {
    expect(suggestPattern('attic/beam/state').topicPattern).toBe('attic/{sensor}/state');
    expect(suggestPattern('attic/beam/temperature').topicPattern).toBe('attic/{sensor}/temperature');
    expect(suggestPattern('temperature').topicPattern).toBe('{sensor}');
    expect(suggestPattern('a{b/x+y/beam').topicPattern).toBe('+/+/{sensor}');
  });
});
