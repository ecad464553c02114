import mqtt from 'mqtt';
import { readUrl } from './broker-url.ts';
import { type Log, silent } from './log.ts';
import type { SubscriberOptions } from './mqtt.ts';

/** Keeps retained messages of ours on an external broker. */
export interface RetainedPublisher {
  publish(topic: string, payload: string): void;
  close(): Promise<void>;
}

const RETRY_MS = 5000;
const CLOSING_MS = 2000;

/**
 * Connects on its own, under a will: when the connection breaks the broker itself says on `statusTopic` that what stands
 * there is not kept up any more. After every connection all is said again.
 */
export function publishRetained(
  options: Pick<SubscriberOptions, 'url' | 'username' | 'password' | 'clientId'> & { readonly statusTopic: string },
  log: Log = silent,
): RetainedPublisher {
  const status = (running: boolean): string => JSON.stringify({ running });
  const said = new Map<string, string>();
  const retained = { qos: 1, retain: true } as const;
  const client = mqtt.connect({
    ...readUrl(options),
    clientId: `${options.clientId}-state`,
    clean: true,
    reconnectPeriod: RETRY_MS,
    will: { topic: options.statusTopic, payload: Buffer.from(status(false)), ...retained },
    queueQoSZero: false,
  });
  const send = (topic: string, payload: string): void => {
    client.publish(topic, payload, retained, (error) => {
      if (error) log.warn({ topic, error: error.message }, 'a state could not be published');
    });
  };
  client.on('error', (error) => log.warn({ error: error.message }, 'no connection to the broker for states'));
  client.on('connect', () => {
    send(options.statusTopic, status(true));
    for (const [topic, payload] of said) send(topic, payload);
  });
  return {
    publish(topic, payload) {
      if (payload === '') said.delete(topic);
      else said.set(topic, payload);
      if (client.connected) send(topic, payload);
    },
    async close() {
      if (client.connected) {
        const gone = client.publishAsync(options.statusTopic, status(false), retained).catch(() => undefined);
        await Promise.race([gone, new Promise((resolve) => setTimeout(resolve, CLOSING_MS).unref())]);
      }
      await client.endAsync(true).catch(() => undefined);
    },
  };
}
