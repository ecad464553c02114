import { type KillOutcome, killAgain, type Victim } from '../faults/kill-again.ts';
import { mosquittoIsHere } from '../ingest/processes.ts';
import type { BenchRow } from './row.ts';

const START = Date.UTC(2026, 0, 5);

/** Two hundred in all. */
const counted: readonly { readonly victim: Victim; readonly kills: number; readonly words: string }[] = [
  { victim: 'program-with-its-broker', kills: 80, words: 'the program with its embedded broker' },
  { victim: 'program-behind-mosquitto', kills: 60, words: 'the program behind Mosquitto' },
  { victim: 'mosquitto-while-heard', kills: 60, words: 'Mosquitto while the program listens' },
];
/** Beside them, to know what an external broker is worth while nobody listens to it. */
const UNHEARD_KILLS = 20;

/** kill -9 at random moments under QoS 1 load: of what was acknowledged, how much was lost and how much doubled. */
export async function benchKill(): Promise<BenchRow[]> {
  const rows: BenchRow[] = [];
  for (const { victim, kills, words } of counted) {
    if (victim !== 'program-with-its-broker' && !mosquittoIsHere) continue;
    const outcome = await killAgain({ victim, kills, from: 'build', start: START });
    if (outcome.integrity !== 'ok') throw new Error(`the database is damaged: ${outcome.integrity}`);
    const beside = victim === 'mosquitto-while-heard' ? `; ${await unheard()}` : '';
    rows.push(row(`lost, ${words}`, outcome.lost, outcome, beside), row(`doubled, ${words}`, outcome.doubled, outcome));
  }
  return rows;
}

const row = (name: string, measured: number, outcome: KillOutcome, beside = ''): BenchRow => ({
  name,
  measured,
  limit: outcome.acknowledged,
  unit: 'readings',
  ratio: measured / outcome.acknowledged,
  aim: 0,
  direction: 'at most',
  note: `${outcome.kills} kills, ${outcome.published} published, ${outcome.acknowledged} acknowledged${beside}`,
});

async function unheard(): Promise<string> {
  const { kills, acknowledged, lost } = await killAgain({
    victim: 'mosquitto-at-any-moment',
    kills: UNHEARD_KILLS,
    from: 'build',
    start: START,
  });
  return `killed before the program listened again, Mosquitto itself lost ${lost} of ${acknowledged} that it had acknowledged and not yet written down, in ${kills} kills`;
}
