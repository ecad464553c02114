import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { readConfig } from '../../server/config.ts';
import { sampleFolder, startCoomb } from '../../server/main.ts';
import { FROM, givenSealedHome, TO } from '../evidence/home.ts';
import { twoColours } from '../pictures/made.ts';
import { type Answer, type ApiDocument, fire, heavy, hostileShots, type Shot, told, wrongWith } from './hostile.ts';

export interface HostileRun {
  readonly seed: number;
  /** requests to each operation */
  readonly each: number;
  /** requests to each of those that start a process or a slow hash */
  readonly eachHeavy: number;
  /** longest wait for an answer, ms */
  readonly mostMs: number;
}

export interface HostileOutcome {
  readonly operations: number;
  readonly requests: number;
  /** answers by the hundred of their status; 0: the connection was closed */
  readonly answers: Readonly<Record<number, number>>;
  /** operations that were done at least once as the contract says */
  readonly done: ReadonlySet<string>;
  readonly slowestMs: number;
  /** what went wrong, each with the request that did it */
  readonly wrong: readonly string[];
}

const OWNER = { name: 'Maud', passphrase: 'slow otters mend slates' };

/** Starts the program with a home that has a history and an owner, and sends it what nobody should send. */
export async function runHostile({ seed, each, eachHeavy, mostMs }: HostileRun): Promise<HostileOutcome> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-hostile-'));
  // beside the data folder: an owner is told where backups lie
  const backupFolder = mkdtempSync(join(tmpdir(), 'coomb-hostile-backups-'));
  const config = readConfig({}, { dataFolder: folder, httpPort: 0, mqttPort: 0, backupFolder });
  const ahead = TO + 3_600_000 - Date.now();
  const coomb = await startCoomb(config, pino({ level: 'silent' }), () => Date.now() + ahead);
  try {
    await givenSealedHome(coomb.store);
    await coomb.settled();
    const first = await fetch(`${coomb.address}/api/v1/access/first-passphrase`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(OWNER),
    });
    const cookie = first.headers.get('set-cookie')!.split(';')[0]!;
    const document = (await (await fetch(`${coomb.address}/api/v1/openapi.json`)).json()) as ApiDocument;
    const secrets = [
      folder,
      process.cwd(),
      OWNER.passphrase,
      cookie.split('=')[1]!,
      ...(await coomb.store.people()).map(({ passphraseHash }) => passphraseHash),
      ...(await coomb.store.sessions()).map(({ tokenHash }) => tokenHash),
    ];
    const ids = ['1', '2', '3'];
    const known = {
      dwelling: ['larch'],
      sensor: ['loft', 'flat', 'new-one'],
      size: ['full', 'thumbnail'],
      night: [new Date(FROM).toISOString().slice(0, 10)],
      id: ids,
    };
    const files = [
      await twoColours(40, 30),
      Buffer.from('time,temperature_c\n2025-11-05T22:10:00Z,12.5\n2025-11-05T22:20:00Z,12.4\n'),
    ];
    const lining: unknown = JSON.parse(readFileSync(join(sampleFolder, 'lining-example.json'), 'utf8'));
    const examples = { checkLining: lining, addBuildUps: { name: 'Board and foam', file: lining } };
    const shots = hostileShots(document, known, files, examples, seed);
    const range = { address: coomb.address, cookie, mostMs };
    const answers: Record<number, number> = {};
    const done = new Set<string>();
    const wrong: string[] = [];
    let requests = 0;
    let slowestMs = 0;
    const shoot = async (shot: Shot): Promise<void> => {
      requests++;
      let answer: Answer;
      try {
        answer = await fire(range, shot);
      } catch (error) {
        wrong.push(`${shot.operationId}: ${(error as Error).message}: ${told(shot)}`);
        return;
      }
      const hundred = Math.floor(answer.status / 100);
      answers[hundred] = (answers[hundred] ?? 0) + 1;
      slowestMs = Math.max(slowestMs, answer.ms);
      if (hundred === 2) {
        done.add(shot.operationId);
        ids.push(...idOf(answer));
        // the first ones, and those made last
        if (ids.length > 8) ids.splice(3, ids.length - 8);
      }
      const fault = wrongWith(shot, answer, secrets);
      if (fault !== null) wrong.push(`${shot.operationId}: ${fault}: ${told(shot)}`);
    };
    for (let round = 0; round < each; round++) {
      for (const operationId of shots.operationIds) {
        if (heavy.includes(operationId) && round % Math.ceil(each / eachHeavy) !== 0) continue;
        await shoot(shots.next(operationId));
      }
    }
    wrong.push(...(await stillWell(coomb.address, cookie)));
    return { operations: shots.operationIds.length, requests, answers, done, slowestMs, wrong };
  } finally {
    await coomb.close();
    for (const one of [folder, backupFolder]) rmSync(one, { recursive: true, force: true });
  }
}

/** The id of what was made, to be asked for later. */
function idOf({ type, status, body }: Answer): string[] {
  if (status !== 201 || !type.startsWith('application/json')) return [];
  const { id } = JSON.parse(body.toString('utf8')) as { id?: unknown };
  return typeof id === 'string' || typeof id === 'number' ? [String(id)] : [];
}

/** What of the program does not work any more after all that. */
async function stillWell(address: string, cookie: string): Promise<string[]> {
  const wrong: string[] = [];
  const ready = await fetch(`${address}/readyz`);
  if (ready.status !== 200) wrong.push(`afterwards /readyz answers ${ready.status}: ${await ready.text()}`);
  const health = (await (await fetch(`${address}/healthz`, { headers: { cookie } })).json()) as { reasons?: string[] };
  if (health.reasons?.length !== 0) wrong.push(`afterwards /healthz says ${JSON.stringify(health)}`);
  const sent = await fetch(`${address}/api/v1/dwellings/larch/readings/loft`, {
    method: 'POST',
    headers: { cookie },
    body: '{"temperature_c": 12.5}',
  });
  if (sent.status !== 200) wrong.push(`afterwards a reading is answered with ${sent.status}: ${await sent.text()}`);
  for (const path of ['', '/now', '/places', '/sensors', '/diary', '/notices']) {
    const looked = await fetch(`${address}/api/v1/dwellings/larch${path}`, { headers: { cookie } });
    if (looked.status !== 200)
      wrong.push(`afterwards the home’s ${path} answers ${looked.status}: ${await looked.text()}`);
  }
  return wrong;
}
