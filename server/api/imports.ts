import { randomUUID } from 'node:crypto';
import { createWriteStream, mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { clockOf } from '../ingest/csv.ts';
import type { CsvOptions } from '../ingest/csv-guess.ts';
import { type ImportPlan, planImport, runImport } from '../ingest/import.ts';
import { localClock } from '../ingest/local-time.ts';
import { CsvProblem } from '../ingest/logger-text.ts';
import { quantities } from '../physics/quantities.ts';
import { type AppendOutcome, type Dwelling, type Store, StoreError } from '../store/port.ts';
import { type ImportOptions, type ImportState, LARGEST_IMPORT } from './contract/imports.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { limited } from './upload.ts';
import { toInstant } from './views.ts';

export interface ImportParts {
  readonly store: Store;
  /** where files stay while they are looked at; emptied at the start */
  readonly uploadFolder: string;
  readonly clock: () => number;
  readonly hoursChanged: () => void;
}

interface Import {
  readonly id: string;
  readonly dwelling: Dwelling;
  readonly name: string;
  readonly path: string;
  bytes: number;
  begunAt: number;
  state: ImportState['state'];
  share: number;
  problem: ImportState['problem'];
  plan: ImportPlan | null;
  outcome: (AppendOutcome & { sensorKey: string }) | null;
  /** grows with every check: an older one that still runs is left behind */
  round: number;
}

type ImportHandlers = Pick<Handlers, 'beginImport' | 'getImport' | 'checkImport' | 'runImport' | 'removeImport'>;

const AHEAD_MS = 10 * 60_000;
const KEPT_MS = 60 * 60_000;
const MOST_AT_ONCE = 4;

class LeftBehind extends Error {}

/** Imports of loggers' files from the page: the file is kept aside, checked, shown, and read in when it is told to. */
export function createImportHandlers(
  { store, uploadFolder, clock, hoursChanged }: ImportParts,
  dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>,
  storyChanged: (dwelling: Dwelling) => void,
): ImportHandlers {
  const imports = new Map<string, Import>();
  rmSync(uploadFolder, { recursive: true, force: true });

  const drop = (one: Import): void => {
    one.round++;
    imports.delete(one.id);
    rmSync(one.path, { force: true });
  };
  const isBusy = (one: Import): boolean => one.state === 'reading';

  async function find(params: { dwelling: string; id: string }): Promise<Import> {
    const dwelling = await dwellingOf(params);
    const one = imports.get(params.id);
    if (one !== undefined && one.dwelling.id === dwelling.id) return one;
    throw new RequestProblem('not-found', 'That file is no longer here: send it again.');
  }

  function fail(one: Import, state: 'unusable' | 'failed', error: unknown): void {
    if (!(error instanceof CsvProblem || error instanceof StoreError || error instanceof RangeError)) throw error;
    one.state = state;
    one.problem = {
      code: error instanceof CsvProblem ? error.code : 'failed',
      message: error.message.replaceAll(one.path, one.name),
    };
  }

  /** Looks through the file in the background. */
  function check(one: Import, options: CsvOptions): void {
    const round = ++one.round;
    Object.assign(one, { state: 'checking', share: 0, problem: null, plan: null });
    const onBytes = (bytes: number): void => {
      if (one.round !== round) throw new LeftBehind();
      one.share = bytes / Math.max(1, one.bytes);
    };
    const rules = { fallbackZone: one.dwelling.zone, latest: clock() + AHEAD_MS };
    planImport(one.path, rules, options, { onBytes }).then(
      (plan) => {
        if (one.round !== round) return;
        one.plan = plan;
        one.state = 'checked';
      },
      (error: unknown) => {
        if (one.round === round) fail(one, 'unusable', error);
      },
    );
  }

  /** Reads a checked file in, in the background; other work gets its turn between two commits. */
  async function readIn(one: Import, plan: ImportPlan, sensorKey: string): Promise<void> {
    const target = { dwellingId: one.dwelling.id, sensorKey, receivedAt: clock() };
    const onBytes = (bytes: number): void => {
      one.share = bytes / Math.max(1, one.bytes);
    };
    try {
      one.outcome = { ...(await runImport(store, plan, target, { onBytes })), sensorKey };
      one.state = 'done';
      rmSync(one.path, { force: true });
    } catch (error) {
      fail(one, 'failed', error);
    } finally {
      hoursChanged();
      storyChanged(one.dwelling);
    }
  }

  return {
    async beginImport({ params, query, upload }) {
      const dwelling = await dwellingOf(params);
      for (const one of imports.values()) if (!isBusy(one) && clock() - one.begunAt > KEPT_MS) drop(one);
      if (imports.size >= MOST_AT_ONCE) {
        const oldest = [...imports.values()].find((one) => !isBusy(one));
        if (oldest === undefined) {
          throw new RequestProblem('too-large', 'Other files are being read in: wait until they are done.');
        }
        drop(oldest);
      }
      mkdirSync(uploadFolder, { recursive: true });
      const id = randomUUID();
      const path = join(uploadFolder, `${id}.csv`);
      const file = createWriteStream(path);
      try {
        await pipeline(limited(upload, LARGEST_IMPORT, 'A file'), file);
      } catch (error) {
        rmSync(path, { force: true });
        throw error;
      }
      const one: Import = {
        id,
        dwelling,
        name: query.name,
        path,
        bytes: file.bytesWritten,
        begunAt: clock(),
        state: 'checking',
        share: 0,
        problem: null,
        plan: null,
        outcome: null,
        round: 0,
      };
      imports.set(id, one);
      check(one, {});
      return importView(one);
    },

    async getImport({ params }) {
      return importView(await find(params));
    },

    async checkImport({ params, body }) {
      const one = await find(params);
      if (isBusy(one) || one.state === 'done') {
        throw new RequestProblem('bad-request', 'The file is being read in already.');
      }
      if (body.zone !== undefined) localClock(body.zone);
      check(one, csvOptions(body));
      return importView(one);
    },

    async runImport({ params, body }) {
      const one = await find(params);
      const { plan } = one;
      if (one.state !== 'checked' || plan === null) {
        throw new RequestProblem('bad-request', 'The file must be looked through first, and nothing be wrong with it.');
      }
      if (plan.readings === 0) throw new RequestProblem('bad-request', 'The file holds nothing that can be read in.');
      one.state = 'reading';
      one.share = 0;
      void readIn(one, plan, body.sensorKey);
      return importView(one);
    },

    async removeImport({ params }) {
      const one = await find(params);
      if (isBusy(one)) throw new RequestProblem('bad-request', 'The file is being read in: wait until it is done.');
      drop(one);
      return undefined;
    },
  };
}

function csvOptions({ temperatureUnit, zone, decimal, dateOrder, ...columns }: ImportOptions): CsvOptions {
  const named = Object.fromEntries(Object.entries(columns).filter(([, name]) => name !== undefined));
  return {
    ...(Object.keys(named).length > 0 ? { columns: named } : {}),
    ...(temperatureUnit === undefined ? {} : { temperatureUnit }),
    ...(zone === undefined ? {} : { zone }),
    ...(decimal === undefined ? {} : { decimal }),
    ...(dateOrder === undefined ? {} : { dateOrder }),
  };
}

const importView = (one: Import): ImportState => ({
  id: one.id,
  name: one.name,
  bytes: one.bytes,
  state: one.state,
  share: one.state === 'checking' || one.state === 'reading' ? Math.min(1, one.share) : null,
  problem: one.problem,
  plan: one.plan === null ? null : planView(one.plan),
  outcome: one.outcome,
});

function planView(plan: ImportPlan): NonNullable<ImportState['plan']> {
  const { guess } = plan;
  const clock = clockOf(guess, plan.rules);
  return {
    encoding: guess.encoding,
    delimiter: guess.delimiter,
    decimal: guess.decimal,
    dateOrder: guess.dateOrder,
    zone: {
      kind: guess.zone.kind === 'clock' ? guess.zone.from : guess.zone.kind === 'unknown' ? 'dwelling' : 'in-cells',
      name: clock?.name ?? null,
    },
    columns: [
      ...guess.timeColumns.map(({ name }) => name),
      ...guess.quantities.map(({ name }) => name),
      ...guess.ignored,
    ],
    timeColumns: guess.timeColumns.map(({ name }) => name),
    quantities: guess.quantities.map(({ quantity, name, unit }) => {
      const extent = plan.quantities.find((found) => found.quantity === quantity);
      return {
        quantity,
        column: name,
        fileUnit: unit,
        unit: quantities[quantity].unit,
        count: extent?.count ?? 0,
        min: extent?.min ?? null,
        max: extent?.max ?? null,
      };
    }),
    notes: [...guess.notes],
    rows: plan.rows,
    readings: plan.readings,
    gaps: plan.gaps,
    first: plan.first === null ? null : toInstant(plan.first),
    last: plan.last === null ? null : toInstant(plan.last),
    intervalSeconds: plan.intervalSeconds,
    rejected: plan.rejected,
    rejects: plan.rejects.map(({ line, reason }) => ({ line, reason })),
  };
}
