import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PlaceKind } from '../../server/analysis/vocabulary.ts';
import { buildPack } from '../../server/evidence/build.ts';
import { verifyPack } from '../../server/evidence/verify.ts';
import { ceilingCase } from '../../server/simulate/ceiling-case.ts';
import { dayOf } from '../../server/store/canonical.ts';
import { keepHours } from '../../server/store/hour-keeper.ts';
import type { Dwelling, IncomingReading, Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { edited, type Members, readMembers, signedAnew } from './bag.ts';
import { checkPy, python, unpackTo } from './python.ts';

// TRH-database (A. Laukkarinen et al.) and Finnish Meteorological Institute open data, CC BY 4.0: hourly, UTC+2 all year
const openData = join(fileURLToPath(new URL('../..', import.meta.url)), '..', 'shared', 'open-data');
const here = existsSync(openData);
if (!here) console.warn('LEFT OUT: packs of measured houses, for there is no ../shared/open-data beside the project');

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const DAYS = 42;
const LINED_AFTER = 21;

interface Air {
  readonly temperature: Float64Array;
  readonly humidity: Float64Array;
}

/** The first two columns of a file over a span, NaN where it has no value. */
function airOf(house: string, file: string, from: number): Air {
  const temperature = new Float64Array(DAYS * 24).fill(Number.NaN);
  const humidity = temperature.slice();
  for (const line of readFileSync(join(openData, house, `${file}.csv`), 'utf8')
    .trim()
    .split(/\r?\n/)
    .slice(1)) {
    const [stamp, t, rh] = line.split(',');
    const hour = (Date.parse(`${stamp!.replace(' ', 'T')}+02:00`) - from) / HOUR;
    if (!(hour >= 0 && hour < temperature.length)) continue;
    temperature[hour] = Number(t || 'NaN');
    humidity[hour] = Number(rh || 'NaN');
  }
  return { temperature, humidity };
}

/** Six winter weeks of a measured house as they came, each day sealed; its ceiling is modelled, and lined halfway. */
async function givenMeasuredHouse(store: Store, house: string, eaves: string, from: number): Promise<Dwelling> {
  const section = {
    pitchDeg: 30,
    slopeLengthMm: 1000,
    roomHeightMm: 2500,
    liningThicknessMm: 40,
    loftInsulationMm: 250,
    eavesGapMm: 50,
  };
  const home = await store.addDwelling({ slug: house, name: house, zone: 'Europe/Helsinki', section });
  const dwellingId = home.id;
  const lined = from + LINED_AFTER * DAY;
  const room = airOf(house, 'indoor1', from);
  const outdoors = airOf(house, 'fmi', from);
  const { surface } = ceilingCase({
    start: from,
    roomTemperature: room.temperature,
    roomHumidity: room.humidity,
    outdoorTemperature: outdoors.temperature,
    outdoorHumidity: outdoors.humidity,
    mass: 'light',
    factorBefore: 0.35,
    factorAfter: 0.85,
    worksAt: lined,
  });
  const unknown = surface.map(() => Number.NaN);
  const logged: readonly (readonly [string, PlaceKind, Air])[] = [
    ['room', 'room-air', room],
    ['ceiling', 'ceiling-surface', { temperature: surface, humidity: unknown }],
    ['outdoors', 'outdoor-air', outdoors],
    ['loft', 'loft-air', airOf(house, 'roofmiddle_airmiddle', from)],
    ['eaves', 'loft-timber', airOf(house, eaves, from)],
  ];
  for (const [key, kind] of logged) {
    const place = await store.addPlace({ dwellingId, name: key, kind, facesPlaceId: null });
    const sensor = await store.ensureSensor(dwellingId, key);
    await store.placeSensor(dwellingId, sensor.id, place.id, from);
  }
  await store.addPhase({ dwellingId, kind: 'before', name: 'Before', from, to: lined });
  await store.addPhase({ dwellingId, kind: 'after', name: 'After', from: lined, to: null });
  for (let day = 0; day < DAYS; day++) {
    const readings: IncomingReading[] = [];
    for (let hour = 24 * day; hour < 24 * (day + 1); hour++) {
      for (const [sensorKey, , air] of logged) {
        for (const quantity of ['temperature', 'humidity'] as const) {
          const value = Math.round(air[quantity][hour]! * 1000) / 1000;
          if (!Number.isNaN(value)) readings.push({ dwellingId, sensorKey, quantity, time: from + hour * HOUR, value });
        }
      }
    }
    const end = from + (day + 1) * DAY;
    await store.append({ receivedAt: end - 1, readings, quarantined: [] });
    await store.sealNextDay(dwellingId, dayOf(end), end + HOUR);
  }
  await keepHours(store);
  return home;
}

// the coldest weeks of each; not one of them is free of frost, so that both branches of the saturation formula are used
describe.skipIf(!here || !python).each([
  ['house-a', 'roofsouth_eavestop', '2011-01-10'],
  ['house-b', 'roofnorthwest_eavestop', '2011-02-07'],
])('a pack of %s, measured air under a modelled ceiling', (house, eaves, first) => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-measured-'));
  const from = Date.parse(`${first}T00:00:00Z`);
  const to = from + DAYS * DAY;
  const file = join(folder, 'pack.zip');
  let store: Store;
  let members: Members;

  beforeAll(async () => {
    store = await openSqliteStore(join(folder, 'coomb.db'));
    const { id } = await givenMeasuredHouse(store, house, eaves, from);
    await buildPack(
      { store, openStore: openSqliteStore, dataFolder: folder, version: '0.0.0', now: to + HOUR },
      { dwellingId: id, from, to, placeIds: null, words: 'with-words' },
      file,
    );
    members = await readMembers(file);
  }, 120_000);
  afterAll(async () => {
    await store.close();
    rmSync(folder, { recursive: true, force: true });
  });

  /** Values of a column, as text, of the hours of a place. */
  const column = (place: number, name: string): string[] => {
    const [header, ...rows] = members.get(`data/hours/place-${place}.csv`)!.toString().trim().split('\n');
    const at = header!.split(',').indexOf(name);
    return rows.map((row) => row.split(',')[at]!);
  };
  const known = (place: number, name: string): number => column(place, name).filter((cell) => cell !== '').length;

  it('is found right by the script in it, hour for hour and count for count', async () => {
    const { code, out } = await checkPy(unpackTo(join(folder, 'right'), members));
    expect(out).toContain('All as stated.');
    expect(code).toBe(0);
    expect(out).toMatch(/([1-9]\d*) of \1 days of a series are whole in this pack/);
    expect(Number(/(\d+) counts of risk hours/.exec(out)?.[1])).toBeGreaterThanOrEqual(6);
    // it had something to look at: frost, hours with and without risk on the ceiling, factors, and the loft and its timber
    expect(column(3, 'temperature_mean_c').some((cell) => Number(cell) < -5)).toBe(true);
    for (const place of [2, 4, 5]) expect(known(place, 'margin_mean_k')).toBeGreaterThan(20 * 24);
    expect(known(2, 'factor_outdoor')).toBeGreaterThan(20 * 24);
    expect(known(2, 'factor_loft')).toBeGreaterThan(20 * 24);
    expect(column(2, 'risk_hour')).toEqual(expect.arrayContaining(['true', 'false']));
  });

  it('is found right by the program', async () => {
    const { faults, differences, days } = await verifyPack(file, openSqliteStore, {
      fingerprint: null,
      entries: new Map(),
    });
    expect({ faults, differences, days }).toEqual({ faults: [], differences: [], days: DAYS });
  });

  it('is found wrong by the script where a hundredth of a degree was taken off one reading of the loft', async () => {
    const isOfLoft = ([name, bytes]: [string, Buffer]): boolean =>
      name.startsWith('data/readings/') && /^sensor,time_utc,temperature_c,.*\n4,/.test(bytes.toString());
    const [series] = [...members].find(isOfLoft)!;
    const changed = edited(members, series, (old) => {
      const lines = old.split('\n');
      const cells = lines[500]!.split(',');
      cells[2] = String(Number(cells[2]) - 0.01);
      lines[500] = cells.join(',');
      return lines.join('\n');
    });
    const { code, out } = await checkPy(unpackTo(join(folder, 'wrong'), signedAnew(changed)));
    expect(code).toBe(1);
    expect(out).toMatch(/place 4, .*margin_mean_k is .*, worked out here/);
  });
});
