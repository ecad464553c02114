import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DateTime } from 'luxon';
import { afterAll, describe, expect, it } from 'vitest';
import { watchSettings, watchSettingsOf } from '../../server/analysis/watch/settings.ts';
import { readConfig } from '../../server/config.ts';
import { openStore } from '../../server/main.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { Dwelling, IncomingReading, Store } from '../../server/store/port.ts';
import { nightsAhead } from '../../server/watch/nights-ahead.ts';
import { anyone, replayHome } from '../../server/watch/replay.ts';
import { watchHome } from '../../server/watch/watcher.ts';
import { madeInput, START } from '../analysis/forecast/made-night.ts';
import { givenDwelling, HOUR } from '../store/contract/given.ts';

/** The rule that warns of the coming night, on forecasts made from a home's own readings. */
const ZONE = 'Europe/London';
const FROM = Date.parse('2026-01-21T12:00:00Z');
const TO = Date.parse('2026-01-25T10:00:00Z');
/** Under a slope so much colder than the made one, the nights from the 22nd on are wet after four dry ones, K. */
const COLDER = -1.5;
const everyEvening = { 'condensation-ahead': { afterDryHours: 0 } };
const LIKELY = watchSettings['condensation-ahead'].chancePct / 100;

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** A damp bedroom under a slope that is so many K warmer than a poor one, with readings from a time on. */
async function homeWith(warmer: number, first: number): Promise<{ store: Store; dwelling: Dwelling }> {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-night-'));
  folders.push(folder);
  const store = await openStore(readConfig({}, { dataFolder: folder }));
  const dwelling = await givenDwelling(store);
  expect(dwelling.zone).toBe(ZONE);
  const { surface, room, cold } = madeInput(TO);
  const parts = [
    ['slope', 'ceiling-surface', surface.temperature.map((value) => value + warmer), null],
    ['room', 'room-air', room.temperature, room.humidity],
    ['out', 'outdoor-air', cold.temperature, cold.humidity],
  ] as const;
  const readings: IncomingReading[] = [];
  for (const [key, kind, temperature, humidity] of parts) {
    const place = await store.addPlace({ dwellingId: dwelling.id, name: key, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(dwelling.id, key);
    await store.placeSensor(dwelling.id, sensor.id, place.id, 0);
    for (let time = first; time < TO; time += HOUR / 2) {
      const at = Math.floor((time - START) / HOUR);
      const one = { dwellingId: dwelling.id, sensorKey: key, time };
      readings.push({ ...one, quantity: 'temperature', value: temperature[at]! });
      if (humidity !== null) readings.push({ ...one, quantity: 'humidity', value: humidity[at]! });
    }
  }
  await store.append({ receivedAt: TO, readings, quarantined: [] });
  await keepHours(store);
  await store.addRecipient({ ...anyone(dwelling.id), address: 'sam@example.org', name: 'Sam' });
  return { store, dwelling };
}

const judgements = (store: Store) => ({
  findings: async () => [],
  nights: (home: Dwelling, time: number) => nightsAhead(store, home, time),
});

async function live({ store, dwelling }: { store: Store; dwelling: Dwelling }) {
  let now = FROM;
  const parts = { store, clock: () => now, ...judgements(store), latest: async () => [], troubles: () => [] };
  const memory = new Map();
  for (; now <= TO; now += HOUR / 4) await watchHome(parts, dwelling, memory);
  const notices = (await store.notices(dwelling.id, 0)).filter(({ rule }) => rule === 'condensation-ahead');
  const ids = new Set(notices.map(({ id }) => id));
  const messages = (await store.deliveries(dwelling.id, {}, 1000)).filter(({ noticeId }) => ids.has(noticeId!));
  return { notices, messages };
}

/** Chance that the forecast gave of a night, by the local hour of its evening. */
async function eveningsOf({ store, dwelling }: { store: Store; dwelling: Dwelling }) {
  const evenings = new Map<string, { time: number; chance: number }[]>();
  for (const date of ['2026-01-21', '2026-01-22', '2026-01-23', '2026-01-24']) {
    for (let hour = watchSettings['condensation-ahead'].fromHour; hour < 24; hour++) {
      const time = DateTime.fromISO(date, { zone: ZONE }).set({ hour }).toMillis();
      const [night] = await nightsAhead(store, dwelling, time);
      if (night !== undefined) evenings.set(date, [...(evenings.get(date) ?? []), { time, chance: night.chance }]);
    }
  }
  return evenings;
}

describe('a condensation night ahead', () => {
  it('is told once for each night the forecast calls likely, before it, and is over with its morning', async () => {
    const home = await homeWith(COLDER, START);
    await home.store.changeWatchOverrides(home.dwelling.id, everyEvening);
    const evenings = await eveningsOf(home);
    const likely = [...evenings].flatMap(([date, hours]) => {
      const first = hours.find(({ chance }) => chance >= LIKELY);
      return first === undefined ? [] : [{ date, knownAt: first.time }];
    });
    expect(likely.length).toBeGreaterThan(2);
    expect(likely.find(({ date }) => date === '2026-01-22')?.knownAt).toBe(Date.parse('2026-01-22T16:00:00Z'));
    const { notices, messages } = await live(home);
    expect(notices.map(({ detail: date, knownAt }) => ({ date, knownAt }))).toEqual(likely);
    for (const { detail, id, knownAt, endedAt, endReason, chance } of notices) {
      const night = DateTime.fromISO(detail, { zone: ZONE });
      expect(knownAt).toBeLessThan(night.set({ hour: 24 }).toMillis());
      expect(endedAt).toBe(night.plus({ days: 1 }).set({ hour: 8 }).toMillis());
      expect(endReason).toBe('over');
      expect(chance).toBeGreaterThanOrEqual(LIKELY);
      // one word of it, at the first look ten minutes past the hour; a night that passes needs no more
      expect(messages.filter(({ noticeId }) => noticeId === id)).toMatchObject([
        { event: 'begun', createdAt: knownAt + HOUR / 4 },
      ]);
    }
    // and the same by a replay
    const settings = watchSettingsOf(everyEvening);
    const options = { store: home.store, from: FROM, to: TO, settings, recipients: [], ...judgements(home.store) };
    const replayed = (await replayHome(home.dwelling, options)).notices;
    const found = (list: typeof notices) =>
      list
        .filter(({ rule }) => rule === 'condensation-ahead')
        .map(({ detail, begunAt, knownAt, endedAt, chance, data }) => ({
          detail,
          begunAt,
          knownAt,
          endedAt,
          chance,
          data,
        }));
    expect(found([...replayed])).toEqual(found(notices));
    await home.store.close();
  }, 240_000);

  it('that follows a wet night is not told anew, unless every evening is asked for', async () => {
    const home = await homeWith(COLDER, START);
    const { notices } = await live(home);
    const wetLately = async (before: number): Promise<boolean> => {
      const { margin } = await home.store.hourColumns(home.dwelling.id, 1, before - 48 * HOUR, before, ['margin']);
      return margin.some((value) => value <= 0);
    };
    const expected: string[] = [];
    for (const [date, hours] of await eveningsOf(home)) {
      for (const { time, chance } of hours) {
        if (chance < LIKELY || expected.includes(date) || (await wetLately(time))) continue;
        expected.push(date);
      }
    }
    expect(notices.map(({ detail }) => detail)).toEqual(expected);
    expect(expected).toContain('2026-01-22');
    expect(expected).not.toContain('2026-01-23');
    expect(expected).not.toContain('2026-01-24');
    await home.store.close();
  }, 240_000);

  it('is not told where the forecast calls it unlikely', async () => {
    const home = await homeWith(8, START);
    const chances = [...(await eveningsOf(home)).values()].flat().map(({ chance }) => chance);
    expect(chances.length).toBeGreaterThan(20);
    expect(Math.max(...chances)).toBeLessThan(0.1);
    expect((await live(home)).notices).toEqual([]);
    await home.store.close();
  }, 240_000);

  it('is not told where too few nights are known for a forecast, however wet they were', async () => {
    const home = await homeWith(COLDER, FROM - 5 * 24 * HOUR);
    expect((await eveningsOf(home)).size).toBe(0);
    expect((await live(home)).notices).toEqual([]);
    await home.store.close();
  }, 240_000);
});
