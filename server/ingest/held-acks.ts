import { setTimeout } from 'node:timers/promises';
import type { IPublishPacket, MqttClient } from 'mqtt';

/** What has been taken from a broker and not yet acknowledged. */
export interface HeldAcks {
  /** Takes no more packets, and resolves when every one taken has been dealt with. */
  stop(): Promise<void>;
  /** Resolves when every packet taken has been dealt with and no other came for so long, ms. */
  quiet(ms: number): Promise<void>;
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
 * Makes an mqtt.js client acknowledge a QoS 1 message when `take` has resolved, while the next ones come in, in the
 * order they came [MQTT-4.6.0-2]. Acknowledgements that are still held when the connection closes are dropped: the
 * broker sends those messages again on the next one. When `take` rejects, `failed` is called and nothing more is
 * acknowledged on this connection.
 *
 * `room` resolves when there is room for more; the packets of this connection wait for it.
 *
 * `_sendPacket` is private to mqtt.js 5.16: mqtt is pinned, and a test that kills the program holds it to this.
 */
export function holdAcks(
  client: MqttClient,
  take: (packet: IPublishPacket) => Promise<unknown>,
  room: () => Promise<void> | null,
  failed: (error: unknown) => void,
): HeldAcks {
  const queue: Held[] = [];
  const pending = new Set<Promise<void>>();
  let over = false;
  let stopped = false;
  let came = 0;
  client.once('close', () => {
    over = true;
    queue.length = 0;
  });

  function acknowledge(): void {
    let ready = 0;
    while (ready < queue.length && queue[ready]!.ready) ready++;
    if (over) return;
    for (const { messageId } of queue.splice(0, ready)) {
      (client as unknown as Sender)._sendPacket({ cmd: 'puback', messageId }, () => {});
    }
  }

  async function deal(packet: IPublishPacket, held: Held | null): Promise<void> {
    try {
      await take(packet);
      if (held === null) return;
      held.ready = true;
      acknowledge();
    } catch (error) {
      over = true;
      failed(error);
    }
  }

  client.handleMessage = (packet, next) => {
    if (stopped || over) return;
    came++;
    let held: Held | null = null;
    if (packet.qos > 0 && packet.messageId !== undefined) {
      held = { messageId: packet.messageId, ready: false };
      queue.push(held);
    }
    const dealt: Promise<void> = deal(packet, held).finally(() => pending.delete(dealt));
    pending.add(dealt);
    const wait = room();
    if (wait === null) next(notYet);
    else wait.then(() => next(notYet));
  };

  return {
    async stop() {
      stopped = true;
      await Promise.all(pending);
    },
    async quiet(ms) {
      for (let before = -1; before !== came && !over; ) {
        before = came;
        await Promise.all(pending);
        await setTimeout(ms);
      }
    },
  };
}
