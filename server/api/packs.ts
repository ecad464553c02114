import { type ChildProcess, fork } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdirSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { fingerprintOf, installKey } from '../evidence/key.ts';
import type { ReportChoice } from '../evidence/report/members.ts';
import { type PackScope, readContents, withNeeded } from '../evidence/scope.ts';
import { endedWords } from '../processes/ended-words.ts';
import { dayText } from '../store/canonical.ts';
import type { StorePlace } from '../store/engine.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { type Actor, isLandlord } from './access/visit.ts';
import type { Pack, PackOrdered, PackPreview } from './contract/packs.ts';
import type { PackOrder, PackWord } from './pack-process.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

/** Makes evidence packs, each in a process of its own, one at a time, so that readings and pages do not wait. */
export interface PackMaker {
  readonly handlers: Pick<Handlers, 'previewPack' | 'makePack' | 'getPack' | 'removePack' | 'downloadPack'>;
  /** File of a pack that is ready, and the name to save it under. */
  ready(dwellingId: number, id: string): { readonly path: string; readonly file: string } | null;
  close(): Promise<void>;
}

export interface PackMakerParts {
  readonly store: Store;
  readonly place: StorePlace;
  readonly dataFolder: string;
  readonly version: string;
  readonly clock: () => number;
}

interface Job {
  readonly dwellingId: number;
  readonly path: string;
  view: Pack;
  child: ChildProcess | null;
}

/** A pack that is ready stays this long, ms. */
const KEPT_MS = 3_600_000;
const MOST_JOBS = 4;
/** What a reading and an hour take in a pack, compressed; measured on the sample home. */
const BYTES = { reading: 6, hour: 55, rest: 60_000 };

/**
 * Left to itself the process would take what a computer with much memory offers and a small one has not. Measured: two
 * winters of ten places (670,000 readings) need 60 MB of the heap; this gives them 130.
 */
const memoryFor = (readings: number): string[] => [
  '--max-semi-space-size=4',
  `--max-old-space-size=${96 + Math.ceil(readings / 20_000)}`,
];

const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './pack-process.ts' : './pack-process.js', import.meta.url));

/** No consent takes in what the household wrote or photographed. */
function withinConsent(actor: Actor, { words }: PackOrdered): void {
  if (!isLandlord(actor) || words === 'without-words') return;
  throw new RequestProblem(
    'not-shared',
    'Names, notes and photos stay with the household: ask for a pack without words.',
  );
}

export function createPackMaker({ store, place, dataFolder, version, clock }: PackMakerParts): PackMaker {
  const folder = join(dataFolder, 'packs');
  // what another run of the program left behind
  rmSync(folder, { recursive: true, force: true });
  const jobs = new Map<string, Job>();
  let last: Promise<unknown> = Promise.resolve();

  const dwellingOf = async (slug: string): Promise<Dwelling> => {
    const dwelling = await store.findDwelling(slug);
    if (dwelling === null) throw new RequestProblem('not-found', `There is no dwelling ${slug}.`);
    return dwelling;
  };

  async function jobOf({ dwelling, id }: { dwelling: string; id: string }): Promise<Job> {
    const { id: dwellingId } = await dwellingOf(dwelling);
    const job = jobs.get(id);
    if (job !== undefined && job.dwellingId === dwellingId) return job;
    throw new RequestProblem('not-found', 'There is no such pack: it was removed, or the program was started anew.');
  }

  function scopeOf(dwelling: Dwelling, { from, to, places, words }: PackOrdered): PackScope {
    const now = Math.floor(clock() / HOUR_MS) * HOUR_MS;
    const span = {
      from: Math.floor(Date.parse(from) / HOUR_MS) * HOUR_MS,
      to: Math.min(now, Math.ceil(Date.parse(to) / HOUR_MS) * HOUR_MS),
    };
    if (!(span.from < span.to)) {
      throw new RequestProblem('bad-request', 'The span must begin before now and end after it begins.', [
        { pointer: '/to', detail: 'must be later than from' },
      ]);
    }
    return { dwellingId: dwelling.id, ...span, placeIds: places, words };
  }

  async function preview(dwelling: Dwelling, wanted: PackOrdered): Promise<PackPreview> {
    const scope = scopeOf(dwelling, wanted);
    const contents = await readContents(store, scope);
    const hours = (scope.to - scope.from) / HOUR_MS;
    const names = await store.places(dwelling.id);
    const places: PackPreview['places'] = [];
    let records = 0;
    for (const { id } of withNeeded(names, scope.placeIds)) {
      const { temperature } = await store.hourColumns(dwelling.id, id, scope.from, scope.to, ['temperature']);
      const knownHours = temperature.reduce((sum, value) => sum + (Number.isNaN(value) ? 0 : 1), 0);
      records += knownHours;
      places.push({
        placeId: id,
        name: names.find((place) => place.id === id)!.name,
        chosen: scope.placeIds === null || scope.placeIds.includes(id),
        knownHours,
        hours,
      });
    }
    const readings = contents.series.reduce(
      (sum, { intervalSeconds, windows }) =>
        sum + windows.reduce((own, [from, to]) => own + (to - from) / (1000 * (intervalSeconds ?? 600)), 0),
      0,
    );
    const entries = new Set(contents.diary.map(({ id }) => id));
    const photos =
      scope.words === 'with-words'
        ? (await store.photos(dwelling.id)).filter(({ entryId }) => entryId !== null && entries.has(entryId))
        : [];
    let photoBytes = 0;
    for (const { id } of photos) photoBytes += (await store.photoImage(dwelling.id, id, 'full')).byteLength;
    const sealing = await store.sealing(dwelling.id);
    return {
      from: toInstant(scope.from),
      to: toInstant(scope.to),
      places,
      notes: contents.diary.length,
      photos: photos.length,
      calibrations: contents.calibrations.length,
      bytes: Math.round(BYTES.rest + BYTES.reading * readings + BYTES.hour * records + photoBytes),
      sealed:
        sealing === null || sealing.firstDay === null || sealing.lastDay === null
          ? null
          : {
              first: dayText(sealing.firstDay),
              last: dayText(sealing.lastDay),
              days: sealing.lastDay - sealing.firstDay + 1,
            },
      fingerprint: fingerprintOf(installKey(dataFolder)),
    };
  }

  function clear({ path }: Job): void {
    for (const one of [path, `${path}.part`, `${path}.work`]) rmSync(one, { recursive: true, force: true });
  }

  function remove(id: string): void {
    const job = jobs.get(id);
    if (job === undefined) return;
    jobs.delete(id);
    // what a process may still write goes once it has ended
    if (job.child === null) clear(job);
    else job.child.kill('SIGKILL');
  }

  async function make(id: string, job: Job, scope: PackScope, report: ReportChoice): Promise<void> {
    const readings = await store.countReadings(scope.dwellingId);
    await new Promise<void>((resolve) => {
      if (!jobs.has(id)) return resolve();
      const work = `${job.path}.work`;
      mkdirSync(work, { recursive: true });
      const child = fork(script, {
        execArgv: fromSource ? ['--import', 'tsx'] : memoryFor(readings),
        // the store it makes goes where it can be removed with the rest when the process is stopped
        env: { ...process.env, TMPDIR: work },
      });
      job.child = child;
      const fail = (problem: string): void => {
        job.view = { ...job.view, state: 'failed', step: null, problem };
      };
      child.on('message', (word: PackWord) => {
        // said before it was stopped, and heard after: its files are on their way out
        if (!jobs.has(id)) return;
        if (word.kind === 'progress') job.view = { ...job.view, ...word.progress };
        else if (word.kind === 'failed') fail(word.message);
        else job.view = { ...job.view, state: 'ready', step: null, share: 1, bytes: statSync(job.path).size };
      });
      const finish = (): void => {
        job.child = null;
        if (jobs.has(id)) {
          rmSync(work, { recursive: true, force: true });
          setTimeout(() => remove(id), KEPT_MS).unref();
        } else clear(job);
        resolve();
      };
      child.once('error', (error) => {
        fail(error.message);
        // one that was never started does not end either
        if (child.pid === undefined) finish();
      });
      child.once('exit', (code, signal) => {
        if (job.view.state === 'making')
          fail(`It was broken off: ${endedWords(code, signal)}. Try again, or choose a shorter span.`);
        finish();
      });
      child.send({
        place,
        dataFolder,
        version,
        now: clock(),
        scope,
        report,
        file: job.path,
      } satisfies PackOrder);
    });
  }

  return {
    handlers: {
      async previewPack({ params, body, visit }) {
        withinConsent(visit.actor, body);
        return preview(await dwellingOf(params.dwelling), body);
      },

      async makePack({ params, body, visit }) {
        withinConsent(visit.actor, body);
        const dwelling = await dwellingOf(params.dwelling);
        const scope = scopeOf(dwelling, body);
        await readContents(store, scope);
        if (jobs.size >= MOST_JOBS) {
          const done = [...jobs].find(([, job]) => job.view.state !== 'making');
          if (done === undefined)
            throw new RequestProblem('already-there', 'Packs are being made already: wait for one.');
          remove(done[0]);
        }
        mkdirSync(folder, { recursive: true });
        const id = randomUUID();
        const slug = scope.words === 'with-words' ? dwelling.slug : 'home';
        const file = `coomb-evidence-${slug}-${toInstant(scope.from).slice(0, 10)}-to-${toInstant(scope.to - 1).slice(0, 10)}.zip`;
        const view: Pack = { id, state: 'making', step: 'waiting', share: 0, bytes: null, file, problem: null };
        const job: Job = { dwellingId: dwelling.id, path: join(folder, `${id}.zip`), view, child: null };
        jobs.set(id, job);
        last = last.then(() => make(id, job, scope, { kind: body.report, paper: body.paper }));
        return job.view;
      },

      async getPack({ params }) {
        return (await jobOf(params)).view;
      },

      async removePack({ params }) {
        const job = await jobOf(params);
        remove(job.view.id);
        return undefined;
      },

      async downloadPack({ params }) {
        const { view, path } = await jobOf(params);
        if (view.state !== 'ready') throw new RequestProblem('not-found', 'The pack is not ready yet.');
        return { type: 'application/zip', path, name: view.file };
      },
    },

    ready(dwellingId, id) {
      const job = jobs.get(id);
      if (job === undefined || job.dwellingId !== dwellingId || job.view.state !== 'ready') return null;
      return { path: job.path, file: job.view.file };
    },

    async close() {
      for (const id of [...jobs.keys()]) remove(id);
      await last;
    },
  };
}
