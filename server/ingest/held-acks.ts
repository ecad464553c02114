import { setTimeout } from 'node:timers/promises';
import type { IPublishPacket, MqttClient } from 'mqtt';
import type { Settled } from './handing.ts';

/** What has been taken from a broker and not yet acknowledged. */
export interface HeldAcks {
  /** Takes no more packets, and resolves when every one taken has been dealt with. */
  stop(): Promise<void>;
  /** Resolves when every packet taken has been dealt with and no other came for so long, ms. */
  quiet(ms: number): Promise<void>;
}

export interface HeldAcksOptions {
  readonly take: (packet: IPublishPacket, settled: Settled) => void;
  /** When there is room for more; null: now. */
  readonly room: () => Promise<void> | null;
  /** packets held at a time */
  readonly most: number;
  /** a packet could not be taken */
  readonly failed: (error: Error) => void;
}

interface Held {
  readonly messageId: number;
  ready: boolean;
}

interface Sender {
  _sendPacket(packet: { cmd: 'puback'; messageId: number }, done: () => void): void;
}

/** mqtt.js leaves out its own PUBACK when its message handler calls back with an error, and goes on to the next packet. */
const notYet = new Error('acknowledged later');

/**
 * Makes an mqtt.js client acknowledge a QoS 1 message when it is settled, while the next ones come in, in the order they
 * came [MQTT-4.6.0-2]. Acknowledgements that are still held when the connection closes are dropped: the broker sends those
 * messages again on the next one. When a packet cannot be taken, nothing more is acknowledged on this connection.
 *
 * Packets wait where there is no room, and once `most` are held until half of them are acknowledged: MQTT 3.1.1 knows no
 * such limit, and Mosquitto 2.0.11 goes beyond that of MQTT 5 once acknowledgements flow.
 *
 * `_sendPacket` is private to mqtt.js 5.16: mqtt is pinned, and a test that kills the program holds it to this.
 */
export function holdAcks(client: MqttClient, { take, room, most, failed }: HeldAcksOptions): HeldAcks {
  let queue: Held[] = [];
  /** how many of the queue are acknowledged */
  let done = 0;
  let unsettled = 0;
  let whenSettled: (() => void)[] = [];
  let goOn: (() => void) | null = null;
  let over = false;
  let stopped = false;
  let came = 0;
  client.once('close', () => {
    over = true;
    queue = [];
    done = 0;
  });

  function acknowledge(): void {
    while (!over && queue[done]?.ready) {
      const { messageId } = queue[done++]!;
      (client as unknown as Sender)._sendPacket({ cmd: 'puback', messageId }, () => {});
    }
    if (done >= most) {
      queue = queue.slice(done);
      done = 0;
    }
    if (goOn === null || queue.length - done > most / 2) return;
    const next = goOn;
    goOn = null;
    next();
  }

  function settle(held: Held | null, error: Error | null): void {
    unsettled--;
    if (error !== null) {
      over = true;
      failed(error);
    } else if (held !== null) {
      held.ready = true;
      acknowledge();
    }
    if (unsettled > 0) return;
    for (const resume of whenSettled) resume();
    whenSettled = [];
  }
  const allSettled = (): Promise<void> =>
    unsettled === 0 ? Promise.resolve() : new Promise((resolve) => whenSettled.push(resolve));

  client.handleMessage = (packet, next) => {
    if (stopped || over) return;
    came++;
    unsettled++;
    let held: Held | null = null;
    if (packet.qos > 0 && packet.messageId !== undefined) {
      held = { messageId: packet.messageId, ready: false };
      queue.push(held);
    }
    take(packet, (error) => settle(held, error));
    const wait = room();
    if (wait !== null) wait.then(() => next(notYet));
    else if (queue.length - done < most) next(notYet);
    else goOn = () => next(notYet);
  };

  return {
    async stop() {
      stopped = true;
      await allSettled();
    },
    async quiet(ms) {
      for (let before = -1; before !== came && !over; ) {
        before = came;
        await allSettled();
        await setTimeout(ms);
      }
    },
  };
}
