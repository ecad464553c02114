import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { type Quantity, quantityNames } from '../physics/quantities.ts';
import type { AppendOutcome, IncomingReading, Store } from '../store/port.ts';
import { type ReadingRules, type Reject, readItems } from './csv.ts';
import { type CsvGuess, type CsvOptions, guessCsv } from './csv-guess.ts';

/** What importing a file would do, worked out from all of it before anything is written. */
export interface ImportPlan {
  readonly path: string;
  readonly guess: CsvGuess;
  readonly rules: ReadingRules;
  readonly rows: number;
  readonly readings: number;
  /** rows with a time and no value */
  readonly gaps: number;
  readonly quantities: readonly QuantityExtent[];
  /** UTC ms; null when nothing can be read */
  readonly first: number | null;
  readonly last: number | null;
  /** the commonest step between rows, s */
  readonly intervalSeconds: number | null;
  readonly rejected: number;
  /** the first of them */
  readonly rejects: readonly Reject[];
}

export interface QuantityExtent {
  readonly quantity: Quantity;
  readonly count: number;
  readonly min: number;
  readonly max: number;
}

/** What hears of a file as it is read. */
export interface ImportEars {
  /** bytes read so far, of `guess.fileBytes` */
  onBytes?(bytes: number): void;
  onReject?(reject: Reject): void;
}

const REJECTS_KEPT = 20;
const READINGS_A_COMMIT = 5_000;

/**
 * Reads a file through and says what it holds.
 *
 * @throws CsvProblem when it cannot be understood
 */
export async function planImport(
  path: string,
  rules: ReadingRules,
  options: CsvOptions = {},
  ears: ImportEars = {},
): Promise<ImportPlan> {
  const guess = await guessCsv(path, options);
  const extents = new Map<Quantity, { count: number; min: number; max: number }>();
  const steps = new Map<number, number>();
  const rejects: Reject[] = [];
  let rejected = 0;
  let rows = 0;
  let gaps = 0;
  let readings = 0;
  let first = Number.POSITIVE_INFINITY;
  let last = Number.NEGATIVE_INFINITY;
  let before: number | null = null;
  for await (const item of readItems(path, guess, rules, ears.onBytes)) {
    if (item.kind === 'gap') {
      gaps++;
    } else if (item.kind === 'reject') {
      rejected++;
      const reject = { line: item.line, reason: item.reason };
      if (rejects.length < REJECTS_KEPT) rejects.push(reject);
      ears.onReject?.(reject);
    } else {
      rows++;
      readings += item.values.length;
      first = Math.min(first, item.time);
      last = Math.max(last, item.time);
      if (before !== null && steps.size < 1000) {
        const step = Math.round(Math.abs(item.time - before) / 1000);
        steps.set(step, (steps.get(step) ?? 0) + 1);
      }
      before = item.time;
      for (const { quantity, value } of item.values) {
        const extent = extents.get(quantity);
        if (extent === undefined) extents.set(quantity, { count: 1, min: value, max: value });
        else {
          extent.count++;
          extent.min = Math.min(extent.min, value);
          extent.max = Math.max(extent.max, value);
        }
      }
    }
  }
  const commonest = [...steps].sort((a, b) => b[1] - a[1])[0];
  return {
    path,
    guess,
    rules,
    rows,
    readings,
    gaps,
    quantities: quantityNames.flatMap((quantity) => {
      const extent = extents.get(quantity);
      return extent === undefined ? [] : [{ quantity, ...extent }];
    }),
    first: rows > 0 ? first : null,
    last: rows > 0 ? last : null,
    intervalSeconds: commonest?.[0] ?? null,
    rejected,
    rejects,
  };
}

/**
 * Writes what a plan found, as readings of one sensor, in commits of a few thousand, and puts on record which file they
 * came out of. A reading that is there already is
 * counted as repeated and changes nothing, so that an import can be done again after it was broken off.
 *
 * @throws CsvProblem, StoreError
 */
export async function runImport(
  store: Pick<Store, 'append' | 'beginImport' | 'finishImport'>,
  plan: ImportPlan,
  target: { readonly dwellingId: number; readonly sensorKey: string; readonly receivedAt: number },
  ears: ImportEars = {},
): Promise<AppendOutcome> {
  const { dwellingId, sensorKey, receivedAt } = target;
  const total = { stored: 0, repeated: 0, conflicting: 0 };
  let readings: IncomingReading[] = [];
  const { id: importId } = await store.beginImport({
    dwellingId,
    at: receivedAt,
    name: basename(plan.path),
    bytes: (await stat(plan.path)).size,
    fileDigest: await fileDigest(plan.path),
  });
  const commit = async (): Promise<void> => {
    const outcome = await store.append({ receivedAt, readings, quarantined: [], importId });
    total.stored += outcome.stored;
    total.repeated += outcome.repeated;
    total.conflicting += outcome.conflicting;
    readings = [];
  };
  for await (const item of readItems(plan.path, plan.guess, plan.rules, ears.onBytes)) {
    if (item.kind !== 'row') continue;
    for (const { quantity, value } of item.values) {
      readings.push({ dwellingId, sensorKey, quantity, time: item.time, value });
    }
    if (readings.length >= READINGS_A_COMMIT) await commit();
  }
  if (readings.length > 0) await commit();
  await store.finishImport(dwellingId, importId);
  return total;
}

/** SHA-256 of a file, byte for byte. */
async function fileDigest(path: string): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
  return hash.digest('hex');
}
