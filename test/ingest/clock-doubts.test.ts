import { describe, expect, it } from 'vitest';
import { type AheadMessage, clockDoubtsAmong } from '../../server/ingest/clock-doubts.ts';

const MINUTE = 60_000;
const START = Date.UTC(2026, 0, 14, 6);

/** What came by the computer's clock so many minutes from the start, and was so many minutes ahead of it. */
type Row = readonly [topic: string, minute: number, lead: number];

/** Messages in the order in which they came: topic, minutes from the start by the computer's clock, minutes ahead. */
const ahead = (...rows: Row[]): AheadMessage[] =>
  rows.map(([topic, minute, lead], k) => ({
    id: k + 1,
    topic,
    receivedAt: START + minute * MINUTE,
    leadMs: lead * MINUTE,
  }));
const found = (...rows: Row[]) =>
  clockDoubtsAmong(ahead(...rows)).map(({ topics, messages, behindMs, afterId, untilId }) => [
    topics.join(' '),
    messages,
    behindMs / MINUTE,
    [afterId + 1, untilId],
  ]);

describe('messages that were ahead of the clock', () => {
  it('by the same, to within what device clocks may be off, are of one stretch, by the most of them', () => {
    expect(found(['a', 0, 372], ['b', 1, 368], ['a', 5, 377], ['c', 600, 371])).toEqual([['a b c', 4, 377, [1, 4]]]);
    expect(clockDoubtsAmong([])).toEqual([]);
  });

  it('by an hour more than the rest are told apart, and one is not drawn into the other by those in between', () => {
    expect(found(['a', 0, 372], ['local', 1, 432], ['a', 5, 372], ['local', 6, 432])).toEqual([
      ['a', 2, 372, [1, 3]],
      ['local', 2, 432, [2, 4]],
    ]);
    // 8 minutes from step to step, but never more than ten from end to end
    expect(found(['a', 0, 60], ['b', 1, 68], ['c', 2, 76])).toEqual([
      ['a b', 2, 68, [1, 2]],
      ['c', 1, 76, [3, 3]],
    ]);
  });

  it('before the clock went back and after are two stretches, and so are those half a day apart', () => {
    expect(found(['a', 60, 60], ['a', 0, 60], ['a', 5, 60], ['a', 5 + 13 * 60, 60])).toEqual([
      ['a', 1, 60, [1, 1]],
      ['a', 2, 60, [2, 3]],
      ['a', 1, 60, [4, 4]],
    ]);
  });

  it('that a device had kept back come with those it sent at once, before, between or after', () => {
    const keptBack = (minute: number): Row[] => [1, 2, 3, 4].map((k) => ['a', minute, 372 - 15 * k]);
    expect(found(...keptBack(0).reverse(), ['a', 1, 372], ...keptBack(3), ['b', 9, 372], ...keptBack(10))).toEqual([
      ['a b', 14, 372, [1, 14]],
    ]);
  });

  it('by less at another time, or by another device, do not come with them', () => {
    expect(found(['a', 30, 372], ['b', 31, 60])).toEqual([
      ['a', 1, 372, [1, 1]],
      ['b', 1, 60, [2, 2]],
    ]);
    expect(found(['a', 0, 60], ['a', 30, 372], ['a', 60, 60], ['a', 90, 372])).toEqual([
      ['a', 2, 60, [1, 3]],
      ['a', 2, 372, [2, 4]],
    ]);
    // two boots that began at the same wrong time
    expect(found(['a', 0, 60], ['a', 20, 60], ['a', 0, 372], ['a', 20, 372])).toEqual([
      ['a', 2, 60, [1, 2]],
      ['a', 2, 372, [3, 4]],
    ]);
  });

  it('by a device whose time jumps about are found in no time, the last of them', () => {
    const rows = Array.from({ length: 20_000 }, (_, k): [string, number, number] => [
      'a',
      k / 60,
      20 + ((k * 7919) % 90_001),
    ]);
    const doubts = clockDoubtsAmong(ahead(...rows));
    expect(doubts.length).toBeGreaterThan(0);
    expect(doubts.length).toBeLessThanOrEqual(200);
    expect(doubts.at(-1)!.untilId).toBe(20_000);
  });
});
