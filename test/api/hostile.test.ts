import { expect, it } from 'vitest';
import { operations } from '../../server/api/contract/operations.ts';
import { runHostile } from './hostile-run.ts';

it('the API, fuzzed operation by operation from its own OpenAPI document, never fails, hangs or shows its inside, and is well afterwards', async () => {
  const outcome = await runHostile({ seed: 20_260_114, each: 24, eachHeavy: 3, mostMs: 20_000 });
  expect(outcome.wrong).toEqual([]);
  // every operation, and the live stream that stands beside their table
  expect(outcome.operations).toBe(Object.keys(operations).length + 1);
  // the fuzz reaches handlers as well as guards: else it would show nothing
  expect(outcome.answers[2]).toBeGreaterThan(200);
  expect(outcome.answers[4]).toBeGreaterThan(500);
  expect(outcome.done.size).toBeGreaterThan(50);
}, 300_000);
