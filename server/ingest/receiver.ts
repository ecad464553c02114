import { STATE_ROOT } from '../analysis/delivery-vocabulary.ts';
import type { Store } from '../store/port.ts';
import { prepareMapping } from './mapping.ts';
import { type PayloadLimits, payloadLimits } from './payload.ts';
import { EARLIEST_TIME } from './timestamp.ts';
import { type Known, type Understanding, understand } from './understand.ts';
import { type Message, WriteRefused, type Writer } from './writer.ts';

export type Source = 'mqtt' | 'http' | 'import';

/** `retained`: a broker's copy of an old message, given to whoever subscribes. */
export type Delivery = 'live' | 'retained';

export interface Incoming {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly delivery: Delivery;
}

export type Receipt =
  /** on disk; `fault` tells what in the message was set aside */
  | { readonly kind: 'stored'; readonly readings: number; readonly fault: ReceiptFault | null }
  /** on disk, in quarantine: nothing in the message could be used */
  | { readonly kind: 'quarantined'; readonly fault: ReceiptFault }
  /** a retained message that does not say when it was measured, or what coomb itself says on a broker */
  | { readonly kind: 'ignored'; readonly reason: 'retained-without-time' | 'own-state' };

/** What became of a message; an error: it is not stored. */
export type Outcome = Receipt | Error;

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
  /**
   * The same for messages that came together: resolves once all are dealt with, an error standing for each that the sender
   * must send again. Never rejects.
   */
  receiveAll(source: Source, incoming: readonly Incoming[]): Promise<readonly Outcome[]>;
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

/** How to take one message, by how many are taken. */
export const oneOfAll =
  (receiveAll: Intake['receiveAll']): Intake['receive'] =>
  async (source, topic, payload, delivery = 'live') => {
    const [outcome] = await receiveAll(source, [{ topic, payload, delivery }]);
    if (outcome instanceof Error) throw outcome;
    return outcome!;
  };

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

  /** What is to be stored of a message, null: nothing, and what has become of it then. */
  function kept(
    from: Source,
    { topic, payload, delivery }: Incoming,
    receivedAt: number,
    understood: Understanding | Error,
  ): { readonly outcome: Outcome; readonly message: Message | null } {
    if (topic.startsWith(`${STATE_ROOT}/`)) return { outcome: { kind: 'ignored', reason: 'own-state' }, message: null };
    if (understood instanceof Error) return { outcome: understood, message: null };
    const source = delivery === 'retained' ? RETAINED : from;
    const { fault } = understood;
    const said = understood.kind === 'readings' ? understood.readings : [];
    const usable = delivery === 'live' ? said : said.filter(({ stamped }) => stamped === 'by-device');
    if (usable.length < said.length) retainedIgnored++;
    if (said.length > 0 && usable.length === 0 && fault === null) {
      return { outcome: { kind: 'ignored', reason: 'retained-without-time' }, message: null };
    }
    const outcome: Receipt =
      usable.length === 0 && fault !== null
        ? { kind: 'quarantined', fault }
        : { kind: 'stored', readings: usable.length, fault };
    return { outcome, message: { source, topic, payload, receivedAt, readings: usable, fault } };
  }

  /** What messages mean; an error where that cannot be looked up. */
  async function readAll(incoming: readonly Incoming[], receivedAt: number): Promise<(Understanding | Error)[]> {
    const atOnce = incoming.map(({ topic, payload }) => readNow(topic, payload, receivedAt));
    if (atOnce.every((understood) => understood !== null)) return atOnce;
    return Promise.all(
      incoming.map(
        ({ topic, payload }, k) => atOnce[k] ?? readLater(topic, payload, receivedAt).catch((error: Error) => error),
      ),
    );
  }

  /** Those that could not be stored, with the reason. */
  async function write(writing: readonly Message[]): Promise<ReadonlyMap<Message, Error>> {
    try {
      if (writing.length > 0) await writer.write(writing);
      return new Map();
    } catch (error) {
      if (!(error instanceof WriteRefused)) throw error;
      return new Map(error.which.map((k) => [writing[k]!, error]));
    }
  }

  function count(outcome: Outcome): void {
    if (!(outcome instanceof Error) && outcome.kind === 'ignored' && outcome.reason === 'own-state') return;
    messages++;
    if (outcome instanceof Error || outcome.kind === 'ignored') return;
    if (outcome.kind === 'stored') readings += outcome.readings;
    if (outcome.fault !== null) quarantined++;
  }

  async function receiveAll(from: Source, incoming: readonly Incoming[]): Promise<readonly Outcome[]> {
    const receivedAt = clock();
    const understood = await readAll(incoming, receivedAt);
    const found = incoming.map((message, k) => kept(from, message, receivedAt, understood[k]!));
    const refused = await write(found.flatMap(({ message }) => message ?? []));
    const outcomes = found.map(({ outcome, message }) => (message && refused.get(message)) ?? outcome);
    outcomes.forEach(count);
    return outcomes;
  }

  return {
    receiveAll,
    receive: oneOfAll(receiveAll),
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
