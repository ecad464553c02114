import { connect, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { type Account, fullAccount } from '../../server/ingest/account.ts';
import { type Broker, type BrokerOptions, brokerOptions, openBroker } from '../../server/ingest/broker.ts';
import { createFlowMeter } from '../../server/ingest/flow-limit.ts';
import type { Log } from '../../server/ingest/log.ts';
import { createReceiver } from '../../server/ingest/receiver.ts';
import { createWriter } from '../../server/ingest/writer.ts';
import { everyReading, type Home, openHome } from './home.ts';
import { connectTo } from './processes.ts';

const START = Date.UTC(2026, 0, 5);
const open: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of open.splice(0).reverse()) await close();
});

interface UnderTest {
  readonly broker: Broker;
  readonly home: Home;
  readonly said: string[];
  stored(sensor: string): Promise<number>;
}

async function opened(options: Partial<BrokerOptions>): Promise<UnderTest> {
  const home = await openHome();
  open.push(() => home.close());
  const receiver = createReceiver(home.store, createWriter(home.store), Date.now);
  const said: string[] = [];
  const log: Log = {
    info: () => undefined,
    warn: (detail, message) => said.push(`${message} ${JSON.stringify(detail)}`),
  };
  const broker = await openBroker(receiver, { ...brokerOptions, port: 0, ...options }, log);
  open.push(() => broker.close());
  const stored = async (sensor: string) =>
    (await everyReading(home.store, home.dwellingId)).filter(([key]) => key === sensor).length;
  return { broker, home, said, stored };
}

const clientOf = async (...given: Parameters<typeof connectTo>) => {
  const client = await connectTo(...given);
  open.push(() => client.endAsync(true));
  return client;
};
const until = async (condition: () => boolean | Promise<boolean>): Promise<void> => {
  while (!(await condition())) await new Promise((resolve) => setTimeout(resolve, 5));
};
const reading = (n: number): string => JSON.stringify({ time: START + n * 1000, temperature_c: 12 });

describe('a device that floods', () => {
  it('is slowed to the rate allowed, is named in log and state, loses nothing it was told is stored, and stops nobody else', async () => {
    const flow = { perSecond: 200, burst: 50, bytesEach: 4096 };
    const { broker, said, stored } = await opened({ flow });
    const flooding = await clientOf(broker.port, { clientId: 'flooding' });
    const steady = await clientOf(broker.port, { clientId: 'steady' });
    const begun = performance.now();
    let acknowledged = 0;
    const flood = Promise.all(
      Array.from({ length: 450 }, async (_, n) => {
        await flooding.publishAsync('coomb/gable-cottage/flooding', reading(n), { qos: 1 });
        acknowledged++;
      }),
    );
    await until(() => broker.state().slowed.length > 0);
    const before = acknowledged;
    await steady.publishAsync('coomb/gable-cottage/steady', reading(0), { qos: 1 });
    // meanwhile less of the flood came through than in a second
    expect(acknowledged - before).toBeLessThan(flow.perSecond);
    expect(broker.state().slowed).toEqual(['flooding']);
    expect(await stored('flooding')).toBeGreaterThanOrEqual(acknowledged);
    await flood;
    // 400 beyond the burst at 200 a second
    expect(performance.now() - begun).toBeGreaterThan(1900);
    expect(await stored('flooding')).toBe(450);
    expect(said.filter((line) => line.includes('sends more than is taken'))).toHaveLength(1);
    expect(said.join()).toContain('flooding');
  });

  it('counts by its bytes as well, and by its account over all of its connections', async () => {
    const accounts = () => [fullAccount('eaves', 'larch')];
    // so slow a rate that nothing runs out between the two messages, however long they take
    const { broker } = await opened({ flow: { perSecond: 0.1, burst: 30, bytesEach: 1000 }, accounts });
    const credentials = { username: 'eaves', password: 'larch' };
    const [one, two] = [await clientOf(broker.port, credentials), await clientOf(broker.port, credentials)];
    await one.publishAsync('attic/x', 'x'.repeat(29_000), { qos: 1 });
    expect(broker.state().slowed).toEqual([]);
    // 29 and 31 are 30 too many: five minutes to wait, which is too long
    const closed = new Promise((resolve) => two.once('close', () => resolve(null)));
    two.publish('attic/x', 'x'.repeat(31_000), { qos: 1 });
    await closed;
    await until(() => broker.state().slowed.length > 0);
    expect(broker.state().slowed).toEqual(['eaves']);
    expect(one.connected).toBe(true);
  });

  it('from many connections at once is closed rather than kept waiting for minutes', async () => {
    const { broker } = await opened({ flow: { perSecond: 1, burst: 1, bytesEach: 10 } });
    const client = await clientOf(broker.port);
    const closed = new Promise((resolve) => client.once('close', () => resolve(null)));
    client.publish('attic/x', 'x'.repeat(1000), { qos: 1 });
    await closed;
    await until(() => broker.state().lastError !== null);
    expect(broker.state().lastError).toContain('far more than is taken');
  });

  it('and waits when the broker stops does not hold it up', async () => {
    const { broker } = await opened({ flow: { perSecond: 1, burst: 1, bytesEach: 4096 } });
    const client = await clientOf(broker.port);
    for (let n = 0; n < 20; n++) client.publish('coomb/gable-cottage/a', reading(n), { qos: 1 });
    await until(() => broker.state().slowed.length > 0);
    const begun = performance.now();
    await broker.close();
    expect(performance.now() - begun).toBeLessThan(2000);
  });
});

describe('the meter', () => {
  it('lets a burst through at once, then one for every turn of its rate, and forgives with time', () => {
    let now = 0;
    const meter = createFlowMeter({ perSecond: 10, burst: 3, bytesEach: 100 }, () => now);
    expect([meter.take(1), meter.take(1), meter.take(1)]).toEqual([0, 0, 0]);
    expect(meter.take(1)).toBeCloseTo(100, 6);
    expect(meter.take(200)).toBeCloseTo(300, 6);
    now = 600;
    expect(meter.take(1)).toBe(0);
    now = 60_000;
    expect(meter.take(300)).toBe(0);
  });
});

describe('connections', () => {
  const hello = (port: number): Promise<Socket> =>
    new Promise((resolve, reject) => {
      const socket = connect(port, '127.0.0.1');
      open.push(async () => socket.destroy());
      socket.on('error', () => undefined);
      socket.once('close', () => reject(new Error('turned away')));
      socket.once('data', () => resolve(socket));
      const id = Buffer.from(`raw${Math.random()}`);
      // MQTT 3.1.1, 3.1: CONNECT with a clean session
      socket.write(
        Buffer.concat([
          Buffer.from([0x10, 12 + id.length, 0, 4]),
          Buffer.from('MQTT'),
          Buffer.from([4, 2, 0, 0, 0, id.length]),
          id,
        ]),
      );
    });

  it('more than there may be are turned away with a log line, and taken again once others went', async () => {
    const { broker, said } = await opened({ maxConnections: 3 });
    const sockets = [await hello(broker.port), await hello(broker.port), await hello(broker.port)];
    await expect(hello(broker.port)).rejects.toThrow('turned away');
    await expect(hello(broker.port)).rejects.toThrow('turned away');
    await until(() => broker.state().clients === 3 && broker.state().full);
    expect(said.filter((line) => line.includes('turned away'))).toHaveLength(1);
    sockets[0]!.destroy();
    await until(() => broker.state().clients === 2);
    await hello(broker.port);
  });

  it('of one account cannot take those of all', async () => {
    const accounts = () => [fullAccount('eaves', 'larch'), fullAccount('loft', 'rafter')];
    const { broker } = await opened({ maxConnectionsEach: 2, accounts });
    const eaves = { username: 'eaves', password: 'larch' };
    await clientOf(broker.port, eaves);
    const second = await clientOf(broker.port, eaves);
    // MQTT 3.1.1, 3.2.2.3: 3 is server unavailable
    await expect(connectTo(broker.port, eaves)).rejects.toThrow(/Server unavailable/i);
    await clientOf(broker.port, { username: 'loft', password: 'rafter' });
    await second.endAsync();
    await until(() => broker.state().clients === 2);
    await clientOf(broker.port, eaves);
  });
});

describe('a device with an account', () => {
  const mine: Account = {
    ...fullAccount('eaves', 'larch'),
    publishes: ['coomb/gable-cottage/eaves'],
    listens: ['coomb-state/gable-cottage/#'],
  };
  const credentials = { username: 'eaves', password: 'larch' };

  it('hears nothing of what others send, whatever it asks to hear', async () => {
    const { broker } = await opened({ accounts: () => [mine, fullAccount('all', 'rafter')] });
    const device = await clientOf(broker.port, credentials);
    const other = await clientOf(broker.port, { username: 'all', password: 'rafter' });
    const heard: string[] = [];
    device.on('message', (topic) => heard.push(topic));
    for (const filter of [
      '#',
      '+/#',
      'coomb/#',
      'coomb/+/+',
      'coomb/gable-cottage/eaves',
      '$SYS/#',
      '$share/x/#',
      '+/+/+',
    ]) {
      await device.subscribeAsync(filter).catch(() => undefined);
    }
    await device.subscribeAsync('coomb-state/gable-cottage/#');
    await other.publishAsync('coomb/gable-cottage/loft', reading(1), { qos: 1 });
    await device.publishAsync('coomb/gable-cottage/eaves', reading(1), { qos: 1 });
    broker.publish('coomb-state/other-home/home', '{}');
    broker.publish('coomb-state/gable-cottage/home', '{}');
    await until(() => heard.length > 0);
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(heard).toEqual(['coomb-state/gable-cottage/home']);
  });

  it('cannot have a last will said where it may not speak', async () => {
    const { broker, home, stored } = await opened({ accounts: () => [mine] });
    const will = (topic: string) => ({ topic, payload: Buffer.from(reading(7)), qos: 1 as const, retain: false });
    for (const [clientId, topic] of [
      ['allowed', 'coomb/gable-cottage/eaves'],
      ['not-allowed', 'coomb/gable-cottage/loft'],
    ] as const) {
      const device = await clientOf(broker.port, { ...credentials, clientId, will: will(topic) });
      device.stream.destroy();
    }
    await until(async () => (await stored('eaves')) === 1);
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(await stored('loft')).toBe(0);
    expect(await home.store.countQuarantined()).toBe(0);
  });

  it('cannot push another off by taking its client id', async () => {
    const { broker } = await opened({ accounts: () => [mine, fullAccount('loft', 'rafter')] });
    const victim = await clientOf(broker.port, { username: 'loft', password: 'rafter', clientId: 'loft-1' });
    await expect(connectTo(broker.port, { ...credentials, clientId: 'loft-1' })).rejects.toThrow(
      /Identifier rejected/i,
    );
    await victim.publishAsync('coomb/gable-cottage/loft', reading(1), { qos: 1 });
    expect(victim.connected).toBe(true);
    // its own, left behind by a broken line, it may end
    const again = await clientOf(broker.port, { username: 'loft', password: 'rafter', clientId: 'loft-1' });
    expect(again.connected).toBe(true);
  });

  it('is let in beside connections that came without one, which end with the first account', async () => {
    let accounts: Account[] = [];
    const { broker } = await opened({ accounts: () => accounts });
    const nameless = await clientOf(broker.port);
    const closed = new Promise((resolve) => nameless.once('close', () => resolve(null)));
    accounts = [mine];
    broker.expelUnknown();
    await closed;
    await clientOf(broker.port, credentials);
  });
});
