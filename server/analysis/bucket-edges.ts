import { DateTime } from 'luxon';
import { HOUR_MS } from './vocabulary.ts';

const DAY_MS = 24 * HOUR_MS;
const hourSteps = [1, 2, 3, 4, 6, 8, 12] as const;
const daySteps = [1, 2, 4, 7, 14, 28, 56, 112, 224, 448] as const;

export interface Buckets {
  /** usual length of a bucket, hours; a local day may have 23 or 25 */
  readonly stepHours: number;
  /** UTC milliseconds; one more than there are buckets */
  readonly edges: Float64Array;
}

/**
 * Buckets over a span, the finest of a fixed ladder that need no more than `most`. They stand where they stand for any
 * span: by whole UTC hours, and from a day up by local midnights, so that a moved or narrowed span cuts the same buckets.
 * The first begins at or before `from`, the last ends at or after `to`.
 *
 * @param from UTC milliseconds
 * @param to UTC milliseconds, after `from`
 * @param most buckets wanted at the most, 2 or more
 * @param zone IANA time zone
 * @throws RangeError for a span that is none, or fewer than 2 buckets
 */
export function bucketEdges(from: number, to: number, most: number, zone: string): Buckets {
  if (!(to > from)) throw new RangeError(`to is ${to} ms; it must be after from, ${from} ms`);
  if (!(most >= 2)) throw new RangeError(`most is ${most}; it must be 2 or more`);
  const needed = (stepMs: number): number => Math.ceil(to / stepMs) - Math.floor(from / stepMs);
  const hours = hourSteps.find((step) => needed(step * HOUR_MS) <= most);
  if (hours !== undefined) {
    const step = hours * HOUR_MS;
    const first = Math.floor(from / step);
    return { stepHours: hours, edges: Float64Array.from({ length: needed(step) + 1 }, (_, i) => (first + i) * step) };
  }
  const last = dayOf(to - 1, zone) + 1;
  const first = dayOf(from, zone);
  const days = daySteps.find((step) => Math.ceil(last / step) - Math.floor(first / step) <= most) ?? daySteps.at(-1)!;
  const start = Math.floor(first / days);
  const count = Math.ceil(last / days) - start;
  const edges = Float64Array.from({ length: count + 1 }, (_, i) => midnightOf((start + i) * days, zone));
  return { stepHours: days * 24, edges };
}

/** Local calendar day of an instant, counted from 1970. */
const dayOf = (time: number, zone: string): number =>
  Math.floor((time + DateTime.fromMillis(time, { zone }).offset * 60_000) / DAY_MS);

/** The first instant of a local day. */
const midnightOf = (day: number, zone: string): number =>
  DateTime.fromMillis(day * DAY_MS, { zone: 'utc' })
    .setZone(zone, { keepLocalTime: true })
    .startOf('day')
    .toMillis();
