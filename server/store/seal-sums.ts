import { createHash, type Hash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import type { Quantity } from '../physics/quantities.ts';
import { byBytes, changeLine, dayLine, NO_ENTRY, readingLine, seriesLine, seriesPrefix } from './canonical.ts';
import type { DaySeal, JournalEntry, SealFault, SeriesSeal } from './port-provenance.ts';

/**
 * How days are summed up and looked at again, whatever engine the rows come from.
 */

/** Readings summed up between two turns of other work. */
const READINGS_A_TURN = 20_000;

export interface SealedSeries {
  readonly id: number;
  readonly sensorId: number;
  readonly quantity: Quantity;
  /** begins its lines */
  readonly prefix: string;
}

export interface Span {
  readonly from: number;
  readonly to: number;
}

export type SeriesSum = Pick<SeriesSeal, 'readings' | 'first' | 'last' | 'digest'>;

/** The series of a dwelling in the order in which they are summed up. */
export const inSealingOrder = (series: readonly Omit<SealedSeries, 'prefix'>[]): SealedSeries[] =>
  series.map((each) => ({ ...each, prefix: seriesPrefix(each) })).sort((a, b) => byBytes(a.prefix, b.prefix));

export const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

/**
 * Sums up the readings of one series in some spans of time, ends included; null: there are none.
 *
 * @param pageOf the first readings of a span, time and value in order of time, at most `limit`
 * @param into sums that take in the same lines
 */
export async function sumUp(
  prefix: string,
  spans: readonly Span[],
  pageOf: (
    span: Span,
    limit: number,
  ) => Iterable<readonly [number, number]> | Promise<Iterable<readonly [number, number]>>,
  into: readonly Hash[] = [],
): Promise<SeriesSum | null> {
  const hash = createHash('sha256');
  let readings = 0;
  let first = 0;
  let last = 0;
  for (const { from, to } of spans) {
    for (let at = from; at <= to; ) {
      let taken = 0;
      let text = '';
      // a turn ends with its own statement: none may stay open while others write
      for (const [time, value] of await pageOf({ from: at, to }, READINGS_A_TURN)) {
        if (readings === 0) first = time;
        last = time;
        readings++;
        taken++;
        text += readingLine(prefix, time, value);
      }
      for (const each of [hash, ...into]) each.update(text);
      if (taken < READINGS_A_TURN) break;
      at = last + 1;
      await setImmediate();
    }
  }
  return readings === 0 ? null : { readings, first, last, digest: hash.digest('hex') };
}

/** The link of a day, behind the one before it. */
export function nextLink(
  day: number,
  seals: readonly SeriesSeal[],
  changes: readonly JournalEntry[],
  before: DaySeal | undefined,
): Omit<DaySeal, 'sealedAt'> {
  const seal = {
    day,
    readings: seals.reduce((sum, { readings }) => sum + readings, 0),
    readingsDigest: sha256(seals.map(seriesLine).sort(byBytes).join('')),
    firstChange: changes[0]?.id ?? null,
    lastChange: changes.at(-1)?.id ?? null,
    changesDigest: sha256(changes.map(changeLine).join('')),
    previous: before?.entry ?? NO_ENTRY,
  };
  return { ...seal, entry: sha256(dayLine(seal)) };
}

/** What is kept of a dwelling, to be held against what is there. */
export interface Kept {
  readonly firstDay: number;
  readonly seals: readonly DaySeal[];
  readonly journal: readonly JournalEntry[];
  /** every row of the story as it would be written down now */
  readonly story: readonly Pick<JournalEntry, 'subject' | 'subjectId' | 'content'>[];
  /** the seals of the series of a day as they are kept */
  sealed(day: number): SeriesSeal[] | Promise<SeriesSeal[]>;
  /** the same summed up again */
  found(day: number): Promise<SeriesSeal[]>;
}

const sameSeries =
  ({ sensorId, quantity }: SeriesSeal) =>
  (other: SeriesSeal): boolean =>
    other.sensorId === sensorId && other.quantity === quantity;

const differ = (one: SeriesSeal | undefined, other: SeriesSeal | undefined): boolean =>
  one === undefined || other === undefined || seriesLine(one) !== seriesLine(other);

export async function sealFaults({ firstDay, seals, journal, story, sealed, found }: Kept): Promise<SealFault[]> {
  const faults: SealFault[] = [];
  let previous = NO_ENTRY;
  let day = firstDay;
  for (const seal of seals) {
    if (seal.day !== day || seal.previous !== previous || seal.entry !== sha256(dayLine(seal))) {
      faults.push({ kind: 'chain-broken', day: seal.day });
    }
    previous = seal.entry;
    day = seal.day + 1;
    const kept = await sealed(seal.day);
    const again = await found(seal.day);
    for (const one of [...kept, ...again.filter((each) => !kept.some(sameSeries(each)))]) {
      if (differ(kept.find(sameSeries(one)), again.find(sameSeries(one)))) {
        faults.push({ kind: 'readings-differ', day: seal.day, sensorId: one.sensorId, quantity: one.quantity });
      }
    }
    if (sha256(kept.map(seriesLine).sort(byBytes).join('')) !== seal.readingsDigest) {
      faults.push({ kind: 'chain-broken', day: seal.day });
    }
    const changes =
      seal.firstChange === null ? [] : journal.filter(({ id }) => id >= seal.firstChange! && id <= seal.lastChange!);
    if (sha256(changes.map(changeLine).join('')) !== seal.changesDigest) {
      faults.push({ kind: 'changes-differ', day: seal.day });
    }
  }
  const last = new Map(journal.map((entry) => [`${entry.subject} ${entry.subjectId}`, entry]));
  for (const { subject, subjectId, content } of story) {
    const key = `${subject} ${subjectId}`;
    if (last.get(key)?.content !== content) faults.push({ kind: 'story-differs', subject, subjectId });
    last.delete(key);
  }
  for (const { subject, subjectId, content } of last.values()) {
    if (content !== 'null') faults.push({ kind: 'story-differs', subject, subjectId });
  }
  return faults;
}
