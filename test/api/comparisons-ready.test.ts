import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { HOUR_MS } from '../../server/analysis/vocabulary.ts';
import { type Assessor, createAssessor } from '../../server/api/assessor.ts';
import { type Comparer, createComparer } from '../../server/api/comparison.ts';
import { keepComparisonsReady } from '../../server/api/comparisons-ready.ts';
import { createRevisions } from '../../server/api/revisions.ts';
import type { Dwelling, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import type { Rounds } from '../../server/watch/rounds.ts';
import { dwellingCalled, fullRecord } from '../store/contract/given.ts';

const START = Date.UTC(2026, 0, 5);
const HOURS = 96;

let folder: string;
let store: Store;
let assessor: Assessor;
let assessed: number;
let now: number;
let comparer: Comparer;
let ready: Rounds;
const revisions = createRevisions(() => now);

async function addHome(slug: string): Promise<Dwelling & { surface: number }> {
  const dwelling = await store.addDwelling(dwellingCalled(slug));
  const dwellingId = dwelling.id;
  const surface = await store.addPlace({ dwellingId, name: 'slope', kind: 'ceiling-surface', facesPlaceId: null });
  const room = await store.addPlace({ dwellingId, name: 'room', kind: 'room-air', facesPlaceId: null });
  await store.addPhase({ dwellingId, kind: 'before', name: 'before', from: START, to: START + 48 * HOUR_MS });
  await store.addPhase({ dwellingId, kind: 'after', name: 'after', from: START + 48 * HOUR_MS, to: null });
  const hours = Array.from({ length: HOURS }, (_, k) => START + k * HOUR_MS);
  await store.replaceHours(
    dwellingId,
    hours.map((hour) => ({ dwellingId, hour, mark: 0 })),
    hours.flatMap((hour) => [fullRecord(surface.id, hour), fullRecord(room.id, hour)]),
  );
  return { ...dwelling, surface: surface.id };
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'coomb-ready-'));
  store = await openSqliteStore(join(folder, 'coomb.db'));
  assessor = createAssessor();
  assessed = 0;
  now = START + HOURS * HOUR_MS + 60_000;
  const counting: Pick<Assessor, 'assess' | 'makeReady'> = {
    makeReady: assessor.makeReady,
    assess: (input) => {
      assessed++;
      return assessor.assess(input);
    },
  };
  comparer = createComparer({ store, assessor: counting, revisions, clock: () => now });
  ready = keepComparisonsReady(store, comparer, () => now, 3_600_000);
});

afterEach(async () => {
  await ready.close();
  await assessor.close();
  await store.close();
  rmSync(folder, { recursive: true, force: true });
});

it('a page that asks for the comparison it shows first is answered by what was worked out before it asked', async () => {
  const home = await addHome('few');
  await ready.look();
  expect(assessed).toBe(1);
  const comparison = await comparer.compare(home, { surface: home.surface });
  // as the page asks, which names the phases it means
  const { before, after } = comparison;
  expect(await comparer.compare(home, { surface: home.surface, before: before!.id, after: after!.id })).toBe(
    comparison,
  );
  expect(assessed).toBe(1);
  await ready.look();
  expect(assessed).toBe(1);
});

it('works it out anew once an hour is over, when hours were rebuilt and when the story changed', async () => {
  const home = await addHome('few');
  await ready.look();
  for (const change of [
    () => {
      now += HOUR_MS;
    },
    () => revisions.hoursRebuilt(home.id, START),
    () => revisions.storyChanged(home.id),
  ]) {
    change();
    const before = assessed;
    await ready.look();
    expect(assessed).toBe(before + 1);
    await comparer.compare(home, { surface: home.surface });
    expect(assessed).toBe(before + 1);
  }
});

it('among more homes than a few looks at none that nobody asks for, and after a week at none that nobody asked for since', async () => {
  const homes = [];
  for (let k = 0; k < 5; k++) homes.push(await addHome(`home-${k}`));
  await ready.look();
  expect(assessed).toBe(0);
  await comparer.compare(homes[2]!, { surface: homes[2]!.surface });
  expect(assessed).toBe(1);
  now += HOUR_MS;
  await ready.look();
  expect(assessed).toBe(2);
  now += 8 * 24 * HOUR_MS;
  await ready.look();
  expect(assessed).toBe(2);
});
