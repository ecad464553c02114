import type { Store } from '../store/port.ts';
import { type PayloadLimits, payloadLimits, readPayload } from './payload.ts';
import { quoteText } from './timestamp.ts';
import { readTopic } from './topic.ts';
import type { Writer } from './writer.ts';

export type Source = 'mqtt' | 'http' | 'import';

/** `retained`: a broker's copy of an old message, given to whoever subscribes. */
export type Delivery = 'live' | 'retained';

export type Receipt =
  /** on disk; `fault` tells what in the message was set aside */
  | { readonly kind: 'stored'; readonly readings: number; readonly fault: ReceiptFault | null }
  /** on disk, in quarantine: nothing in the message could be used */
  | { readonly kind: 'quarantined'; readonly fault: ReceiptFault }
  /** a retained message that does not say when it was measured */
  | { readonly kind: 'ignored'; readonly reason: 'retained-without-time' };

export interface ReceiptFault {
  readonly code: string;
  readonly message: string;
}

export interface ReceiverCounts {
  readonly messages: number;
  readonly readings: number;
  readonly quarantined: number;
  readonly retainedIgnored: number;
}

export interface Receiver {
  /**
   * Takes one message from wherever it came and resolves once what it says, or the message itself, is on disk.
   *
   * @throws WriteRefused when it could not be stored and the sender must send it again
   */
  receive(source: Source, topic: string, payload: Uint8Array, delivery?: Delivery): Promise<Receipt>;
  /** To be called after dwellings were added or renamed by other hands than the receiver's. */
  forgetDwellings(): void;
  counts(): ReceiverCounts;
  /** Whether the sender should wait, and for how long: see {@link Writer.room}. */
  hasRoom(): boolean;
  room(): Promise<void>;
}

export function createReceiver(
  store: Pick<Store, 'dwellings'>,
  writer: Writer,
  clock: () => number,
  limits: PayloadLimits = payloadLimits,
): Receiver {
  let dwellings: ReadonlyMap<string, number> = new Map();
  let loading: Promise<void> | null = null;
  let messages = 0;
  let readings = 0;
  let quarantined = 0;
  let retainedIgnored = 0;

  async function loadDwellings(): Promise<void> {
    dwellings = new Map((await store.dwellings()).map(({ slug, id }) => [slug, id]));
  }

  async function setAside(
    source: Source,
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    fault: ReceiptFault,
  ): Promise<Receipt> {
    await writer.write({ source, topic, payload, receivedAt, readings: [], fault });
    quarantined++;
    return { kind: 'quarantined', fault };
  }

  async function receiveFor(
    dwellingId: number,
    sensorKey: string,
    source: Source,
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    delivery: Delivery,
  ): Promise<Receipt> {
    const parsed = readPayload(payload, receivedAt, limits);
    if (parsed.kind === 'rejected') return setAside(source, topic, payload, receivedAt, parsed.fault);
    const usable =
      delivery === 'live' ? parsed.readings : parsed.readings.filter(({ stamped }) => stamped === 'by-device');
    if (usable.length < parsed.readings.length) {
      retainedIgnored++;
      if (usable.length === 0) return { kind: 'ignored', reason: 'retained-without-time' };
    }
    await writer.write({
      source,
      topic,
      payload,
      receivedAt,
      readings: usable.map(({ quantity, time, value }) => ({ dwellingId, sensorKey, quantity, time, value })),
      fault: parsed.fault,
    });
    readings += usable.length;
    if (parsed.fault !== null) quarantined++;
    return { kind: 'stored', readings: usable.length, fault: parsed.fault };
  }

  return {
    async receive(source, topic, payload, delivery = 'live') {
      messages++;
      const receivedAt = clock();
      const address = readTopic(topic);
      if (address.kind === 'unknown-topic') {
        return setAside(source, topic, payload, receivedAt, { code: address.kind, message: address.message });
      }
      const { dwellingSlug, sensorKey } = address;
      let dwellingId = dwellings.get(dwellingSlug);
      if (dwellingId === undefined) {
        loading ??= loadDwellings().finally(() => {
          loading = null;
        });
        await loading;
        dwellingId = dwellings.get(dwellingSlug);
      }
      if (dwellingId === undefined) {
        const message = `there is no dwelling ${quoteText(dwellingSlug)}; known are ${known(dwellings)}. Change the topic, or add the dwelling`;
        return setAside(source, topic, payload, receivedAt, { code: 'unknown-dwelling', message });
      }
      return receiveFor(dwellingId, sensorKey, source, topic, payload, receivedAt, delivery);
    },
    forgetDwellings() {
      dwellings = new Map();
    },
    counts: () => ({ messages, readings, quarantined, retainedIgnored }),
    hasRoom: writer.hasRoom,
    room: writer.room,
  };
}

function known(dwellings: ReadonlyMap<string, number>): string {
  const slugs = [...dwellings.keys()];
  if (slugs.length === 0) return 'none yet';
  const shown = slugs.slice(0, 5).map(quoteText).join(', ');
  return slugs.length > 5 ? `${shown} and ${slugs.length - 5} more` : shown;
}
