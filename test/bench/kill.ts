import { type KillOutcome, killAgain, type Victim } from '../faults/kill-again.ts';
import { killSeveral, parts } from '../faults/kill-several.ts';
import { mosquittoIsHere } from '../ingest/processes.ts';
import { programs, whyNot } from '../store/postgres-server.ts';
import type { BenchRow } from './row.ts';

const START = Date.UTC(2026, 0, 5);

/** Two hundred in all. */
const counted: readonly { readonly victim: Victim; readonly kills: number; readonly words: string }[] = [
  { victim: 'program-with-its-broker', kills: 80, words: 'the program with its embedded broker' },
  { victim: 'program-behind-mosquitto', kills: 60, words: 'the program behind Mosquitto' },
  { victim: 'mosquitto-while-heard', kills: 60, words: 'Mosquitto while the program listens' },
];
/** Of several processes on PostgreSQL, beside those: each part the same number of times, in an order that is drawn. */
const KILLS_OF_EACH = 10;
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

/** The same of the parts of several processes on PostgreSQL. */
export async function benchKillSeveral(): Promise<BenchRow[]> {
  if (programs === null || !mosquittoIsHere) {
    if (programs === null) console.log(`  ${whyNot}`);
    return [];
  }
  const victims = parts
    .flatMap((part) => Array.from({ length: KILLS_OF_EACH }, () => ({ part, place: Math.random() })))
    .sort((a, b) => a.place - b.place)
    .map(({ part }) => part);
  const outcome = await killSeveral({ victims, from: 'build', start: START });
  if (outcome.integrity !== 'ok') throw new Error(`the database is damaged: ${outcome.integrity}`);
  const words = `any of several processes on PostgreSQL, Mosquitto or the database server (${parts.join(', ')})`;
  return [row(`lost, ${words}`, outcome.lost, outcome), row(`doubled, ${words}`, outcome.doubled, outcome)];
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
