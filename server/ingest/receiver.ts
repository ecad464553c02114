import type { Store } from '../store/port.ts';
import { type PayloadLimits, payloadLimits } from './payload.ts';
import { understand } from './understand.ts';
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

/** Faults that another look at the dwellings may settle. */
const dwellingFaults: readonly string[] = ['unknown-dwelling', 'which-dwelling'];

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

  async function reload(): Promise<void> {
    loading ??= loadDwellings().finally(() => {
      loading = null;
    });
    await loading;
  }

  return {
    async receive(source, topic, payload, delivery = 'live') {
      messages++;
      const receivedAt = clock();
      const read = () => understand(topic, payload, receivedAt, { dwellings }, limits);
      let understood = read();
      if (understood.kind === 'rejected' && dwellingFaults.includes(understood.fault.code)) {
        await reload();
        understood = read();
      }
      if (understood.kind === 'rejected') return setAside(source, topic, payload, receivedAt, understood.fault);
      const { fault } = understood;
      const usable =
        delivery === 'live'
          ? understood.readings
          : understood.readings.filter(({ stamped }) => stamped === 'by-device');
      if (usable.length < understood.readings.length) {
        retainedIgnored++;
        if (usable.length === 0) {
          if (fault !== null) return setAside(source, topic, payload, receivedAt, fault);
          return { kind: 'ignored', reason: 'retained-without-time' };
        }
      }
      await writer.write({ source, topic, payload, receivedAt, readings: usable, fault });
      readings += usable.length;
      if (fault !== null) quarantined++;
      return { kind: 'stored', readings: usable.length, fault };
    },
    forgetDwellings() {
      dwellings = new Map();
    },
    counts: () => ({ messages, readings, quarantined, retainedIgnored }),
    hasRoom: writer.hasRoom,
    room: writer.room,
  };
}
