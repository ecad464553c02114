import type { AttemptEnd, ClaimedDelivery, Delivery, OutboxStore, OutgoingMessage } from '../store/port.ts';
import type { Channel, ChannelResult, Channels, Parcel } from './channels/channel.ts';
import { networkCode, networkDetail } from './channels/failures.ts';
import { messageKey, unsubscribeToken } from './installation-key.ts';
import { type RetrySettings, retryPause, retrySettings } from './retry.ts';

export interface SenderSettings extends RetrySettings {
  /** an attempt that lasts longer has failed, ms */
  readonly attemptMs: number;
  /** a claim older than that belongs to a program that stopped; longer than an attempt, ms */
  readonly claimMs: number;
  /** attempts that run at once */
  readonly atOnce: number;
  /** longest time without looking at the outbox, ms */
  readonly lookMs: number;
  /** longest wait at the end for attempts that run, ms */
  readonly closingMs: number;
  /** how long finished messages are kept to be looked at, ms */
  readonly keptMs: number;
}

export const senderSettings: SenderSettings = Object.freeze({
  ...retrySettings,
  attemptMs: 60_000,
  claimMs: 120_000,
  atOnce: 32,
  lookMs: 30_000,
  closingMs: 5000,
  keptMs: 400 * 86_400_000,
});

const FORGET_EVERY_MS = 3_600_000;

export interface SenderParts {
  readonly store: OutboxStore;
  readonly channels: Channels;
  readonly clock: () => number;
  /** 0 to 1 */
  readonly chance: () => number;
  /** where the page is reached from outside, without a slash at the end; null: from nowhere */
  readonly publicAddress: string | null;
  readonly log: { info(detail: object, message: string): void; warn(detail: object, message: string): void };
  /** something about the deliveries of a dwelling changed */
  readonly onChanged?: (dwellingId: number) => void;
  readonly settings?: SenderSettings;
}

/** Carries what is in the outbox to its recipients. */
export interface OutboxSender {
  /** To be called after messages were put in or let wait again; without it they go within half a minute. */
  wake(): void;
  /** Puts a message in and attempts it at once, whatever its turn; resolves when that attempt has been written down. */
  sendNow(message: OutgoingMessage): Promise<void>;
  /** Resolves when no attempt runs and nothing is due. */
  settled(): Promise<void>;
  /** null: the outbox could be read and written last time */
  lastError(): string | null;
  /** Begins nothing new and waits a little for attempts that run; what is cut off is attempted again after a restart. */
  close(): Promise<void>;
}

/**
 * A message is claimed (written down as being attempted), attempted, and its end written down. Whatever stops the
 * program in between, the claim runs out and the message is attempted again under the same key: it is delivered at
 * least once, and a copy can be known as one.
 */
export function createOutboxSender(parts: SenderParts): OutboxSender {
  const { store, channels, clock, chance, publicAddress, log, onChanged = () => {}, settings = senderSettings } = parts;
  const running = new Set<Promise<void>>();
  const waiting: (() => void)[] = [];
  let key: Promise<Uint8Array> | null = null;
  let timer: ReturnType<typeof setTimeout> | null = null;
  let looking: Promise<void> | null = null;
  let lookAgain = false;
  let closing = false;
  let lastError: string | null = null;
  let forgotAt = 0;

  const installationKey = (): Promise<Uint8Array> => {
    key ??= store.installationKey().catch((error: unknown) => {
      key = null;
      throw error;
    });
    return key;
  };

  const look = (): void => {
    lookAgain = true;
    looking ??= lookThrough().finally(() => {
      looking = null;
      if (running.size === 0) for (const done of waiting.splice(0)) done();
    });
  };

  async function lookThrough(): Promise<void> {
    while (lookAgain && !closing) {
      lookAgain = false;
      if (timer !== null) clearTimeout(timer);
      timer = null;
      try {
        const free = settings.atOnce - running.size;
        const now = clock();
        const claimed = free > 0 ? await store.claimDue(now, now + settings.claimMs, free) : [];
        for (const one of claimed) begin(one);
        if (now - forgotAt >= FORGET_EVERY_MS) {
          await store.forgetFinished(Math.max(0, now - settings.keptMs));
          forgotAt = now;
        }
        lastError = null;
        wait(claimed.length > 0 ? null : await store.nextDue());
      } catch (error) {
        lastError = (error as Error).message;
        log.warn({ error: lastError }, 'the outbox cannot be read or written');
        wait(null);
      }
    }
  }

  /** An attempt that ends looks again by itself. */
  function wait(due: number | null): void {
    if (closing || lookAgain) return;
    const pause = due === null ? settings.lookMs : Math.min(Math.max(due - clock(), 10), settings.lookMs);
    timer = setTimeout(look, running.size >= settings.atOnce ? settings.lookMs : pause);
    timer.unref();
  }

  function begin(claimed: ClaimedDelivery): void {
    const task = run(claimed)
      .catch((error: unknown) => {
        lastError = (error as Error).message;
        log.warn({ message: claimed.delivery.id, error: lastError }, 'the end of an attempt could not be written down');
      })
      .finally(() => {
        running.delete(task);
        if (!closing) look();
      });
    running.add(task);
  }

  async function run({ delivery, recipient, dwelling }: ClaimedDelivery): Promise<void> {
    const ownKey = await installationKey();
    const link = { dwellingId: recipient.dwellingId, recipientId: recipient.id };
    const parcel = {
      delivery,
      recipient,
      dwelling,
      key: messageKey(ownKey, delivery.dwellingId, delivery.id),
      unsubscribeUrl: publicAddress === null ? null : `${publicAddress}/unsubscribe/${unsubscribeToken(ownKey, link)}`,
    };
    const result = await attempt(channels[recipient.channel], parcel, settings.attemptMs);
    const at = clock();
    const end = endOf(result, delivery, at, chance(), settings);
    await store.finishAttempt(delivery.dwellingId, delivery.id, delivery.attempts, end, at);
    onChanged(delivery.dwellingId);
    const told = { dwelling: dwelling.slug, recipient: recipient.id, message: delivery.id, attempt: delivery.attempts };
    if (end.kind === 'sent') log.info(told, 'a message was delivered');
    else log.warn({ ...told, code: end.code, next: end.kind }, 'a message could not be delivered');
  }

  look();
  return {
    wake: look,
    async sendNow(message) {
      const now = clock();
      const task = run(await store.claimNew(message, now + settings.claimMs)).finally(() => running.delete(task));
      running.add(task);
      await task;
    },
    settled() {
      return new Promise((resolve) => {
        waiting.push(resolve);
        look();
      });
    },
    lastError: () => lastError,
    async close() {
      closing = true;
      if (timer !== null) clearTimeout(timer);
      await looking;
      await within(settings.closingMs, Promise.allSettled([...running]));
      for (const done of waiting.splice(0)) done();
    },
  };
}

/** Attempts; a channel that takes too long, or fails in a way it did not foresee, has failed for now. */
async function attempt(channel: Channel, parcel: Parcel, mostMs: number): Promise<ChannelResult> {
  try {
    const result = await within(mostMs, channel(parcel));
    return result ?? { kind: 'for-now', code: 'timed-out', detail: '' };
  } catch (error) {
    return { kind: 'for-now', code: networkCode(error), detail: networkDetail(error) };
  }
}

/** What a promise gives, or undefined when that takes longer. */
async function within<T>(mostMs: number, promise: Promise<T>): Promise<T | undefined> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const tooLong = new Promise<undefined>((resolve) => {
    timer = setTimeout(() => resolve(undefined), mostMs);
  });
  try {
    return await Promise.race([promise, tooLong]);
  } finally {
    clearTimeout(timer);
  }
}

/** A test is attempted once: who asked for it is waiting to see what comes of it. */
function endOf(
  result: ChannelResult,
  { event, attemptsInRow, tryingSince }: Delivery,
  at: number,
  chance: number,
  settings: SenderSettings,
): AttemptEnd {
  if (result.kind === 'taken') return { kind: 'sent', code: 'taken', detail: result.detail };
  const { code, detail } = result;
  if (result.kind === 'for-good') return { kind: 'give-up', outcome: 'failed-for-good', code, detail };
  const nextAt = at + retryPause(attemptsInRow, chance, result.retryAfterMs ?? null, settings);
  const tooLate = nextAt - (tryingSince ?? at) > settings.giveUpAfterMs;
  return event === 'test' || tooLate
    ? { kind: 'give-up', outcome: 'failed-for-now', code, detail }
    : { kind: 'again', code, detail, nextAt };
}
