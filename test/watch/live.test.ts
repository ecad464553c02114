import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { watchSettings } from '../../server/analysis/watch/settings.ts';
import { type Operation, type OperationName, operations } from '../../server/api/contract/operations.ts';
import { readLatest } from '../../server/api/now.ts';
import { findingsAt } from '../../server/api/sensor-health.ts';
import { readConfig } from '../../server/config.ts';
import { type Coomb, openStore, startCoomb } from '../../server/main.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { Dwelling, Store, WatchNotice } from '../../server/store/port.ts';
import { nightsAhead } from '../../server/watch/nights-ahead.ts';
import { replayHome } from '../../server/watch/replay.ts';
import { watchHome } from '../../server/watch/watcher.ts';
import { BEGIN, givenHome, HOUR, homeReadings, minutes, spellOf } from './given-home.ts';

const project = fileURLToPath(new URL('../..', import.meta.url));
const child = fileURLToPath(new URL('./watch-child.ts', import.meta.url));
const silent = pino({ level: 'silent' });
const END = BEGIN + 12 * 24 * HOUR;

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});
const newFolder = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-watch-'));
  folders.push(folder);
  return folder;
};
const configOf = (dataFolder: string) => readConfig({}, { dataFolder, httpPort: 0, mqttPort: 0 });

const judgements = (store: Store) => ({
  findings: (home: Dwelling, time: number) => findingsAt(store, home, time),
  nights: (home: Dwelling, time: number) => nightsAhead(store, home, time),
  latest: async () => [],
  troubles: () => [],
});

/** Latest readings beside the hours, by the function that the page shows them by. */
const withLatest = (store: Store) => ({
  ...judgements(store),
  latest: async (home: Dwelling, time: number) => (await readLatest(store, home, time)).places,
});

/** What two ways of watching must agree on: everything but when it was written down. */
const plain = (notices: readonly WatchNotice[]) =>
  notices.map(({ recordedAt: _, told: __, acknowledgedAt: ___, snoozedUntil: ____, ...rest }) => rest);

async function allOf(store: Store, dwelling: Dwelling) {
  return { notices: await store.notices(dwelling.id, 0), messages: await store.deliveries(dwelling.id, {}, 1000) };
}

/** Lets a home live from one time to another: readings come as they are measured, and the watcher looks every quarter. */
async function live(store: Store, dwelling: Dwelling, from: number, to: number): Promise<void> {
  let now = from;
  const parts = { store, clock: () => now, ...judgements(store) };
  const memory = new Map();
  for (; now <= to; now += HOUR / 4) {
    await store.append({ receivedAt: now, readings: homeReadings(dwelling.id, now - HOUR / 4, now), quarantined: [] });
    await keepHours(store);
    await watchHome(parts, dwelling, memory);
  }
}

describe('watching as it happens', () => {
  let store: Store;
  let dwelling: Dwelling;
  let data: string;
  beforeAll(async () => {
    data = newFolder();
    store = await openStore(configOf(data));
    dwelling = await givenHome(store);
    await live(store, dwelling, BEGIN, END);
  }, 240_000);
  afterAll(() => store.close());

  it('finds the wet spell, the stop of the readings and the sensor that fell silent, each once', async () => {
    const { notices, messages } = await allOf(store, dwelling);
    const rules = notices.map(({ rule, sensorId }) => `${rule}${sensorId === null ? '' : ` ${sensorId}`}`).sort();
    expect(rules.filter((rule) => rule === 'condensing-now')).toHaveLength(1);
    expect(rules.filter((rule) => rule === 'readings-stopped')).toHaveLength(1);
    expect(rules.filter((rule) => rule.startsWith('sensor-trouble'))).toHaveLength(1);
    const wet = notices.find(({ rule }) => rule === 'condensing-now')!;
    expect(wet.begunAt).toBe(spellOf.from);
    // more than 1 K under the dew point: known after an hour, and told at the first look ten minutes past it
    expect(wet.knownAt).toBe(spellOf.from + HOUR);
    const begun = messages.filter(({ event, noticeId }) => event === 'begun' && noticeId === wet.id);
    expect(begun).toHaveLength(1);
    expect(begun[0]!.createdAt).toBe(wet.knownAt + minutes(15));
  });

  it('changes nothing when it looks again, also with nothing in memory', async () => {
    const before = await allOf(store, dwelling);
    const parts = { store, clock: () => END, ...judgements(store) };
    expect(await watchHome(parts, dwelling, new Map())).toBe(false);
    // and when it is made to judge all hours anew
    const progress = await store.watchProgress(dwelling.id);
    const again = { notices: [], evaluatedTo: BEGIN, seenMark: progress.mark, summaries: progress.summaries };
    await store.recordNotices(dwelling.id, again, []);
    await watchHome(parts, dwelling, new Map());
    expect(await allOf(store, dwelling)).toEqual(before);
  });

  it('gives the same as a replay from nothing by the command, in notices and in messages', async () => {
    const before = await allOf(store, dwelling);
    const printed = await run(['replay', '--data', data, '--from', iso(BEGIN), '--to', iso(END), '--json']);
    const replayed = JSON.parse(printed) as {
      notices: { id: number; code: string; begunAt: string; knownAt: string; endedAt: string | null; data: object }[];
      messages: { id: string; event: string; at: string; subject: string; text: string }[];
    };
    expect(replayed.notices.map(({ code, ...rest }) => ({ rule: code, ...rest }))).toEqual(
      plain(before.notices).map(({ dwellingId: _, withdrawnAt: __, endKnownAt: ___, ...rest }) => ({
        ...rest,
        begunAt: iso(rest.begunAt),
        knownAt: iso(rest.knownAt),
        endedAt: rest.endedAt === null ? null : iso(rest.endedAt),
      })),
    );
    const sorted = (list: { id: string }[]) => [...list].sort((a, b) => (a.id < b.id ? -1 : 1));
    expect(sorted(replayed.messages).length).toBeGreaterThan(2);
    expect(sorted(replayed.messages)).toMatchObject(
      sorted(before.messages).map((message) => {
        const { id, event, createdAt, body } = message as (typeof before.messages)[0];
        return { id, event, at: iso(createdAt), subject: body.subject, text: body.text };
      }),
    );
    expect(await allOf(store, dwelling)).toEqual(before);
  }, 120_000);
});

describe('a live reading under the dew point', () => {
  const start = spellOf.from - 3 * 24 * HOUR;
  let store: Store;
  let dwelling: Dwelling;
  let now = start;
  const parts = () => ({ store, clock: () => now, ...withLatest(store) });
  /** of the condensing surface alone; the sensors that are not there yet are another rule's */
  const wetOf = async () =>
    (await store.notices(dwelling.id, 0)).filter(
      ({ rule, withdrawnAt }) => rule === 'condensing-now' && withdrawnAt === null,
    );
  const wordsOf = async () =>
    (await store.deliveries(dwelling.id, {}, 1000)).filter(({ body }) => body.subject.includes('settling'));

  /** Lives on to a time; the slope is so many K colder than the home says, where told. */
  async function liveTo(to: number, colder: (time: number) => number = () => 0): Promise<void> {
    const memory = new Map();
    for (; now < to; now += 5 * minutes(1)) {
      const readings = homeReadings(dwelling.id, now - minutes(5), now).map((one) =>
        one.sensorKey === 'slope' ? { ...one, value: one.value - colder(one.time) } : one,
      );
      await store.append({ receivedAt: now, readings, quarantined: [] });
      await keepHours(store);
      await watchHome(parts(), dwelling, memory);
    }
  }

  beforeEach(async () => {
    store = await openStore(configOf(newFolder()));
    dwelling = await givenHome(store);
    now = spellOf.from - HOUR;
    const before = homeReadings(dwelling.id, start, now - minutes(5));
    await store.append({ receivedAt: now, readings: before, quarantined: [] });
    await keepHours(store);
  });
  afterEach(() => store.close());

  it('begins a notice at once, which the hour then confirms: one notice, one word', async () => {
    await liveTo(spellOf.from + minutes(11));
    const [begun, ...more] = await wetOf();
    expect(more).toEqual([]);
    expect(begun).toMatchObject({ begunAt: spellOf.from, data: { live: true } });
    expect(begun!.recordedAt).toBeLessThanOrEqual(spellOf.from + minutes(10));
    const [word, ...others] = await wordsOf();
    expect(others).toEqual([]);
    expect(word!.body.text).toContain('When the hour is over, its mean confirms this or takes it back.');

    await liveTo(spellOf.from + 3 * HOUR);
    expect(await wetOf()).toMatchObject([{ id: begun!.id, begunAt: spellOf.from, knownAt: spellOf.from + HOUR }]);
    expect((await wetOf())[0]!.data.live).toBeUndefined();
    expect(await wordsOf()).toHaveLength(1);
  }, 120_000);

  it('is kept while its hour is not over, also by a watcher that was restarted, and judged by it later', async () => {
    await liveTo(spellOf.from + minutes(11));
    const [begun] = await wetOf();
    // the record of the hour before is judged in between
    now = spellOf.from + minutes(40);
    expect(await watchHome(parts(), dwelling, new Map())).toBe(false);
    expect(await wetOf()).toEqual([begun]);
  }, 120_000);

  it('that the hour does not bear out is withdrawn, and taken back once', async () => {
    // a quarter of an hour of cold, in an hour that is well above the dew point on the whole
    const at = spellOf.from - minutes(30);
    const cold = (time: number) => (time >= at && time < at + minutes(15) ? 8 : 0);
    await liveTo(at + minutes(6), cold);
    const [begun] = await wetOf();
    expect(begun).toMatchObject({ data: { live: true }, withdrawnAt: null });
    // before the spell of the given home is known by its own hour
    await liveTo(spellOf.from, cold);
    now = spellOf.from + minutes(11);
    await watchHome({ ...parts(), latest: async () => [] }, dwelling, new Map());
    expect(await wetOf()).toEqual([]);
    expect((await store.notice(dwelling.id, begun!.id)).withdrawnAt).toBe(now);
    now = spellOf.from + 8 * HOUR;
    await watchHome({ ...parts(), latest: async () => [] }, dwelling, new Map());
    expect((await wordsOf()).map(({ event }) => event).sort()).toEqual(['begun', 'ended']);
  }, 120_000);

  it('ends up with what a replay over the hours finds', async () => {
    const at = spellOf.from - minutes(30);
    await liveTo(spellOf.to + 2 * HOUR, (time) => (time >= at && time < at + minutes(15) ? 8 : 0));
    const options = { store, from: spellOf.from - 2 * HOUR, to: now - minutes(5), settings: watchSettings };
    const { notices } = await replayHome(dwelling, { ...options, recipients: [], ...judgements(store) });
    const found = (list: readonly WatchNotice[]) =>
      plain(list)
        .filter(({ rule, withdrawnAt }) => rule === 'condensing-now' && withdrawnAt === null)
        .map(({ id: _, ...rest }) => rest);
    expect(found(notices)).toHaveLength(1);
    expect(found(await store.notices(dwelling.id, 0))).toEqual(found(notices));
  }, 240_000);
});

describe('late readings', () => {
  it('open and close a past notice without sending word of it', async () => {
    const store = await openStore(configOf(newFolder()));
    const dwelling = await givenHome(store);
    const now = END;
    const parts = { store, clock: () => now, ...judgements(store) };
    // nothing of the slope around the wet spell has come yet
    const isLate = ({ sensorKey, time }: { sensorKey: string; time: number }) =>
      sensorKey === 'slope' && time >= spellOf.from - 12 * HOUR && time < spellOf.to + 60 * HOUR;
    const all = homeReadings(dwelling.id, BEGIN, now);
    await store.append({ receivedAt: now, readings: all.filter((one) => !isLate(one)), quarantined: [] });
    await keepHours(store);
    await watchHome(parts, dwelling, new Map());
    const wetOf = async () => (await store.notices(dwelling.id, 0)).filter(({ rule }) => rule === 'condensing-now');
    expect(await wetOf()).toEqual([]);

    // the first half comes: an event that has not ended as far as is known
    const late = all.filter(isLate);
    const half = (spellOf.from + spellOf.to) / 2;
    await store.append({ receivedAt: now, readings: late.filter(({ time }) => time < half), quarantined: [] });
    await keepHours(store);
    await watchHome(parts, dwelling, new Map());
    expect(await wetOf()).toMatchObject([{ begunAt: spellOf.from, told: {} }]);

    // the rest closes it in its own time
    await store.append({ receivedAt: now, readings: late.filter(({ time }) => time >= half), quarantined: [] });
    await keepHours(store);
    await watchHome(parts, dwelling, new Map());
    expect(await wetOf()).toMatchObject([{ begunAt: spellOf.from, endedAt: spellOf.to, endReason: 'over', told: {} }]);
    expect(
      (await store.deliveries(dwelling.id, {}, 100)).filter(({ event }) => event !== 'weekly-summary'),
    ).not.toContainEqual(expect.objectContaining({ noticeId: (await wetOf())[0]!.id }));
    await store.close();
  }, 120_000);

  it('withdraw a notice of what never was, and take word of it back', async () => {
    const store = await openStore(configOf(newFolder()));
    const dwelling = await givenHome(store);
    let now = spellOf.from + 3 * HOUR;
    const parts = { store, clock: () => now, ...judgements(store) };
    await store.append({ receivedAt: now, readings: homeReadings(dwelling.id, BEGIN, now), quarantined: [] });
    await keepHours(store);
    await watchHome(parts, dwelling, new Map());
    const [told] = (await store.openNotices(dwelling.id)).filter(({ rule }) => rule === 'condensing-now');
    expect(Object.keys(told!.told)).toHaveLength(1);
    // a calibration says that the probe on the slope reads 4 K cold
    const series = (await store.series(dwelling.id)).filter(({ quantity }) => quantity === 'temperature');
    const slope = (await store.sensors(dwelling.id)).find(({ key }) => key === 'slope')!;
    await store.addCalibrations(dwelling.id, [
      {
        seriesId: series.find(({ sensorId }) => sensorId === slope.id)!.id,
        from: 0,
        method: 'ice-point',
        points: [{ reading: -4, reference: 0 }],
        uncertainty: 0.2,
        sharedSource: null,
        sharedUncertainty: 0,
        madeAt: now,
        note: '',
      },
    ]);
    await keepHours(store);
    const withdrawnAt = now + minutes(15);
    now = withdrawnAt;
    await watchHome(parts, dwelling, new Map());
    // word that it was nothing can wait until the morning
    now = BEGIN + 5 * 24 * HOUR + 7 * HOUR;
    await watchHome(parts, dwelling, new Map());
    expect(await store.openNotices(dwelling.id)).toEqual([]);
    expect(await store.notice(dwelling.id, told!.id)).toMatchObject({ withdrawnAt });
    const words = (await store.deliveries(dwelling.id, {}, 100)).map(({ event, body }) => `${event} ${body.subject}`);
    expect(words).toContain('ended mill-cottage: Taken back: slope: moisture is settling');
    await store.close();
  }, 120_000);
});

describe('a process killed while it watches', () => {
  it('leaves notices and messages that go together, and goes on to what it would have come to undisturbed', async () => {
    const calm = newFolder();
    const killed = newFolder();
    for (const folder of [calm, killed]) {
      const store = await openStore(configOf(folder));
      const dwelling = await givenHome(store);
      await store.append({ receivedAt: END, readings: homeReadings(dwelling.id, BEGIN, END), quarantined: [] });
      await keepHours(store);
      await store.close();
    }
    await finish(spawnWatch(calm, 'run'));
    // killed between judging and writing, just after writing, and in the middle of it all
    for (const way of ['before-record', 'before-record', 'after-record', 'after-record', 'after-record']) {
      expect(await finish(spawnWatch(killed, way))).toBe('SIGKILL');
      const store = await openStore(configOf(killed));
      const dwelling = (await store.dwellings())[0]!;
      const { notices, messages } = await allOf(store, dwelling);
      const told = notices.flatMap((notice) => Object.values(notice.told).map(() => notice.id));
      expect(new Set(messages.flatMap(({ noticeId }) => (noticeId === null ? [] : [noticeId])))).toEqual(new Set(told));
      await store.close();
    }
    await finish(spawnWatch(killed, 'run'));
    const [a, b] = await Promise.all([calm, killed].map((folder) => openStore(configOf(folder))));
    const one = await allOf(a!, (await a!.dwellings())[0]!);
    const two = await allOf(b!, (await b!.dwellings())[0]!);
    expect(one.notices.length).toBeGreaterThan(2);
    expect(plain(two.notices)).toEqual(plain(one.notices));
    expect(two.messages.map(({ id }) => id)).toEqual(one.messages.map(({ id }) => id));
    await a!.close();
    await b!.close();
  }, 180_000);
});

describe('the API', () => {
  let coomb: Coomb;
  let dwelling: Dwelling;
  const now = spellOf.from + 5 * HOUR;
  beforeAll(async () => {
    coomb = await startCoomb(configOf(newFolder()), silent, () => now);
    dwelling = await givenHome(coomb.store);
    await coomb.store.append({ receivedAt: now, readings: homeReadings(dwelling.id, BEGIN, now), quarantined: [] });
    await coomb.settled();
    await coomb.watched();
  }, 60_000);
  afterAll(() => coomb.close());

  // biome-ignore lint/suspicious/noExplicitAny: the body of any answer, looked into by the test
  async function ask(name: OperationName, path: string, body?: unknown): Promise<{ status: number; answer: any }> {
    const operation: Operation = operations[name];
    const response = await fetch(`${coomb.address}/api/v1/dwellings/${dwelling.slug}${path}`, {
      method: operation.method.toUpperCase(),
      ...(body === undefined ? {} : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }),
    });
    const answer = await response.json();
    return { status: response.status, answer: response.ok ? operation.response!.parse(answer) : answer };
  }

  it('lists what goes on with what to do, and says so when it changes', async () => {
    const { answer } = await ask('listNotices', '/notices');
    const wet = answer.current.find(({ code }: { code: string }) => code === 'condensing-now');
    expect(wet).toMatchObject({ title: 'slope: moisture is settling', severity: 'warning', told: 1, endedAt: null });
    expect(wet.whatToDo[0]).toBe(
      'Wipe slope dry and wring the cloth out over a drain, so that the water does not go back into the air.',
    );
    expect(wet.howSure).toMatch(/^Almost certain/);
    const stream = await fetch(`${coomb.address}/api/v1/dwellings/${dwelling.slug}/live`);
    const heard = (async () => {
      for await (const chunk of stream.body!)
        if (Buffer.from(chunk).toString().includes('event: notice')) return 'heard';
      return 'ended';
    })();
    const seen = await ask('acknowledgeNotice', `/notices/${wet.id}/acknowledgement`);
    expect(seen.answer.acknowledgedAt).toBe(new Date(now).toISOString());
    expect(await heard).toBe('heard');
    const until = new Date(now + 24 * HOUR).toISOString();
    expect((await ask('snoozeNotice', `/notices/${wet.id}/snooze`, { until })).answer.snoozedUntil).toBe(until);
    expect((await ask('snoozeNotice', `/notices/${wet.id}/snooze`, { until: null })).answer.snoozedUntil).toBeNull();
    expect(
      (await ask('snoozeNotice', `/notices/${wet.id}/snooze`, { until: new Date(now).toISOString() })).status,
    ).toBe(400);
    expect((await ask('acknowledgeNotice', '/notices/999/acknowledgement')).status).toBe(404);
  });

  it('gives and changes the settings of the rules, and says what is wrong with others', async () => {
    const { answer } = await ask('getWatchRules', '/watch-rules');
    const timber = answer.rules.find(({ code }: { code: string }) => code === 'timber-wet');
    expect(timber.settings.find(({ name }: { name: string }) => name === 'limitPct')).toMatchObject({
      value: 20,
      usual: 20,
    });
    const changed = await ask('changeWatchRules', '/watch-rules', { 'timber-wet': { limitPct: 18 } });
    const value = (rules: { code: string; on: boolean; settings: { name: string; value: number }[] }[]) =>
      rules.find(({ code }) => code === 'timber-wet')!.settings.find(({ name }) => name === 'limitPct')!.value;
    expect(value(changed.answer.rules)).toBe(18);
    const off = await ask('changeWatchRules', '/watch-rules', { 'timber-wet': { on: false } });
    expect(value(off.answer.rules)).toBe(18);
    const wrong = await ask('changeWatchRules', '/watch-rules', { 'timber-wet': { limitPct: 4 } });
    expect(wrong).toMatchObject({ status: 400 });
    expect(wrong.answer.detail).toBe('limitPct of timber-wet is 4 %; it must lie between 12 and 40 %');
    expect((await ask('changeWatchRules', '/watch-rules', { 'timber-wet': { colour: 4 } })).status).toBe(400);
  });

  it('counts what other settings would have given, and keeps nothing of it', async () => {
    const before = await coomb.store.notices(dwelling.id, 0);
    const { answer } = await ask('previewWatchRules', '/watch-rules/preview', { 'condensing-now': { on: false } });
    const wet = answer.rules.find(({ code }: { code: string }) => code === 'condensing-now');
    expect(wet).toEqual({ code: 'condensing-now', now: 1, changed: 0 });
    expect(await coomb.store.notices(dwelling.id, 0)).toEqual(before);
    expect(watchSettings['condensing-now'].on).toBe(true);
  });
});

const iso = (time: number): string => new Date(time).toISOString();

async function run(args: string[]): Promise<string> {
  const process_ = spawn(process.execPath, ['--import', 'tsx', 'server/cli.ts', ...args], {
    cwd: project,
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let out = '';
  process_.stdout.on('data', (chunk: Buffer) => {
    out += chunk.toString();
  });
  expect(await finish(process_)).toBe(0);
  return out;
}

const spawnWatch = (folder: string, way: string): ChildProcess =>
  spawn(process.execPath, ['--import', 'tsx', child, folder, String(END), way], {
    stdio: ['ignore', 'ignore', 'inherit'],
  });

const finish = (running: ChildProcess): Promise<number | string | null> =>
  new Promise((resolve) => running.once('exit', (code, signal) => resolve(signal ?? code)));
