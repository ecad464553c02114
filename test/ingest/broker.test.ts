import { connect, type Socket } from 'node:net';
import type { MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { fullAccount } from '../../server/ingest/account.ts';
import { type Broker, brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { createReceiver, type Receiver } from '../../server/ingest/receiver.ts';
import { createWriter, type Writer } from '../../server/ingest/writer.ts';
import { everyReading, gate, type Home, openHome, quarantineCodes } from './home.ts';
import { connectTo } from './processes.ts';

const now = Date.UTC(2026, 0, 31, 17, 20, 0);
const eaves = 'coomb/gable-cottage/eaves';
let home: Home;
let writer: Writer;
let receiver: Receiver;
let broker: Broker;
let client: MqttClient;

beforeEach(async () => {
  home = await openHome();
  writer = createWriter(home.store);
  receiver = createReceiver(home.store, writer, () => now);
  broker = await openBroker(receiver, { ...brokerOptions, port: 0 });
  client = await connectTo(broker.port);
});
afterEach(async () => {
  await client.endAsync(true);
  await broker.close();
  await writer.close();
  await home.close();
});

const stored = () => everyReading(home.store, home.dwellingId);
const until = async (condition: () => boolean | Promise<boolean>): Promise<void> => {
  while (!(await condition())) await new Promise((resolve) => setTimeout(resolve, 2));
};

describe('a message to the embedded broker', () => {
  it.each([1, 2] as const)('at QoS %d is on disk when it is acknowledged', async (qos) => {
    await client.publishAsync(eaves, '{"temperature_c": 12.6, "humidity_pct": 80}', { qos });
    expect(await stored()).toEqual([
      ['eaves', 'humidity', now, 80],
      ['eaves', 'temperature', now, 12.6],
    ]);
  });

  it('at QoS 0 is stored too', async () => {
    await client.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 0 });
    await until(() => writer.state().committedReadings === 1);
    expect(await stored()).toEqual([['eaves', 'temperature', now, 12.6]]);
  });

  it('is not acknowledged while its commit hangs', async () => {
    const held = gate();
    const slow = createWriter({
      append: async (batch) => {
        await held.opened;
        return home.store.append(batch);
      },
    });
    const other = await openBroker(
      createReceiver(home.store, slow, () => now),
      { ...brokerOptions, port: 0 },
    );
    const device = await connectTo(other.port);
    const events: string[] = [];
    const published = device
      .publishAsync(eaves, '{"temperature_c": 1}', { qos: 1 })
      .then(() => events.push('acknowledged'));
    await until(() => slow.state().heldMessages === 1);
    // A second device's whole conversation fits in before the first one's acknowledgement.
    const second = await connectTo(other.port);
    await second.subscribeAsync('anything');
    await second.endAsync();
    events.push('commit');
    held.open();
    await published;
    expect(events).toEqual(['commit', 'acknowledged']);
    await device.endAsync(true);
    await other.close();
    await slow.close();
  });

  it('reaches those who listen, and is not kept for those who do not', async () => {
    const listener = await connectTo(broker.port, { clientId: 'listener', clean: false });
    await listener.subscribeAsync('coomb/#', { qos: 1 });
    const heard: string[] = [];
    listener.on('message', (topic, payload, packet) => heard.push(`${topic} ${payload} ${packet.qos}`));
    await client.publishAsync(eaves, '{"temperature_c": 1}', { qos: 1, retain: true });
    await until(() => heard.length === 1);
    expect(heard).toEqual([`${eaves} {"temperature_c": 1} 0`]);
    await listener.endAsync();
    await client.publishAsync(eaves, '{"temperature_c": 2}', { qos: 1, retain: true });
    const later = await connectTo(broker.port, { clientId: 'listener', clean: false });
    later.on('message', (topic, payload) => heard.push(`${topic} ${payload}`));
    await later.subscribeAsync('coomb/#', { qos: 1 });
    await client.publishAsync(eaves, '{"temperature_c": 3}', { qos: 1 });
    await until(() => heard.length > 1);
    expect(heard.slice(1)).toEqual([`${eaves} {"temperature_c": 3}`]);
    await later.endAsync(true);
  });

  it("that is a device's last will is kept", async () => {
    const will = { topic: eaves, payload: Buffer.from('gone'), qos: 1 as const, retain: true };
    const device = await connectTo(broker.port, { will });
    device.stream.destroy();
    await until(async () => (await home.store.countQuarantined()) === 1);
    expect(await quarantineCodes(home.store)).toEqual(['not-json']);
    await device.endAsync(true);
  });
});

describe('bad input to the embedded broker', () => {
  const tenMegabytes = `{"temperature_c": 1, "pad": "${'x'.repeat(10_000_000)}"}`;
  const year1970 = '{"temperature_c": 1, "time": "1970-01-01T00:10:00Z"}';
  const farFuture = '{"temperature_c": 1, "time": "2126-01-01T00:00:00Z"}';
  it.each([
    ['not-json', eaves, 'hello'],
    ['not-json', eaves, '{"temperature_c": NaN}'],
    ['wrong-type', eaves, '{"temperature_c": "12.6"}'],
    ['not-finite', eaves, '{"temperature_c": 1e400}'],
    ['out-of-range', eaves, '{"humidity_pct": 300}'],
    ['out-of-range', eaves, '{"temperature_c": -100}'],
    ['clock-too-early', eaves, year1970],
    ['clock-ahead', eaves, farFuture],
    ['too-large', eaves, tenMegabytes],
    ['unknown-topic', 'attic/eaves', '{"temperature_c": 1}'],
    ['unknown-dwelling', 'coomb/castle/eaves', '{"temperature_c": 1}'],
    ['no-known-quantity', eaves, '{"temp": 1}'],
    ['empty', eaves, ''],
  ])('is acknowledged and kept whole in quarantine: %s on %s', async (code, topic, text) => {
    await client.publishAsync(topic, text, { qos: 1 });
    const groups = await home.store.quarantineGroups(10);
    expect(groups.map((group) => [group.code, group.topic, group.count])).toEqual([[code, topic, 1]]);
    const [kept] = await home.store.quarantined(topic, 1);
    expect(Buffer.from(kept!.payload).equals(Buffer.from(text))).toBe(true);
    expect(Buffer.from(text).indexOf(groups[0]!.lastPayload)).toBe(0);
    expect(await stored()).toEqual([]);
    await client.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
    expect(await stored()).toEqual([['eaves', 'temperature', now, 12.6]]);
  });

  it('of 101 to 105 % humidity is an over-read and stays as it came', async () => {
    const text = (value: number, minute: number) =>
      JSON.stringify({ humidity_pct: value, time: new Date(now - minute * 60_000).toISOString() });
    await client.publishAsync(eaves, text(101, 2), { qos: 1 });
    await client.publishAsync(eaves, text(105, 1), { qos: 1 });
    expect((await stored()).map(([, , , value]) => value)).toEqual([101, 105]);
    expect(await home.store.countQuarantined()).toBe(0);
  });

  it('that reserves the topics of the broker ends the connection and nothing else', async () => {
    const closed = new Promise<void>((resolve) => client.once('close', () => resolve()));
    client.publish('$SYS/heartbeat', 'x', { qos: 0 });
    await closed;
    expect(await home.store.countQuarantined()).toBe(0);
  });
});

describe('the wire', () => {
  const speak = async (whoHangsUp: 'broker' | 'device', ...bytes: Uint8Array[]): Promise<void> => {
    const socket: Socket = connect(broker.port, '127.0.0.1');
    const closed = new Promise<void>((resolve) => socket.once('close', () => resolve()));
    socket.on('error', () => {});
    socket.resume();
    for (const part of bytes) socket.write(part);
    if (whoHangsUp === 'device') socket.end();
    await closed;
  };
  const hello = Buffer.from('101000044d5154540402003c000474657374', 'hex');
  const publish = (topic: string, flags: number): Buffer => {
    const name = Buffer.from(topic);
    return Buffer.concat([
      Buffer.from([0x30 | flags, name.length + 5, 0, name.length]),
      name,
      Buffer.from([0, 1, 0x7b]),
    ]);
  };

  // MQTT 3.1.1 (OASIS, 29 October 2014): clauses beside each.
  it.each<[string, Uint8Array[]]>([
    ['text of another protocol', [Buffer.from('GET / HTTP/1.1\r\n\r\n')]],
    ['a packet before CONNECT [MQTT-3.1.0-1]', [publish(eaves, 2)]],
    ['CONNECT twice [MQTT-3.1.0-2]', [hello, hello]],
    ['a remaining length of five bytes (2.2.3)', [hello, Buffer.from('30ffffffffff7f', 'hex')]],
    ['QoS 3 [MQTT-3.3.1-4]', [hello, publish(eaves, 6)]],
    ['a wildcard in a topic [MQTT-3.3.2-2]', [hello, publish('coomb/+/eaves', 2)]],
    ['an empty topic [MQTT-4.7.3-1]', [hello, publish('', 2)]],
    ['a topic name longer than its packet', [hello, Buffer.from('30050fff616263', 'hex')]],
    ['reserved flags [MQTT-2.2.2-2]', [hello, Buffer.from('8f0500010001612f', 'hex')]],
    ['packet type 15 (2.2.1)', [hello, Buffer.from('f000', 'hex')]],
    ['a topic of 125 levels', [hello, publish('/'.repeat(124), 2)]],
    ['a protocol level nobody knows [MQTT-3.1.2-2]', [Buffer.from('101000044d5154546302003c000474657374', 'hex')]],
  ])('%s ends that connection and leaves the broker standing', async (_, parts) => {
    await speak('broker', ...parts);
    await client.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
    expect(await stored()).toEqual([['eaves', 'temperature', now, 12.6]]);
  });

  it('of random bytes after a good greeting leaves the broker standing', async () => {
    let seed = 12345;
    const random = (): number => {
      seed = (Math.imul(seed, 1103515245) + 12345) >>> 0;
      return seed >>> 24;
    };
    await speak('device');
    for (let n = 0; n < 60; n++) {
      await speak('device', hello, Uint8Array.from({ length: 40 }, random));
    }
    await client.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
    expect((await stored()).filter(([key]) => key === 'eaves')).toHaveLength(1);
  });

  it('that announces more than the limit is closed before it is gathered', async () => {
    const socket = connect(broker.port, '127.0.0.1');
    const closed = new Promise<void>((resolve) => socket.once('close', () => resolve()));
    socket.on('error', () => {});
    socket.resume();
    socket.write(hello);
    // PUBLISH with a remaining length of 200 MB, of which little is ever sent
    socket.write(Buffer.concat([Buffer.from('3080c2d75f', 'hex'), Buffer.alloc(200_000)]));
    await closed;
    await until(() => broker.state().lastError !== null);
    expect(broker.state().lastError).toContain('send smaller messages');
    await client.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
  });
});

describe('who may connect', () => {
  const accounts = [
    { username: 'eaves', password: 'larch' },
    { username: 'loft', password: 'rafter' },
  ];
  const known = accounts.map(({ username, password }) => fullAccount(username, password));

  it('is everybody on loopback, and nobody elsewhere until there are accounts', async () => {
    await expect(openBroker(receiver, { ...brokerOptions, host: '0.0.0.0', port: 0 })).rejects.toThrow(RangeError);
    const open = await openBroker(receiver, { ...brokerOptions, host: '0.0.0.0', port: 0, accounts: () => known });
    await open.close();
  });

  it('is who knows a user name and its password', async () => {
    const guarded = await openBroker(receiver, { ...brokerOptions, port: 0, accounts: () => known });
    const device = await connectTo(guarded.port, accounts[1]);
    await device.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
    expect(await stored()).toHaveLength(1);
    await device.endAsync();
    for (const wrong of [
      {},
      { username: 'eaves' },
      { username: 'eaves', password: 'rafter' },
      { username: 'x', password: 'larch' },
    ]) {
      await expect(connectTo(guarded.port, wrong)).rejects.toThrow(/username or password/i);
    }
    await guarded.close();
  });

  it('may publish and listen where its account says, and a wider subscription is refused', async () => {
    const one = {
      ...fullAccount('eaves', 'larch'),
      publishes: [eaves],
      listens: ['coomb-state/cottage/#'],
    };
    const guarded = await openBroker(receiver, { ...brokerOptions, port: 0, accounts: () => [one, known[1]!] });
    const device = await connectTo(guarded.port, accounts[0]);
    // MQTT 3.1.1, 3.9.3: 0x80 is failure
    for (const filter of ['#', '+/cottage/#', 'coomb/#', 'coomb-state/+/section', '$SYS/#', 'coomb-state/other/x']) {
      await expect(device.subscribeAsync(filter), filter).rejects.toThrow(/unspecified error|not authorized/i);
    }
    await device.subscribeAsync('coomb-state/cottage/#');
    await device.subscribeAsync('coomb-state/cottage/+/section');
    await device.publishAsync(eaves, '{"temperature_c": 12.6}', { qos: 1 });
    expect(await stored()).toHaveLength(1);
    const closed = new Promise((resolve) => device.once('close', () => resolve(null)));
    device.publish('coomb/gable-cottage/loft', '{"temperature_c": 12.6}', { qos: 1 });
    await closed;
    expect(await stored()).toHaveLength(1);
    await device.endAsync(true);
    await guarded.close();
  });

  it('is no longer somebody whose account was taken away, even while connected', async () => {
    let left = known;
    const guarded = await openBroker(receiver, { ...brokerOptions, port: 0, accounts: () => left });
    const device = await connectTo(guarded.port, accounts[0]);
    const other = await connectTo(guarded.port, accounts[1]);
    const closed = new Promise((resolve) => device.once('close', () => resolve(null)));
    left = known.slice(1);
    guarded.expelUnknown();
    await closed;
    expect(other.connected).toBe(true);
    await device.endAsync(true);
    await other.endAsync();
    await guarded.close();
  });
});

it('a broker whose port is taken says so', async () => {
  await expect(openBroker(receiver, { ...brokerOptions, port: broker.port })).rejects.toThrow(/EADDRINUSE/);
});
