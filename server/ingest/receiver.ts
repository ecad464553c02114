import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import type { Store } from '../store/port.ts';
import { prepareMapping } from './mapping.ts';
import { type PayloadLimits, payloadLimits } from './payload.ts';
import { EARLIEST_TIME } from './timestamp.ts';
import { type Known, type Understanding, understand } from './understand.ts';
import type { Writer } from './writer.ts';

export type Source = 'mqtt' | 'http' | 'import';

/** `retained`: a broker's copy of an old message, given to whoever subscribes. */
export type Delivery = 'live' | 'retained';

export type Receipt =
  /** on disk; `fault` tells what in the message was set aside */
  | { readonly kind: 'stored'; readonly readings: number; readonly fault: ReceiptFault | null }
  /** on disk, in quarantine: nothing in the message could be used */
  | { readonly kind: 'quarantined'; readonly fault: ReceiptFault }
  /** a retained message that does not say when it was measured, or what coomb itself says on a broker */
  | { readonly kind: 'ignored'; readonly reason: 'retained-without-time' | 'own-state' };

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

/** What takes messages in. */
export interface Intake {
  /**
   * Takes one message from wherever it came and resolves once what it says, or the message itself, is on disk.
   *
   * @throws WriteRefused when it could not be stored and the sender must send it again
   */
  receive(source: Source, topic: string, payload: Uint8Array, delivery?: Delivery): Promise<Receipt>;
  /** To be called after dwellings or mappings were added, changed or removed. */
  forget(): void;
  counts(): ReceiverCounts;
  /** Whether the sender should wait, and for how long: see {@link Writer.room}. */
  hasRoom(): boolean;
  room(): Promise<void>;
}

export interface Receiver extends Intake {
  /**
   * What a message means as things stand, without keeping anything.
   *
   * @param behindMs how far this computer's clock stood back when it said `receivedAt`
   */
  read(topic: string, payload: Uint8Array, receivedAt: number, behindMs?: number): Promise<Understanding>;
}

/** Where a retained message that is set aside says it came from, so that it is no new reading later either. */
export const RETAINED = 'mqtt-retained';

const nothing: Known = Object.freeze({ dwellings: new Map(), mappings: [] });

/** Faults that another look at the dwellings may settle. */
const dwellingFaults: readonly string[] = ['unknown-dwelling', 'which-dwelling'];

export function createReceiver(
  store: Pick<Store, 'dwellings' | 'mappings'>,
  writer: Writer,
  clock: () => number,
  limits: PayloadLimits = payloadLimits,
): Receiver {
  let known: Known | null = null;
  let changes = 0;
  let loading: Promise<void> | null = null;
  let messages = 0;
  let readings = 0;
  let quarantined = 0;
  let retainedIgnored = 0;

  async function load(): Promise<void> {
    // read again when something was changed meanwhile
    for (let before = -1; before !== changes; ) {
      before = changes;
      const [dwellings, mappings] = await Promise.all([store.dwellings(), store.mappings()]);
      known = {
        dwellings: new Map(dwellings.map(({ slug, id }) => [slug, id])),
        mappings: mappings.flatMap((mapping) => {
          const result = prepareMapping(mapping);
          return result.kind === 'ready' ? [result.ready] : [];
        }),
      };
    }
  }

  /** What a message means by what is known, or null when that must be looked up again first. */
  function readNow(
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    allowed: PayloadLimits = limits,
  ): Understanding | null {
    if (known === null) return null;
    const understood = understand(topic, payload, receivedAt, known, allowed);
    return understood.kind === 'rejected' && dwellingFaults.includes(understood.fault.code) ? null : understood;
  }

  async function readLater(
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    allowed: PayloadLimits = limits,
  ): Promise<Understanding> {
    loading ??= load().finally(() => {
      loading = null;
    });
    await loading;
    return understand(topic, payload, receivedAt, known ?? nothing, allowed);
  }

  async function setAside(
    source: string,
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    fault: ReceiptFault,
  ): Promise<Receipt> {
    await writer.write({ source, topic, payload, receivedAt, readings: [], fault });
    quarantined++;
    return { kind: 'quarantined', fault };
  }

  return {
    async receive(from, topic, payload, delivery = 'live') {
      if (topic.startsWith(`${STATE_ROOT}/`)) return { kind: 'ignored', reason: 'own-state' };
      messages++;
      const source = delivery === 'retained' ? RETAINED : from;
      const receivedAt = clock();
      const understood = readNow(topic, payload, receivedAt) ?? (await readLater(topic, payload, receivedAt));
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
    async read(topic, payload, receivedAt, behindMs = 0) {
      // a clock that was never set dated nothing; one that was dated what came without a time, which stays as it was stored
      const [at, aheadMs] = receivedAt < EARLIEST_TIME ? [receivedAt + behindMs, 0] : [receivedAt, behindMs];
      const allowed = { ...limits, maxAheadMs: limits.maxAheadMs + aheadMs };
      return readNow(topic, payload, at, allowed) ?? readLater(topic, payload, at, allowed);
    },
    forget() {
      changes++;
      known = null;
    },
    counts: () => ({ messages, readings, quarantined, retainedIgnored }),
    hasRoom: writer.hasRoom,
    room: writer.room,
  };
}
