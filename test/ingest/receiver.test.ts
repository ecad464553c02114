import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createReceiver, type Receiver } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { dwelling, everyReading, type Home, openHome, quarantineCodes } from './home.ts';

const now = Date.UTC(2026, 0, 31, 17, 20, 0);
let home: Home;
let writer: Writer;
let receiver: Receiver;
beforeEach(async () => {
  home = await openHome();
  writer = createWriter(home.store);
  receiver = createReceiver(home.store, writer, () => now);
});
afterEach(async () => {
  await writer.close();
  await home.close();
});

const eaves = 'coomb/gable-cottage/eaves';
const send = (topic: string, text: string) => receiver.receive('http', topic, Buffer.from(text));
const stored = () => everyReading(home.store, home.dwellingId);

describe('a message', () => {
  it('of a sensor nobody has heard of makes the sensor', async () => {
    expect(await send(eaves, '{"temperature_c": 12.6}')).toEqual({ kind: 'stored', readings: 1, fault: null });
    expect((await home.store.sensors(home.dwellingId)).map(({ key }) => key)).toEqual(['eaves']);
    expect(await home.store.placements(home.dwellingId)).toEqual([]);
    expect(await stored()).toEqual([['eaves', 'temperature', now, 12.6]]);
  });

  it('of a dwelling that is added later is taken from then on', async () => {
    const loft = '{"temperature_c": 3}';
    expect(await send('coomb/mill-house/loft', loft)).toMatchObject({
      kind: 'quarantined',
      fault: { code: 'unknown-dwelling', message: expect.stringContaining('"gable-cottage"') },
    });
    await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    expect(await send('coomb/mill-house/loft', loft)).toMatchObject({ kind: 'stored' });
  });

  it('of a dwelling that was renamed no longer reaches it by the old name', async () => {
    await send(eaves, '{"temperature_c": 1}');
    await home.store.changeDwelling(home.dwellingId, { slug: 'gable-house' });
    receiver.forget();
    expect(await send(eaves, '{"temperature_c": 2}')).toMatchObject({ fault: { code: 'unknown-dwelling' } });
  });

  it('that cannot be read is kept as it came, with where it came from and why', async () => {
    await send('attic/eaves/state', 'on');
    await send(eaves, 'hello');
    expect(await quarantineCodes(home.store)).toEqual(['not-json', 'unknown-topic']);
    const [row] = await home.store.quarantined(eaves, 10);
    expect(row).toMatchObject({ source: 'http', topic: eaves, receivedAt: now, code: 'not-json' });
    expect(Buffer.from(row!.payload).toString()).toBe('hello');
    expect(receiver.counts()).toMatchObject({ messages: 2, readings: 0, quarantined: 2 });
  });

  it('with one good and one bad quantity is stored and set aside', async () => {
    const receipt = await send(eaves, '{"temperature_c": 12.6, "humidity_pct": 300}');
    expect(receipt).toMatchObject({ kind: 'stored', readings: 1, fault: { code: 'out-of-range' } });
    expect(await stored()).toEqual([['eaves', 'temperature', now, 12.6]]);
    expect(await quarantineCodes(home.store)).toEqual(['out-of-range']);
  });
});

describe('readings that come late, twice, out of order or in disagreement', () => {
  const at = (minute: number, value: number): string =>
    JSON.stringify({ time: new Date(now - minute * 60_000).toISOString(), temperature_c: value });

  it('are stored once each, in order of time', async () => {
    for (const text of [at(10, 1), at(30, 3), at(20, 2), at(30, 3), at(10, 1)]) await send(eaves, text);
    await send(eaves, `[${at(20, 2)}, ${at(40, 4)}, ${at(40, 4)}]`);
    await send(eaves, JSON.stringify({ time: '2010-11-15T00:00:00+02:00', temperature_c: 9 }));
    expect((await stored()).map(([, , time, value]) => [time, value])).toEqual([
      [Date.UTC(2010, 10, 14, 22), 9],
      [now - 40 * 60_000, 4],
      [now - 30 * 60_000, 3],
      [now - 20 * 60_000, 2],
      [now - 10 * 60_000, 1],
    ]);
    expect(await home.store.conflicts(home.dwellingId, 10)).toEqual([]);
  });

  it('keep the first value of an instant, and the other beside it', async () => {
    await send(eaves, at(10, 1));
    await send(eaves, at(10, 5));
    await send(eaves, at(10, 1));
    expect((await stored()).map(([, , , value]) => value)).toEqual([1]);
    const conflicts = await home.store.conflicts(home.dwellingId, 10);
    expect(conflicts).toHaveLength(1);
    expect(conflicts[0]).toMatchObject({ time: now - 600_000, keptValue: 1, otherValue: 5 });
  });
});

describe("a broker's retained message", () => {
  const retained = (text: string) => receiver.receive('mqtt', eaves, Buffer.from(text), 'retained');

  it('without a time of its own is no new reading', async () => {
    expect(await retained('{"temperature_c": 12.6}')).toEqual({ kind: 'ignored', reason: 'retained-without-time' });
    expect(await stored()).toEqual([]);
    expect(receiver.counts()).toMatchObject({ retainedIgnored: 1 });
  });

  it('with its own time is the reading it says it is', async () => {
    await retained('{"temperature_c": 12.6, "time": "2026-01-31T12:00:00Z"}');
    expect(await stored()).toEqual([['eaves', 'temperature', Date.UTC(2026, 0, 31, 12), 12.6]]);
  });
});

describe('messages that come together', () => {
  const incoming = (topic: string, text: string, delivery: 'live' | 'retained' = 'live') => ({
    topic,
    payload: Buffer.from(text),
    delivery,
  });

  it('each become what it would alone', async () => {
    const outcomes = await receiver.receiveAll('mqtt', [
      incoming(eaves, '{"temperature_c": 12.6}'),
      incoming('coomb/castle/eaves', '{"temperature_c": 12.6}'),
      incoming(eaves, '{"temperature_c": 1}', 'retained'),
      incoming('coomb-state/gable-cottage/home', '{"temperature_c": 1}'),
      incoming(eaves, 'hello', 'retained'),
      incoming('coomb/gable-cottage/loft', '{"temperature_c": 3, "humidity_pct": 300}'),
    ]);
    expect(outcomes).toMatchObject([
      { kind: 'stored', readings: 1, fault: null },
      { kind: 'quarantined', fault: { code: 'unknown-dwelling' } },
      { kind: 'ignored', reason: 'retained-without-time' },
      { kind: 'ignored', reason: 'own-state' },
      { kind: 'quarantined', fault: { code: 'not-json' } },
      { kind: 'stored', readings: 1, fault: { code: 'out-of-range' } },
    ]);
    expect(await stored()).toEqual([
      ['eaves', 'temperature', now, 12.6],
      ['loft', 'temperature', now, 3],
    ]);
    expect(await quarantineCodes(home.store)).toEqual(['not-json', 'out-of-range', 'unknown-dwelling']);
    expect(receiver.counts()).toEqual({ messages: 5, readings: 2, quarantined: 3, retainedIgnored: 1 });
  });

  it('are to be sent again where nobody can look up whose they are, and the others are stored', async () => {
    let isAway = false;
    const moody = createReceiver(
      {
        dwellings: () => (isAway ? Promise.reject(new Error('the database is locked')) : home.store.dwellings()),
        mappings: () => home.store.mappings(),
      },
      writer,
      () => now,
    );
    const lot = [incoming(eaves, '{"temperature_c": 1}'), incoming('coomb/castle/eaves', '{"temperature_c": 2}')];
    isAway = true;
    expect(await moody.receiveAll('mqtt', lot)).toEqual([expect.any(Error), expect.any(Error)]);
    isAway = false;
    await moody.receive('mqtt', eaves, Buffer.from('{"humidity_pct": 60}'));
    isAway = true;
    expect(await moody.receiveAll('mqtt', lot)).toEqual([
      { kind: 'stored', readings: 1, fault: null },
      expect.objectContaining({ message: 'the database is locked' }),
    ]);
    expect((await stored()).map(([, , , value]) => value)).toEqual([60, 1]);
    expect(await quarantineCodes(home.store)).toEqual([]);
  });

  it('are each told of that could not be stored', async () => {
    await writer.close();
    expect(await receiver.receiveAll('mqtt', [incoming(eaves, '{"temperature_c": 1}'), incoming(eaves, 'x')])).toEqual([
      expect.objectContaining({ name: 'WriteRefused' }),
      expect.objectContaining({ name: 'WriteRefused' }),
    ]);
    expect(receiver.counts()).toMatchObject({ messages: 2, readings: 0, quarantined: 0 });
  });
});

describe('a SenML pack', () => {
  const pack = '[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":3.5},{"n":"rafter","u":"%RH","v":88}]';

  it('on a topic of our own form is of the sensor the topic names', async () => {
    expect(await send(eaves, pack)).toEqual({ kind: 'stored', readings: 2, fault: null });
    expect(await stored()).toEqual([
      ['eaves', 'temperature', now, 3.5],
      ['eaves.rafter', 'humidity', now, 88],
    ]);
  });

  it('on any other topic is of the only dwelling there is', async () => {
    expect(await send('garden/shed', pack)).toMatchObject({ kind: 'stored', readings: 2 });
    expect((await stored()).map(([sensor]) => sensor)).toEqual([
      'urn:dev:ow:10e2073a01080063',
      'urn:dev:ow:10e2073a01080063.rafter',
    ]);
  });

  it('on any other topic is set aside where there are several dwellings, with what to do', async () => {
    await home.store.addDwelling({ ...dwelling, slug: 'mill-house', name: 'Mill House' });
    expect(await send('garden/shed', pack)).toMatchObject({
      kind: 'quarantined',
      fault: { code: 'which-dwelling', message: expect.stringMatching(/"mill-house".*Map the topic/) },
    });
  });

  it('that was retained counts only where it says when it was measured', async () => {
    const dated = `[{"n":"urn:dev:ow:1:temp","u":"Cel","v":3.5,"t":${now / 1000 - 60}},{"n":"urn:dev:ow:1:rh","u":"%RH","v":88,"t":-60}]`;
    await receiver.receive('mqtt', eaves, Buffer.from(dated), 'retained');
    expect(await stored()).toEqual([['eaves', 'temperature', now - 60_000, 3.5]]);
    expect(await receiver.receive('mqtt', eaves, Buffer.from(pack), 'retained')).toMatchObject({ kind: 'ignored' });
  });
});
