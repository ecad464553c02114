import mqtt, { type MqttClient } from 'mqtt';

/** A sensor's radio: it publishes numbered readings at QoS 1 and keeps each until it is acknowledged. */
export interface Device {
  /** numbers of the readings that were acknowledged */
  readonly acknowledged: ReadonlySet<number>;
  send(from: number, to: number): void;
  /** Breaks its connection; it connects again by itself and sends again what was not acknowledged. */
  breakOff(): void;
  leave(): Promise<void>;
}

/** UTC ms of reading 0; one a minute from then on. */
export const FIRST = Date.UTC(2026, 0, 5);
export const MINUTE = 60_000;

export const messageOf = (n: number): string =>
  JSON.stringify({ time: FIRST + n * MINUTE, temperature_c: 10 + (n % 100) / 10 });

export async function openDevice(address: string, topic = 'coomb/gable-cottage/attic'): Promise<Device> {
  const acknowledged = new Set<number>();
  const client: MqttClient = await mqtt.connectAsync(address, {
    clientId: 'attic-device',
    clean: false,
    protocolVersion: 4,
    reconnectPeriod: 100,
  });
  client.on('error', () => {});
  const publish = async (n: number): Promise<void> => {
    while (!acknowledged.has(n)) {
      try {
        await client.publishAsync(topic, messageOf(n), { qos: 1 });
        acknowledged.add(n);
      } catch {
        if (client.disconnecting) return;
        await new Promise((resolve) => setTimeout(resolve, 50));
      }
    }
  };
  return {
    acknowledged,
    send(from, to) {
      for (let n = from; n < to; n++) void publish(n);
    },
    breakOff: () => client.stream.destroy(),
    leave: () => client.endAsync(true),
  };
}
