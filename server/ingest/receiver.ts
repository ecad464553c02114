import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import type { Store } from '../store/port.ts';
import { prepareMapping } from './mapping.ts';
import { type PayloadLimits, payloadLimits } from './payload.ts';
import { EARLIEST_TIME } from './timestamp.ts';
import { type Known, type Understanding, type UnderstoodReading, understand } from './understand.ts';
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

/** Hears what became of a message once that is on disk, or why it could not be stored and must be sent again. */
export type Received = (...outcome: [refused: null, receipt: Receipt] | [refused: unknown, receipt: null]) => void;

/** What takes messages in. */
export interface Intake {
  /** Takes one message from wherever it came, and calls back once what it says, or the message itself, is on disk. */
  take(source: Source, topic: string, payload: Uint8Array, delivery: Delivery, received: Received): void;
  /**
   * The same with a promise, where messages are not so many that its cost counts.
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

export const receiveBy =
  (take: Intake['take']): Intake['receive'] =>
  (source, topic, payload, delivery = 'live') =>
    new Promise((resolve, reject) =>
      take(source, topic, payload, delivery, (refused, receipt) => {
        if (receipt === null) reject(refused);
        else resolve(receipt);
      }),
    );

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

  function take(from: Source, topic: string, payload: Uint8Array, delivery: Delivery, received: Received): void {
    if (topic.startsWith(`${STATE_ROOT}/`)) {
      received(null, { kind: 'ignored', reason: 'own-state' });
      return;
    }
    messages++;
    const source = delivery === 'retained' ? RETAINED : from;
    const receivedAt = clock();
    const understood = readNow(topic, payload, receivedAt);
    if (understood !== null) keep(source, topic, payload, receivedAt, understood, delivery, received);
    else {
      readLater(topic, payload, receivedAt).then(
        (later) => keep(source, topic, payload, receivedAt, later, delivery, received),
        (error: unknown) => received(error, null),
      );
    }
  }

  function keep(
    source: string,
    topic: string,
    payload: Uint8Array,
    receivedAt: number,
    understood: Understanding,
    delivery: Delivery,
    received: Received,
  ): void {
    const { fault } = understood;
    let usable: readonly UnderstoodReading[] = [];
    if (understood.kind === 'readings') {
      usable =
        delivery === 'live'
          ? understood.readings
          : understood.readings.filter(({ stamped }) => stamped === 'by-device');
      if (usable.length < understood.readings.length) retainedIgnored++;
      if (usable.length === 0 && fault === null) {
        received(null, { kind: 'ignored', reason: 'retained-without-time' });
        return;
      }
    }
    writer.hold({ source, topic, payload, receivedAt, readings: usable, fault }, (refused) => {
      if (refused !== null) {
        received(refused, null);
        return;
      }
      readings += usable.length;
      if (fault !== null) quarantined++;
      received(
        null,
        usable.length === 0 && fault !== null
          ? { kind: 'quarantined', fault }
          : { kind: 'stored', readings: usable.length, fault },
      );
    });
  }

  return {
    take,
    receive: receiveBy(take),
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
