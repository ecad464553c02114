import type { QuarantineStore } from '../store/port.ts';
import type { MessageReceiver } from './forecast-receiver.ts';
import { payloadLimits } from './payload.ts';
import type { StoodBack } from './reread.ts';

/** Messages whose own time was ahead of this computer's clock, all by the same: it stood back then, or they were wrong. */
export interface ClockDoubt extends StoodBack {
  /** in order of code points */
  readonly topics: readonly string[];
  readonly messages: number;
  /** when the first and the last came, by this computer's clock */
  readonly firstAt: number;
  readonly lastAt: number;
}

/** A message that was set aside because its time lay ahead. */
export interface AheadMessage {
  readonly id: number;
  readonly topic: string;
  readonly receivedAt: number;
  /** its last own time less the time of receipt, ms */
  readonly leadMs: number;
}

/** A sensor that reports a few times a day still belongs to one stretch of time with those that report all the time. */
const GAP_MS = 12 * 3_600_000;
/** What a clock is set back by when it runs a little fast is no step. */
const STEP_MS = 60_000;
/** A device whose time jumps about makes a stretch of nearly every message. */
const MOST_OPEN = 100;
const MOST_DOUBTS = 200;

interface Cluster {
  readonly messages: AheadMessage[];
  low: number;
  high: number;
}

/**
 * Finds stretches of messages that were ahead by the same, to within what a device's clock may be off. What a device had
 * kept back was ahead by less and belongs to what it sent at once. Where there are very many, the last.
 *
 * @param messages in order of id
 */
export function clockDoubtsAmong(messages: readonly AheadMessage[]): ClockDoubt[] {
  const clusters: Cluster[] = [];
  for (const message of messages) {
    const { leadMs, receivedAt } = message;
    const fitting = clusters.slice(-MOST_OPEN).findLast(({ low, high, messages: before }) => {
      const since = receivedAt - before.at(-1)!.receivedAt;
      const width = Math.max(high, leadMs) - Math.min(low, leadMs);
      return since >= -STEP_MS && since <= GAP_MS && width <= payloadLimits.maxAheadMs;
    });
    if (fitting === undefined) clusters.push({ messages: [message], low: leadMs, high: leadMs });
    else {
      fitting.messages.push(message);
      fitting.low = Math.min(fitting.low, leadMs);
      fitting.high = Math.max(fitting.high, leadMs);
    }
  }
  const doubts: ClockDoubt[] = [];
  const byLead = clusters
    .slice(-MOST_DOUBTS)
    .map(doubtOf)
    .sort((a, b) => b.behindMs - a.behindMs);
  for (const doubt of byLead) {
    const k = doubts.findIndex((other) => wasKeptBack(doubt, other));
    if (k < 0) doubts.push(doubt);
    else doubts[k] = joined(doubts[k]!, doubt);
  }
  return doubts.sort((a, b) => a.afterId - b.afterId);
}

function doubtOf({ messages, high }: Cluster): ClockDoubt {
  return {
    afterId: messages[0]!.id - 1,
    untilId: messages.at(-1)!.id,
    behindMs: high,
    topics: [...new Set(messages.map(({ topic }) => topic))].sort(),
    messages: messages.length,
    firstAt: messages[0]!.receivedAt,
    lastAt: messages.at(-1)!.receivedAt,
  };
}

/** Whether messages that were ahead by less came from the same devices, between the others or right before or after. */
function wasKeptBack(one: ClockDoubt, other: ClockDoubt): boolean {
  const { maxAheadMs } = payloadLimits;
  const isNear = one.firstAt >= other.firstAt - maxAheadMs && one.lastAt <= other.lastAt + maxAheadMs;
  if (!isNear || !one.topics.every((topic) => other.topics.includes(topic))) return false;
  // the clock may have gone back in between
  if (one.afterId >= other.untilId) return one.firstAt >= other.lastAt - STEP_MS;
  if (one.untilId <= other.afterId) return one.lastAt <= other.firstAt + STEP_MS;
  return true;
}

const joined = (one: ClockDoubt, keptBack: ClockDoubt): ClockDoubt => ({
  ...one,
  afterId: Math.min(one.afterId, keptBack.afterId),
  untilId: Math.max(one.untilId, keptBack.untilId),
  messages: one.messages + keptBack.messages,
  firstAt: Math.min(one.firstAt, keptBack.firstAt),
  lastAt: Math.max(one.lastAt, keptBack.lastAt),
});

const MOST_GROUPS = 500;
const PAGE_MESSAGES = 200;

/**
 * What in quarantine may be right, if this computer's clock stood back when it came. Times that are ahead of the clock
 * even now are no part of it. Nothing in the messages tells which of the two clocks was wrong: that is for people to say.
 */
export async function findClockDoubts(
  store: Pick<QuarantineStore, 'quarantineGroups' | 'unresolved'>,
  receiver: Pick<MessageReceiver, 'read'>,
  now: number,
): Promise<ClockDoubt[]> {
  const ahead: AheadMessage[] = [];
  const groups = await store.quarantineGroups(MOST_GROUPS);
  for (const { topic } of groups.filter(({ code }) => code === 'clock-ahead')) {
    for (let after = 0; ; ) {
      const rows = await store.unresolved(topic, after, PAGE_MESSAGES);
      if (rows.length === 0) break;
      after = rows.at(-1)!.id;
      for (const { id, code, payload, receivedAt } of rows) {
        if (code !== 'clock-ahead') continue;
        const understood = await receiver.read(topic, payload, receivedAt, Math.max(0, now - receivedAt));
        if (understood.kind !== 'readings') continue;
        const times = understood.readings.filter(({ stamped }) => stamped === 'by-device').map(({ time }) => time);
        const leadMs = Math.max(...times) - receivedAt;
        if (leadMs > payloadLimits.maxAheadMs) ahead.push({ id, topic, receivedAt, leadMs });
      }
    }
  }
  return clockDoubtsAmong(ahead.sort((a, b) => a.id - b.id));
}
