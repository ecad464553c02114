import { type StoringFault, storingFaults } from '../analysis/watch/not-stored.ts';
import {
  type Batch,
  type IncomingReading,
  type QuarantinedMessage,
  type ResolvedMessage,
  type Store,
  StoreError,
} from '../store/port.ts';
import { type Log, silent } from './log.ts';

/** One message as it came, and what was made of it. */
export interface Message extends Omit<QuarantinedMessage, 'code' | 'message'> {
  readonly readings: readonly IncomingReading[];
  /** why the message is set aside as well, or instead */
  readonly fault: { readonly code: string; readonly message: string } | null;
  /** the message in quarantine that this one is, understood after all */
  readonly resolves?: ResolvedMessage;
}

export interface WriterOptions {
  /** readings that close a group: many make a commit cheap, and few let devices send the next while it is made */
  readonly groupReadings: number;
  /** the longest a group waits for more while messages keep coming, ms */
  readonly gatherMs: number;
  /** above this many held readings {@link Writer.room} waits; above twice as many {@link Writer.write} refuses */
  readonly heldReadings: number;
  /** the same for the bytes of held messages */
  readonly heldBytes: number;
  /** first and longest pause after a failed commit, ms */
  readonly retryMs: number;
  readonly longestRetryMs: number;
  /** whether a disk that was full has room enough to go on */
  readonly isRoomy: () => boolean;
}

export const writerOptions: WriterOptions = Object.freeze({
  groupReadings: 2_000,
  gatherMs: 10,
  heldReadings: 50_000,
  heldBytes: 64 << 20,
  retryMs: 250,
  longestRetryMs: 15_000,
  isRoomy: () => true,
});

export interface WriterState {
  readonly healthy: boolean;
  readonly lastError: string | null;
  readonly heldMessages: number;
  readonly heldReadings: number;
  readonly committedMessages: number;
  readonly committedReadings: number;
  readonly commits: number;
  /** how long commits took, s */
  readonly commitSeconds: {
    readonly buckets: readonly { readonly atMost: number; readonly count: number }[];
    readonly sum: number;
    readonly count: number;
  };
}

/** From a good disk to a worn card, s. */
const COMMIT_BOUNDS = [0.001, 0.005, 0.02, 0.1, 0.5, 2, 10] as const;

/** Messages were not stored and are no longer held: whoever sent them must send them again. */
export class WriteRefused extends Error {
  readonly reason: 'full' | 'closed';
  /** which of the lot, counted from 0; the others were stored */
  readonly which: readonly number[];
  constructor(reason: 'full' | 'closed', which: Iterable<number>, why: string, cause?: unknown) {
    super(why, { cause });
    this.name = 'WriteRefused';
    this.reason = reason;
    this.which = [...which];
  }
}

/** Hears why nothing can be stored, and with null that it can be again. */
export type TroubleListener = (fault: StoringFault | null) => void;

export type CommittedListener = (readings: readonly IncomingReading[]) => void;

/** Gathers messages into groups, each one durable commit. */
export interface Writer {
  /**
   * Resolves after the commit that holds a lot of messages. While the store cannot write, it waits and tries again.
   *
   * @throws WriteRefused when the writer holds all it may, or was closed before every message could be stored
   */
  write(messages: readonly Message[]): Promise<void>;
  /** Resolves when the writer holds little enough to take more. */
  room(): Promise<void>;
  hasRoom(): boolean;
  /** Resolves when nothing is held. */
  idle(): Promise<void>;
  state(): WriterState;
  /** Calls back after each commit with its readings; returns how to stop it. */
  onCommitted(listener: CommittedListener): () => void;
  /** Calls back when storing fails, when it fails for another reason, and when it goes on. */
  onTrouble(listener: TroubleListener): void;
  /** Tries once more to store what is held, refuses the rest, and takes no more. */
  close(): Promise<void>;
}

/** Messages that came together and are told of together. */
interface Lot {
  readonly messages: readonly Message[];
  readonly readings: number;
  readonly resolve: () => void;
  readonly reject: (error: WriteRefused) => void;
}

const nextTurn = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const weight = (message: Message): number => Math.max(1, message.readings.length);
const storingFault = (error: unknown): StoringFault =>
  (error instanceof StoreError && storingFaults.find((fault) => fault === error.fault)) || 'failed';

export function createWriter(
  store: Pick<Store, 'append'>,
  options: WriterOptions = writerOptions,
  log: Log = silent,
): Writer {
  const waiting: Lot[] = [];
  /** what could not be stored before the writer was closed, and why not */
  const unstored = new Map<Message, unknown>();
  let heldReadings = 0;
  let heldBytes = 0;
  let heldMessages = 0;
  let running: Promise<void> | null = null;
  let closing = false;
  let lastError: string | null = null;
  let pauseMs = options.retryMs;
  let wake: (() => void) | null = null;
  let roomWaiters: (() => void)[] = [];
  let committedMessages = 0;
  let committedReadings = 0;
  let commits = 0;
  let commitSum = 0;
  let timedCommits = 0;
  const commitsWithin: number[] = COMMIT_BOUNDS.map(() => 0);
  const listeners = new Set<CommittedListener>();
  const troubleListeners: TroubleListener[] = [];
  let fault: StoringFault | null = null;

  function tell(next: StoringFault | null): void {
    if (next === fault) return;
    fault = next;
    for (const listener of troubleListeners) {
      try {
        listener(next);
      } catch (error) {
        log.warn({ error }, 'a listener to trouble with storing failed');
      }
    }
  }

  const hasRoom = (): boolean => heldReadings < options.heldReadings && heldBytes < options.heldBytes;

  function release(group: readonly Message[]): void {
    for (const message of group) {
      heldReadings -= weight(message);
      heldBytes -= message.payload.byteLength;
    }
    heldMessages -= group.length;
    if (hasRoom() && roomWaiters.length > 0) {
      const ready = roomWaiters;
      roomWaiters = [];
      for (const resume of ready) resume();
    }
  }

  /** Lets a group grow while each turn of the event loop brings more, so that a lone message never waits for a timer. */
  async function gather(): Promise<void> {
    const deadline = performance.now() + options.gatherMs;
    let before: number;
    do {
      before = heldReadings;
      await nextTurn();
    } while (heldReadings !== before && heldReadings < options.groupReadings && performance.now() < deadline);
  }

  function takeGroup(): Lot[] {
    let readings = 0;
    let end = 0;
    while (end < waiting.length && readings < options.groupReadings) readings += waiting[end++]!.readings;
    return waiting.splice(0, end);
  }

  function committed(group: readonly Message[], batch: Batch): void {
    if (lastError !== null) log.info({ held: heldMessages }, 'readings are being stored again');
    lastError = null;
    tell(null);
    pauseMs = options.retryMs;
    commits++;
    committedMessages += group.length;
    committedReadings += batch.readings.length;
    release(group);
    if (batch.readings.length === 0) return;
    for (const listener of listeners) {
      try {
        listener(batch.readings);
      } catch (error) {
        log.warn({ error }, 'a listener to new readings failed');
      }
    }
  }

  function timed(seconds: number): void {
    timedCommits++;
    commitSum += seconds;
    for (const [k, bound] of COMMIT_BOUNDS.entries()) if (seconds <= bound) commitsWithin[k]!++;
  }

  async function pause(): Promise<void> {
    const ms = pauseMs;
    pauseMs = Math.min(pauseMs * 2, options.longestRetryMs);
    await new Promise<void>((resolve) => {
      const timer = setTimeout(resolve, ms);
      wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
    wake = null;
  }

  /**
   * Commits a group, or finds the message in it that cannot be stored at all and sets that one aside, so that one bad
   * message never holds up the rest.
   */
  async function commit(group: readonly Message[]): Promise<void> {
    for (;;) {
      const batch = batchOf(group);
      try {
        const began = performance.now();
        await store.append(batch);
        timed((performance.now() - began) / 1000);
        committed(group, batch);
        return;
      } catch (error) {
        const passes = storingFault(error) !== 'failed';
        if (!passes && group.length > 1) {
          const middle = group.length >> 1;
          await commit(group.slice(0, middle));
          await commit(group.slice(middle));
          return;
        }
        if (!passes && (await setAside(group, error))) return;
        if (closing) {
          release(group);
          for (const message of group) unstored.set(message, error);
          return;
        }
        if (lastError === null) log.warn({ error }, 'readings cannot be stored; they are held and tried again');
        lastError = error instanceof Error ? error.message : String(error);
        tell(storingFault(error));
        do await pause();
        while (fault === 'full' && !closing && !options.isRoomy());
      }
    }
  }

  async function setAside(group: readonly Message[], cause: unknown): Promise<boolean> {
    const reason = cause instanceof Error ? cause.message : String(cause);
    const fault = { code: 'not-stored', message: `the store refused it: ${reason}` };
    const batch = batchOf(
      group.map(({ resolves, ...message }) => ({
        // what comes out of quarantine just stays there
        ...message,
        readings: [],
        fault: resolves === undefined ? fault : null,
      })),
    );
    try {
      await store.append(batch);
    } catch {
      return false;
    }
    log.warn({ error: cause }, 'a message that cannot be stored was set aside');
    committed(group, batch);
    return true;
  }

  function settle({ messages, resolve, reject }: Lot): void {
    const which = unstored.size === 0 ? [] : [...messages.keys()].filter((k) => unstored.has(messages[k]!));
    if (which.length === 0) resolve();
    else {
      const why = 'the program stopped before the reading could be stored';
      reject(new WriteRefused('closed', which, why, unstored.get(messages[which[0]!]!)));
    }
  }

  async function run(): Promise<void> {
    while (waiting.length > 0) {
      await gather();
      const lots = takeGroup();
      await commit(lots.flatMap(({ messages }) => messages));
      lots.forEach(settle);
    }
    running = null;
  }

  return {
    write(messages) {
      if (closing) {
        const why = 'the program is stopping; send the reading again later';
        return Promise.reject(new WriteRefused('closed', messages.keys(), why));
      }
      if (heldReadings >= 2 * options.heldReadings || heldBytes >= 2 * options.heldBytes) {
        const reason = `${heldReadings} readings are waiting to be stored (${lastError ?? 'the store is slower than they come'})`;
        return Promise.reject(new WriteRefused('full', messages.keys(), `${reason}; send the reading again later`));
      }
      let readings = 0;
      for (const message of messages) {
        readings += weight(message);
        heldBytes += message.payload.byteLength;
      }
      heldReadings += readings;
      heldMessages += messages.length;
      const stored = new Promise<void>((resolve, reject) => waiting.push({ messages, readings, resolve, reject }));
      running ??= run();
      return stored;
    },
    hasRoom,
    room: () => (hasRoom() ? Promise.resolve() : new Promise((resolve) => roomWaiters.push(resolve))),
    async idle() {
      while (running !== null) await running;
    },
    state: () => ({
      healthy: lastError === null,
      lastError,
      heldMessages,
      heldReadings,
      committedMessages,
      committedReadings,
      commits,
      commitSeconds: {
        buckets: COMMIT_BOUNDS.map((atMost, k) => ({ atMost, count: commitsWithin[k]! })),
        sum: commitSum,
        count: timedCommits,
      },
    }),
    onCommitted(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    onTrouble(listener) {
      troubleListeners.push(listener);
    },
    async close() {
      closing = true;
      wake?.();
      while (running !== null) await running;
      const ready = roomWaiters;
      roomWaiters = [];
      for (const resume of ready) resume();
    },
  };
}

function batchOf(group: readonly Message[]): Batch {
  const readings: IncomingReading[] = [];
  const quarantined: QuarantinedMessage[] = [];
  const resolved: ResolvedMessage[] = [];
  let receivedAt = 0;
  for (const message of group) {
    if (message.resolves !== undefined) resolved.push(message.resolves);
    receivedAt = Math.max(receivedAt, message.receivedAt);
    for (const reading of message.readings) readings.push(reading);
    if (message.fault !== null) {
      const { source, topic, payload } = message;
      quarantined.push({ receivedAt: message.receivedAt, source, topic, payload, ...message.fault });
    }
  }
  return { receivedAt, readings, quarantined, resolved };
}
