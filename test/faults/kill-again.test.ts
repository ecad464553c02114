import { describe, expect, it } from 'vitest';
import { mosquittoIsHere } from '../ingest/processes.ts';
import { programs } from '../store/postgres-server.ts';
import { type KillOutcome, killAgain, type Victim } from './kill-again.ts';
import { killSeveral } from './kill-several.ts';

const start = Date.UTC(2026, 0, 5);

/** Everything that was acknowledged is in the database once, with its value, in a database that is whole. */
function expectNothingLost({ published, acknowledged, ...came }: KillOutcome, kills: number): void {
  expect(came).toEqual({ kills, lost: 0, doubled: 0, integrity: 'ok' });
  expect(acknowledged).toBe(published);
  expect(acknowledged).toBeGreaterThan(10 * kills);
}

const tryKilling = async (victim: Victim, kills: number): Promise<void> =>
  expectNothingLost(await killAgain({ victim, kills, from: 'source', start }), kills);

describe('kill -9 at random moments, its start among them, while devices with sessions publish at QoS 1: every acknowledged reading is in the database once', () => {
  it('when the program with its embedded broker is killed', () => tryKilling('program-with-its-broker', 4), 180_000);

  it.skipIf(!mosquittoIsHere)(
    'when the program behind Mosquitto is killed',
    () => tryKilling('program-behind-mosquitto', 3),
    180_000,
  );

  it.skipIf(!mosquittoIsHere)(
    'when Mosquitto itself is killed while the program listens to it',
    () => tryKilling('mosquitto-while-heard', 3),
    180_000,
  );

  it.skipIf(!mosquittoIsHere || programs === null)(
    'when of several processes on PostgreSQL each is killed, and Mosquitto and the server of the database too, and every hour is made of them',
    async () => {
      const victims = ['first', 'postgres', 'upkeep', 'second', 'mosquitto', 'pages', 'postgres'] as const;
      expectNothingLost(await killSeveral({ victims, from: 'source', start }), victims.length);
    },
    300_000,
  );
});
