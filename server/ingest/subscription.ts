import { setTimeout as pause } from 'node:timers/promises';
import mqtt, { type IPublishPacket, type MqttClient } from 'mqtt';
import { readUrl } from './broker-url.ts';
import type { Settled } from './handing.ts';
import { type HeldAcks, holdAcks } from './held-acks.ts';
import type { Log } from './log.ts';
import type { Subscriber, SubscriberOptions } from './mqtt.ts';
import type { Delivery } from './receiver.ts';
import type { LinkState } from './thread-words.ts';

/** The program that messages are for. */
export interface Listener {
  take(topic: string, payload: Uint8Array, delivery: Delivery, settled: Settled): void;
  /** When there is room for more; null: now. */
  room(): Promise<void> | null;
  changed(state: LinkState): void;
}

/** MQTT 3.1.1, 3.2.2.3: unacceptable protocol version; MQTT 5, 3.2.2.2: unsupported protocol version. */
const versionRefused: readonly number[] = [1, 132];

/**
 * Subscribes to an external broker and keeps at it, acknowledging what the listener has taken. MQTT 5 is tried first, 3.1.1
 * where the broker does not know it, unless the messages are shared, which 3.1.1 does not know. A retained message, which a
 * broker gives to every new subscriber, is handed on as such.
 *
 * @throws RangeError when the URL is not one of a broker
 */
export function openSubscription(
  listener: Listener,
  options: SubscriberOptions,
  log: Log,
): Pick<Subscriber, 'leave' | 'close'> {
  const target = readUrl(options);
  const longestRetryMs = options.group === null ? options.longestRetryMs : options.longestSharedRetryMs;
  let version: 4 | 5 = 5;
  let versionIsKnown = false;
  let subscribed = false;
  let connected = false;
  let lastError: string | null = null;
  let protocol: LinkState['protocol'] = null;
  let retryMs = options.retryMs;
  let retry: ReturnType<typeof setTimeout> | null = null;
  let closing = false;
  let current: { readonly client: MqttClient; readonly acks: HeldAcks } | null = null;

  const take = (packet: IPublishPacket, settled: Settled): void => {
    const payload = typeof packet.payload === 'string' ? Buffer.from(packet.payload) : packet.payload;
    listener.take(packet.topic, payload, packet.retain ? 'retained' : 'live', settled);
  };
  const tell = (): void => listener.changed({ connected, lastError, protocol });

  function open(): void {
    retry = null;
    const client = mqtt.connect({
      ...target,
      clientId: options.clientId,
      clean: false,
      protocolVersion: version,
      ...(version === 5
        ? { properties: { sessionExpiryInterval: options.sessionSeconds, receiveMaximum: options.inFlight } }
        : {}),
      reconnectPeriod: 0,
      resubscribe: false,
    });
    let refusedVersion = false;
    let hungUp = true;
    let accepted = false;

    const fail = (error: unknown): void => {
      lastError = error instanceof Error ? error.message || String((error as { code?: string }).code) : String(error);
      const code = (error as { code?: number | string }).code;
      refusedVersion ||= typeof code === 'number' && versionRefused.includes(code);
      hungUp &&= code === 'ECONNRESET';
      tell();
      if (current === connection) client.end(true);
    };
    const connection = {
      client,
      acks: holdAcks(client, { take, room: listener.room, most: options.inFlight, failed: fail }),
    };
    current = connection;

    client.on('error', fail);
    client.on('connect', ({ sessionPresent }) => {
      accepted = true;
      versionIsKnown = true;
      retryMs = options.retryMs;
      protocol = version === 5 ? 'MQTT 5' : 'MQTT 3.1.1';
      // a broker that started anew may have kept the session without what it shares (Mosquitto 2.0.11)
      if (sessionPresent && subscribed && options.group === null) listening();
      else subscribeAll(client);
    });
    client.on('close', () => {
      if (current !== connection) return;
      current = null;
      connected = false;
      client.end(true);
      tell();
      if (closing) return;
      // A broker that knows no MQTT 5 says so, or just hangs up on the greeting.
      if (!accepted && !versionIsKnown && (refusedVersion || hungUp) && options.group === null) {
        version = version === 5 ? 4 : 5;
      }
      if (hungUp) {
        lastError = 'the broker closed the connection';
        tell();
      }
      log.warn({ broker: `${target.host}:${target.port}`, error: lastError, retryMs }, 'no connection to the broker');
      retry = setTimeout(open, retryMs);
      retryMs = Math.min(retryMs * 2, longestRetryMs);
    });
  }

  function listening(): void {
    connected = true;
    lastError = null;
    tell();
    log.info({ broker: `${target.host}:${target.port}`, protocol }, 'connected to the broker');
  }

  const filters = options.topics.map((filter) =>
    options.group === null ? filter : `$share/${options.group}/${filter}`,
  );

  function subscribeAll(client: MqttClient): void {
    // Retained messages are wanted once, with the subscription's beginning (MQTT 5, 3.8.3.1).
    const wanted = { qos: 1, ...(version === 5 ? { rh: 1 } : {}) } as const;
    client.subscribe(filters, wanted, (error, granted) => {
      if (error === null && granted?.every(({ qos }) => qos < 128)) {
        subscribed = true;
        listening();
        return;
      }
      const why = error === null ? '' : ` (${error.message})`;
      lastError = `the broker does not let this user subscribe to ${filters.join(', ')}${why}: allow it there`;
      tell();
      log.warn({ error: lastError }, 'subscribing failed');
    });
  }

  open();
  return {
    async leave() {
      closing = true;
      if (options.group === null || current === null || !connected) return;
      const { client, acks } = current;
      const left = async (): Promise<void> => {
        await client.unsubscribeAsync(filters);
        await acks.quiet(options.quietMs);
      };
      // what was not told or taken in time is there at the next start
      await Promise.race([left().catch(() => undefined), after(options.leavingMs)]);
    },
    async close() {
      closing = true;
      if (retry !== null) clearTimeout(retry);
      if (current === null) return;
      const { client, acks } = current;
      const closed = new Promise<void>((resolve) => client.once('close', () => resolve()));
      await Promise.race([acks.stop(), after(options.closingMs)]);
      if (current === null) return;
      client.end(!connected);
      await closed;
    },
  };
}

const after = (ms: number): Promise<void> => pause(ms, undefined, { ref: false });
