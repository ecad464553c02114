import { performance } from 'node:perf_hooks';
import { liveHome } from '../../server/simulate/live.ts';
import { sampleSpan } from '../../server/simulate/sample-home.ts';
import type { BenchRow } from './row.ts';

const YEAR_MS = 365 * 86_400_000;

/** The demo's gap from the sample files to now: a year of messages, with the house run from its epoch, against 3 s. */
export async function benchLiveHome(): Promise<BenchRow[]> {
  let measured = Number.POSITIVE_INFINITY;
  let messages = 0;
  for (let run = 0; run < 3; run += 1) {
    const start = performance.now();
    messages = liveHome().backfill(sampleSpan.to, sampleSpan.to + YEAR_MS).length;
    measured = Math.min(measured, performance.now() - start);
  }
  return [
    {
      name: 'live demo, a year of messages made up to now',
      measured,
      limit: 3000,
      unit: 'ms',
      ratio: measured / 3000,
      aim: 1,
      direction: 'at most',
      note: `${messages} messages of eight sensors`,
    },
  ];
}
