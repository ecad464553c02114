import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { payloadLimits } from '../../server/ingest/payload.ts';
import { understand } from '../../server/ingest/understand.ts';
import { runHostile } from '../api/hostile-run.ts';
import { knownHome, mutator, RECEIVED_AT, unsound } from '../ingest/mutations.ts';
import type { BenchRow } from './row.ts';

const MUTANTS = 1_000_000;
const SEED = 20_260_131;

/** What comes in by broker and by HTTP, spoilt. */
export async function benchFuzz(): Promise<BenchRow[]> {
  return [...(await benchPayloads()), ...(await benchApi())];
}

/**
 * A million damaged messages through the parser: throws at the first that crashes it or is neither understood nor
 * turned away with a reason, and weighs what stays in memory.
 */
async function benchPayloads(): Promise<BenchRow[]> {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  const heap = (): number => {
    collect();
    return process.memoryUsage().heapUsed;
  };
  const next = mutator(SEED);
  const known = knownHome(1);
  let early = 0;
  let parsedMs = 0;
  let baselineMs = 0;
  let read = 0;
  for (let k = 0; k < MUTANTS; k++) {
    if (k === MUTANTS / 10) early = heap();
    const { topic, payload } = next();
    const start = performance.now();
    const understood = understand(topic, payload, RECEIVED_AT, known, payloadLimits);
    const between = performance.now();
    try {
      JSON.parse(Buffer.from(payload).toString('utf8'));
    } catch {}
    baselineMs += performance.now() - between;
    parsedMs += between - start;
    const wrong = unsound(understood);
    if (wrong !== null) {
      throw new Error(`seed ${SEED}, message ${k}: ${wrong}: ${topic} ${Buffer.from(payload).toString('base64')}`);
    }
    if (understood.kind === 'readings') read++;
  }
  const grownMiB = (heap() - early) / (1 << 20);
  return [
    {
      name: `fuzz, heap grown over the last ${0.9 * MUTANTS} of ${MUTANTS} damaged messages`,
      measured: grownMiB,
      limit: 8,
      unit: 'MiB',
      ratio: grownMiB / 8,
      aim: 1,
      direction: 'at most',
      note: `${read} gave readings, the rest a reason; none crashed the parser`,
    },
    {
      name: 'fuzz, understanding damaged messages against only trying them as JSON',
      measured: (parsedMs / MUTANTS) * 1000,
      limit: (baselineMs / MUTANTS) * 1000,
      unit: 'µs a message',
      ratio: parsedMs / baselineMs,
      aim: 5,
      direction: 'at most',
    },
  ];
}

const API_SEED = 20_260_214;

/** Ten thousands of requests that nobody should send, to every operation of the API: throws at what goes wrong. */
async function benchApi(): Promise<BenchRow[]> {
  const mostMs = 20_000;
  const outcome = await runHostile({ seed: API_SEED, each: 400, eachHeavy: 12, mostMs });
  if (outcome.wrong.length > 0) throw new Error(`seed ${API_SEED}:\n${outcome.wrong.slice(0, 20).join('\n')}`);
  return [
    {
      name: `fuzz, longest wait for an answer to one of ${outcome.requests} hostile requests to ${outcome.operations} operations`,
      measured: outcome.slowestMs,
      limit: mostMs,
      unit: 'ms',
      ratio: outcome.slowestMs / mostMs,
      aim: 1,
      direction: 'at most',
      note: `no failure, nothing of the inside shown, well afterwards; ${outcome.answers[2]} were done, ${outcome.answers[4]} refused, ${outcome.done.size} operations done at least once`,
    },
  ];
}
