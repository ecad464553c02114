import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildHours, type HourPlace, type PlacedColumns } from '../../server/analysis/hours.ts';
import { HOUR_MS } from '../../server/analysis/vocabulary.ts';
import type { Quantity } from '../../server/physics/quantities.ts';
import { dewPoint, saturationPressure, saturationPressureOverWater } from '../../server/physics/saturation.ts';

const START = Date.UTC(2026, 0, 14, 22);
const MINUTE = 60_000;

const room: HourPlace = { id: 1, kind: 'room-air', facesPlaceId: null };
const slope: HourPlace = { id: 2, kind: 'ceiling-surface', facesPlaceId: null };
const outdoor: HourPlace = { id: 3, kind: 'outdoor-air', facesPlaceId: null };
const loft: HourPlace = { id: 4, kind: 'loft-air', facesPlaceId: null };
const places = [room, slope, outdoor, loft];

/** `[minute, value]` pairs of one quantity of the sensor that has its place's number. */
function column(
  placeId: number,
  quantity: Quantity,
  readings: [minute: number, value: number][],
  intervalSeconds: number | null = 600,
): PlacedColumns {
  return {
    placeId,
    sensorId: placeId,
    quantity,
    intervalSeconds,
    times: Float64Array.from(readings, ([minute]) => START + minute * MINUTE),
    values: Float64Array.from(readings, ([, value]) => value),
  };
}

const every = (minutes: number, value: (minute: number) => number, until = 60): [number, number][] =>
  Array.from({ length: Math.ceil(until / minutes) }, (_, k) => [k * minutes, value(k * minutes)]);

const build = (columns: PlacedColumns[], hours = 1) => buildHours({ start: START, hours, places, columns });
const at = (records: ReturnType<typeof build>, placeId: number, hour = 0) =>
  records.find((record) => record.placeId === placeId && record.hour === START + hour * HOUR_MS);

describe('an hour record', () => {
  it('is the reference case of DIN 4108-2: 20 °C, 50 %, outdoors -5 °C, surface 12.6 °C', () => {
    // f 0.704 and 80 % at the surface: published (several texts on DIN 4108-2); 80.13 % computed with ISO 13788
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20),
      ),
      column(
        1,
        'humidity',
        every(10, () => 50),
      ),
      column(
        2,
        'temperature',
        every(10, () => 12.6),
      ),
      column(
        3,
        'temperature',
        every(10, () => -5),
      ),
    ]);
    const surface = at(records, 2)!;
    expect(surface.factorOutdoor).toBeCloseTo(0.704, 10);
    expect(surface.surfaceHumidityMean).toBeCloseTo(80.13, 1);
    // dew point 9.3 °C (published), to the printed digit
    expect(surface.dewPoint).toBeCloseTo(9.3, 1);
    expect(surface.marginMean).toBeCloseTo(12.6 - 9.27, 1);
    expect(surface.riskHour).toBe(true);
    expect(surface.condensationHour).toBe(false);
    expect(surface.factorLoft).toBeNull();
  });

  it('keeps the loft-referenced factor apart from the outdoor-referenced one', () => {
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20),
      ),
      column(
        2,
        'temperature',
        every(10, () => 14),
      ),
      column(
        4,
        'temperature',
        every(10, () => 5),
      ),
    ]);
    expect(at(records, 2)!.factorOutdoor).toBeNull();
    expect(at(records, 2)!.factorLoft).toBeCloseTo(0.6, 12);
  });

  it('averages vapour pressures of paired readings, not the vapour pressure of averages', () => {
    const warm = (minute: number): number => (minute < 30 ? 10 : 30);
    const records = build([
      column(1, 'temperature', every(10, warm)),
      column(
        1,
        'humidity',
        every(10, () => 60),
      ),
    ]);
    const paired = 0.6 * (saturationPressureOverWater(10) + saturationPressureOverWater(30)) * 0.5;
    expect(at(records, 1)!.vapourPressure).toBeCloseTo(paired, 8);
    expect(at(records, 1)!.vapourPressure).not.toBeCloseTo(0.6 * saturationPressureOverWater(20), 0);
  });

  it('takes humidity below zero as relative to liquid water and frost as relative to ice', () => {
    const records = build([
      column(
        4,
        'temperature',
        every(10, () => -10),
      ),
      column(
        4,
        'humidity',
        every(10, () => 90),
      ),
    ]);
    const pressure = 0.9 * saturationPressureOverWater(-10);
    expect(at(records, 4)!.vapourPressure).toBeCloseTo(pressure, 10);
    expect(at(records, 4)!.surfaceHumidityMean).toBeCloseTo((100 * pressure) / saturationPressure(-10), 10);
    expect(at(records, 4)!.dewPoint).toBeCloseTo(dewPoint(pressure), 10);
    // at -10 °C ice and water differ by about a tenth (WMO-No. 8): 90 % over water is close to frost
    expect(at(records, 4)!.surfaceHumidityMean).toBeGreaterThan(98);
  });

  it('counts over-read humidity as 100 % and says how often', () => {
    const records = build([
      column(
        4,
        'temperature',
        every(10, () => 5),
      ),
      column(
        4,
        'humidity',
        every(10, (minute) => (minute < 20 ? 103 : 99)),
      ),
    ]);
    const record = at(records, 4)!;
    expect(record.humidityClamped).toBe(2);
    expect(record.humidityMax).toBe(100);
    expect(record.humidityMean).toBeCloseTo((2 * 100 + 4 * 99) / 6, 10);
  });

  it('with readings for under half the hour has its readings but counts as nothing', () => {
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20, 20),
      ),
      column(
        1,
        'humidity',
        every(10, () => 50, 20),
      ),
      column(
        2,
        'temperature',
        every(10, () => 8),
      ),
      column(
        3,
        'temperature',
        every(10, () => -5),
      ),
    ]);
    expect(at(records, 1)!.temperatureCoverage).toBeCloseTo(2 / 6, 12);
    expect(at(records, 1)!.temperatureMean).toBe(20);
    expect(at(records, 1)!.vapourPressure).toBeNull();
    expect(at(records, 2)!.riskHour).toBeNull();
    expect(at(records, 2)!.factorOutdoor).toBeNull();
  });

  it('of an hourly logger is fully covered by its one reading, whenever in the hour it comes', () => {
    for (const minute of [0, 31, 59]) {
      const records = build([column(1, 'temperature', [[minute, 20]], 3600)]);
      expect(at(records, 1)!.temperatureCoverage).toBe(1);
    }
  });

  it('gives no factor where room and outdoors are too alike', () => {
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20),
      ),
      column(
        2,
        'temperature',
        every(10, () => 19),
      ),
      column(
        3,
        'temperature',
        every(10, () => 16),
      ),
    ]);
    expect(at(records, 2)!.factorOutdoor).toBeNull();
  });

  it('marks condensation when the surface is at the dew point of the room', () => {
    const dew = dewPoint(0.5 * saturationPressureOverWater(20));
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20),
      ),
      column(
        1,
        'humidity',
        every(10, () => 50),
      ),
      column(
        2,
        'temperature',
        every(10, () => dew - 1e-6),
      ),
    ]);
    expect(at(records, 2)!.condensationHour).toBe(true);
    expect(at(records, 2)!.surfaceHumidityMean).toBeGreaterThan(100);
  });

  it('pairs a surface with the room reading nearest in time within the hour', () => {
    const records = build([
      column(
        1,
        'temperature',
        [
          [5, 20],
          [55, 20],
        ],
        1800,
      ),
      column(
        1,
        'humidity',
        [
          [5, 40],
          [55, 80],
        ],
        1800,
      ),
      column(2, 'temperature', [[50, 10]], 3600),
    ]);
    expect(at(records, 2)!.vapourPressure).toBeCloseTo(0.8 * saturationPressureOverWater(20), 8);
  });

  it('of bone-dry air has no dew point and no claim', () => {
    const records = build([
      column(
        1,
        'temperature',
        every(10, () => 20),
      ),
      column(
        1,
        'humidity',
        every(10, () => 0),
      ),
    ]);
    expect(at(records, 1)!.humidityMean).toBe(0);
    expect(at(records, 1)!.dewPoint).toBeNull();
  });

  it('refuses a start that is not a whole hour', () => {
    expect(() => buildHours({ start: START + 1, hours: 1, places, columns: [] })).toThrow(RangeError);
  });
});

const reading = fc.tuple(fc.integer({ min: 0, max: 179 }), fc.double({ min: -20, max: 35, noNaN: true }));
const humid = fc.tuple(fc.integer({ min: 0, max: 179 }), fc.double({ min: 1, max: 105, noNaN: true }));
const unique = <T>(list: fc.Arbitrary<[number, T]>) =>
  fc
    .uniqueArray(list, { selector: ([minute]) => minute, maxLength: 60 })
    .map((readings) => readings.sort((a, b) => a[0] - b[0]));

describe('hour records', () => {
  it('are the same whether three hours are built at once or one by one', () => {
    fc.assert(
      fc.property(unique(reading), unique(humid), unique(reading), (roomT, roomH, surfaceT) => {
        const columns = [
          column(1, 'temperature', roomT),
          column(1, 'humidity', roomH),
          column(2, 'temperature', surfaceT),
          column(
            3,
            'temperature',
            every(10, () => -3, 180),
          ),
        ];
        const together = build(columns, 3);
        const apart = [0, 1, 2].flatMap((hour) =>
          buildHours({ start: START + hour * HOUR_MS, hours: 1, places, columns }),
        );
        const inOrder = apart.sort((a, b) => a.placeId - b.placeId || a.hour - b.hour);
        expect(inOrder).toEqual(together);
      }),
    );
  });

  it('never hold NaN or infinity, and keep minimum, mean and maximum in order', () => {
    fc.assert(
      fc.property(unique(reading), unique(humid), unique(reading), (roomT, roomH, surfaceT) => {
        const records = build(
          [column(1, 'temperature', roomT), column(1, 'humidity', roomH), column(2, 'temperature', surfaceT)],
          3,
        );
        for (const record of records) {
          for (const value of Object.values(record))
            if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
          if (record.temperatureMean !== null) {
            expect(record.temperatureMin! - 1e-9).toBeLessThanOrEqual(record.temperatureMean);
            expect(record.temperatureMean).toBeLessThanOrEqual(record.temperatureMax! + 1e-9);
          }
        }
      }),
    );
  });

  it('join two sensors that hand over within the hour', () => {
    const first: PlacedColumns = {
      ...column(
        1,
        'temperature',
        every(10, () => 18, 30),
      ),
      sensorId: 7,
    };
    const second: PlacedColumns = {
      ...column(1, 'temperature', [
        [30, 20],
        [40, 20],
        [50, 20],
      ]),
      sensorId: 8,
    };
    const record = at(build([first, second]), 1)!;
    expect(record.temperatureCoverage).toBe(1);
    expect(record.temperatureMean).toBeCloseTo(19, 12);
  });
});
