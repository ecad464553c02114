import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { quantities } from '../../server/physics/quantities.ts';
import { homeHours } from '../../server/simulate/home.ts';
import { inventedHome } from '../../server/simulate/invented-home.ts';
import { type LiveMessage, liveHome } from '../../server/simulate/live.ts';
import { sampleSpan } from '../../server/simulate/sample-home.ts';

const DAY = 86_400_000;
const live = liveHome();
const cells = ({ payload }: LiveMessage): (number | string | undefined)[] => [
  payload.time,
  payload.temperature_c,
  payload.humidity_pct,
  payload.battery_v,
];

describe('the live home', () => {
  test('would have sent the last day of the sample files as they hold it', () => {
    const from = sampleSpan.to - DAY;
    const sent = live.backfill(from, sampleSpan.to).filter((message) => message.sensor === 'outdoors');
    const file = fileURLToPath(new URL('../../sample-data/readings/outdoors.csv.gz', import.meta.url));
    const rows = gunzipSync(readFileSync(file)).toString('utf8').trim().split('\n');
    const lastDay = rows
      .slice(1)
      .map((row) => row.split(','))
      .filter(([time]) => Date.parse(time!) >= from)
      .map(([time, ...values]) => [time, ...values.map((value) => (value === '' ? undefined : Number(value)))]);
    expect(lastDay.length).toBeGreaterThan(20);
    expect(sent.map(cells)).toEqual(lastDay);
  });

  test('fills the gap from the files to months later, every sensor at its own pace', () => {
    const to = Date.UTC(2026, 10, 25, 7, 30);
    const sent = live.backfill(sampleSpan.to, to);
    const days = (to - sampleSpan.to) / DAY;
    for (const sensor of live.sensors) {
      const own = sent.filter((message) => message.sensor === sensor);
      const wanted = days * (sensor === 'bedroom' || sensor === 'slope' ? 96 : 48);
      // losses and outages take up to some 3 %
      expect(own.length / wanted, sensor).toBeGreaterThan(0.95);
      expect(own.length / wanted, sensor).toBeLessThanOrEqual(1.001);
      expect(own.at(-1)!.time).toBeGreaterThan(to - 3 * 3_600_000);
    }
    const times = sent.map((message) => message.time);
    expect(times.every((time, index) => index === 0 || time >= times[index - 1]!)).toBe(true);
    expect(times[0]!).toBeGreaterThanOrEqual(sampleSpan.to);
    expect(times.at(-1)!).toBeLessThan(to);
  });

  test('sends each live message once, however the time is cut into spans, and the same from another start', () => {
    const from = Date.UTC(2026, 10, 25, 7, 30);
    const whole = live.messages(from, from + 120_000, 10);
    const parts = [0, 7, 13, 40, 41, 90].map((second, index, all) =>
      live.messages(from + second * 1000, from + (all[index + 1] ?? 120) * 1000, 10),
    );
    const order = (one: LiveMessage, other: LiveMessage): number =>
      one.time - other.time || (one.sensor < other.sensor ? -1 : 1);
    expect(parts.flat().sort(order)).toEqual([...whole].sort(order));
    expect(liveHome().messages(from, from + 120_000, 10)).toEqual(whole);
    // eight sensors, twelve rounds, about 1 % lost
    expect(whole.length).toBeGreaterThan(85);
    expect(whole.length).toBeLessThanOrEqual(104);
  });

  test('puts nothing in a payload but its time and quantities by their wire names, within their ranges', () => {
    const from = Date.UTC(2026, 6, 1);
    const wire = new Map<string, { low: number; high: number }>(
      Object.values(quantities).map((quantity) => [quantity.wire, quantity]),
    );
    const seen = new Set<string>();
    for (const { payload, time } of live.backfill(from, from + 3 * DAY)) {
      expect(Date.parse(payload.time)).toBe(time);
      for (const [name, value] of Object.entries(payload)) {
        if (name === 'time') continue;
        seen.add(name);
        const range = wire.get(name)!;
        expect(value).toBeGreaterThanOrEqual(range.low);
        expect(value).toBeLessThanOrEqual(range.high);
      }
    }
    expect([...seen].sort()).toEqual(['battery_v', 'humidity_pct', 'temperature_c', 'timber_moisture_pct']);
  });

  test('says what is wrong with a span before its time and with no pace', () => {
    expect(() => live.backfill(0, DAY)).toThrow(/from is 0 ms/);
    expect(() => live.messages(sampleSpan.to, sampleSpan.to + DAY, 0)).toThrow(/everySeconds is 0 s/);
    expect(live.backfill(sampleSpan.to, sampleSpan.to)).toEqual([]);
  });
});

describe('invented homes', () => {
  const from = Date.UTC(2026, 0, 10);

  test('differ from each other and are the same each time', () => {
    expect(inventedHome(9, 3, from)).toEqual(inventedHome(9, 3, from));
    expect(inventedHome(9, 3, from).slug).toBe('home-00003');
    const factors = Array.from(
      { length: 50 },
      (_, number) => inventedHome(9, number, from).home.house.slopeFactorBefore,
    );
    expect(new Set(factors).size).toBe(50);
    expect(() => inventedHome(9, -1, from)).toThrow(RangeError);
  });

  test('send believable messages from the first hour on: room over slope over outdoors in a winter night', () => {
    for (const number of [0, 1, 2]) {
      const { home } = inventedHome(9, number, from);
      const truth = homeHours(home, from + DAY);
      const hour = (from - truth.start) / 3_600_000 + 4;
      expect(truth.roomTemperature[hour]!).toBeGreaterThan(truth.slope[hour]!);
      expect(truth.slope[hour]!).toBeGreaterThan(truth.outdoorTemperature[hour]!);
      // five sensors every ten minutes, some lost
      const sent = liveHome(home).backfill(from, from + DAY);
      expect(sent.length).toBeGreaterThan(500);
      expect(sent.length).toBeLessThanOrEqual(725);
    }
  });
});
