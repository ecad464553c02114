import { describe, expect, it } from 'vitest';
import { mosquittoIsHere } from '../ingest/processes.ts';
import { killAgain, type Victim } from './kill-again.ts';

const start = Date.UTC(2026, 0, 5);

/** Everything that was acknowledged is in the database once, with its value, in a file that is whole. */
async function expectNothingLost(victim: Victim, kills: number): Promise<void> {
  const { published, acknowledged, ...came } = await killAgain({ victim, kills, from: 'source', start });
  expect(came).toEqual({ kills, lost: 0, doubled: 0, integrity: 'ok' });
  expect(acknowledged).toBe(published);
  expect(acknowledged).toBeGreaterThan(10 * kills);
}

describe('kill -9 at random moments, its start among them, while devices with sessions publish at QoS 1: every acknowledged reading is in the database once', () => {
  it(
    'when the program with its embedded broker is killed',
    () => expectNothingLost('program-with-its-broker', 4),
    180_000,
  );

  it.skipIf(!mosquittoIsHere)(
    'when the program behind Mosquitto is killed',
    () => expectNothingLost('program-behind-mosquitto', 3),
    180_000,
  );

  it.skipIf(!mosquittoIsHere)(
    'when Mosquitto itself is killed while the program listens to it',
    () => expectNothingLost('mosquitto-while-heard', 3),
    180_000,
  );
});
