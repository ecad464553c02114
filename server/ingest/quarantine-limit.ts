import type { Batch, NotKept, QuarantinedMessage, Store } from '../store/port.ts';
import { type Log, silent } from './log.ts';

/** How much quarantine may hold of what was not read in yet. */
export interface QuarantineLimit {
  /** of one dwelling, or of one first level of other topics, bytes */
  readonly senderBytes: number;
  /** bytes */
  readonly totalBytes: number;
  /** what a message takes beside its payload: row, topic, reason, indexes */
  readonly rowBytes: number;
  /** senders that are counted by name; the rest is counted together */
  readonly named: number;
}

/** Room for a month of a reading a minute from a sensor that waits to be explained, and a bound for a small card. */
export const quarantineLimit: QuarantineLimit = Object.freeze({
  senderBytes: 32 << 20,
  totalBytes: 256 << 20,
  rowBytes: 512,
  named: 100,
});

const HOUR_MS = 3_600_000;
const RECOUNT_MS = 60_000;

/** Whose a message is: its dwelling's where its topic names one, else that of the first level of its topic. */
export const senderOf = (topic: string): string =>
  topic
    .split('/', topic.startsWith('coomb/') ? 2 : 1)
    .join('/')
    .slice(0, 100);

/** What stands in the place of further senders. */
export const OTHER_SENDERS = '';

/** A store that keeps no more in quarantine than it may. Readings are not its business: it lets all of them through. */
export interface LimitedStore extends Pick<Store, 'append'> {
  /** senders of whom something was not kept within the last hour */
  full(): readonly string[];
  /** messages not kept since the program started */
  notKept(): number;
}

export function limitQuarantine(
  store: Pick<Store, 'append' | 'quarantineSizes' | 'quarantineNotKept'>,
  clock: () => number,
  limit: QuarantineLimit = quarantineLimit,
  log: Log = silent,
): LimitedStore {
  let held: { readonly bySender: Map<string, number>; total: number; readonly countedAt: number } | null = null;
  let named: Set<string> | null = null;
  let notKept = 0;
  const refusedAt = new Map<string, number>();

  const costOf = ({ payload }: QuarantinedMessage): number => payload.byteLength + limit.rowBytes;

  async function count(): Promise<NonNullable<typeof held>> {
    const bySender = new Map<string, number>();
    let total = 0;
    for (const { topic, messages, bytes } of await store.quarantineSizes()) {
      const cost = bytes + messages * limit.rowBytes;
      const sender = senderOf(topic);
      bySender.set(sender, (bySender.get(sender) ?? 0) + cost);
      total += cost;
    }
    return { bySender, total, countedAt: clock() };
  }

  /** Parts what is kept from what is not. What was read in or removed meanwhile is found out when there is no room. */
  async function part(quarantined: readonly QuarantinedMessage[]) {
    held ??= await count();
    const added = new Map<string, number>();
    let addedTotal = 0;
    const kept: QuarantinedMessage[] = [];
    const refused: QuarantinedMessage[] = [];
    const fits = (sender: string, cost: number): boolean =>
      (held!.bySender.get(sender) ?? 0) + (added.get(sender) ?? 0) + cost <= limit.senderBytes &&
      held!.total + addedTotal + cost <= limit.totalBytes;
    for (const message of quarantined) {
      const sender = senderOf(message.topic);
      const cost = costOf(message);
      if (!fits(sender, cost) && clock() - held.countedAt >= RECOUNT_MS) held = await count();
      if (fits(sender, cost)) {
        added.set(sender, (added.get(sender) ?? 0) + cost);
        addedTotal += cost;
        kept.push(message);
      } else refused.push(message);
    }
    return { kept, refused, added, addedTotal };
  }

  async function tally(refused: readonly QuarantinedMessage[]): Promise<NotKept[]> {
    named ??= new Set((await store.quarantineNotKept()).map(({ sender }) => sender));
    const counts = new Map<string, NotKept>();
    for (const { topic, receivedAt } of refused) {
      const own = senderOf(topic);
      const sender = named.has(own) || named.size < limit.named ? own : OTHER_SENDERS;
      named.add(sender);
      const before = counts.get(sender) ?? { sender, messages: 0, firstAt: receivedAt, lastAt: receivedAt };
      counts.set(sender, { ...before, messages: before.messages + 1, lastAt: Math.max(before.lastAt, receivedAt) });
    }
    return [...counts.values()];
  }

  function told(counts: readonly NotKept[]): void {
    const now = clock();
    for (const { sender, messages } of counts) {
      notKept += messages;
      if (now - (refusedAt.get(sender) ?? Number.NEGATIVE_INFINITY) >= HOUR_MS) {
        log.warn({ sender }, 'messages that are not understood are no longer kept: quarantine holds as much as it may');
      }
      refusedAt.set(sender, now);
    }
  }

  return {
    async append(batch: Batch) {
      if (batch.quarantined.length === 0) return store.append(batch);
      const { kept, refused, added, addedTotal } = await part(batch.quarantined);
      const counts = refused.length === 0 ? [] : await tally(refused);
      const outcome = await store.append({ ...batch, quarantined: kept, notKept: counts });
      for (const [sender, bytes] of added) held!.bySender.set(sender, (held!.bySender.get(sender) ?? 0) + bytes);
      held!.total += addedTotal;
      told(counts);
      return outcome;
    },
    full: () => [...refusedAt].flatMap(([sender, at]) => (clock() - at < HOUR_MS ? [sender] : [])),
    notKept: () => notKept,
  };
}
