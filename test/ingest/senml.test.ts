import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { payloadLimits } from '../../server/ingest/payload.ts';
import { isSenml, readSenml, type SenmlPayload } from '../../server/ingest/senml.ts';
import { quantities } from '../../server/physics/quantities.ts';

const receivedAt = Date.UTC(2026, 0, 31, 17, 20, 0);
const read = (pack: unknown[], topicSensor: string | null = 'eaves'): SenmlPayload =>
  readSenml(pack, topicSensor, receivedAt);

function readings(payload: SenmlPayload): [string, string, number, number][] {
  if (payload.kind !== 'readings') throw new Error(`rejected: ${payload.fault.message}`);
  return payload.readings.map(({ sensorKey, quantity, time, value }) => [sensorKey, quantity, time, value]);
}

const value = (record: object, topicSensor?: string | null): [string, number] => {
  const [first] = readings(read([record], topicSensor));
  return [first![1], first![3]];
};

describe('a unit of SenML', () => {
  // RFC 8428, 12.1 and RFC 8798, 3; 273.15 K and the ratios are definitions
  it.each([
    [{ n: 'x', u: 'Cel', v: 21.5 }, 'temperature', 21.5],
    [{ n: 'x', u: 'K', v: 294.3 }, 'temperature', 21.15],
    [{ n: 'x', u: '%RH', v: 61 }, 'humidity', 61],
    [{ n: 'humidity', u: '/', v: 0.61 }, 'humidity', 61],
    [{ n: 'relative-humidity', u: '%', v: 61 }, 'humidity', 61],
    [{ n: 'wood_moisture', u: '/', v: 0.17 }, 'timberMoisture', 17],
    [{ n: 'timber', u: '/100', v: 17 }, 'timberMoisture', 17],
    [{ n: 'CO2', u: 'ppm', v: 812 }, 'co2', 812],
    [{ n: 'battery', u: 'V', v: 2.97 }, 'battery', 2.97],
    [{ n: 'vbat', u: 'mV', v: 2970 }, 'battery', 2.97],
    [{ n: 'temperature_c', v: 12 }, 'temperature', 12],
    [{ n: 'timber_moisture_pct', v: 12 }, 'timberMoisture', 12],
    [{ n: 'battery-temp', u: 'Cel', v: 19 }, 'temperature', 19],
  ] as const)('%o is %s %d', (record, quantity, expected) => {
    expect(value(record)).toEqual([quantity, expected]);
  });

  it('that does not say what was measured is not guessed at', () => {
    for (const record of [
      { n: 'x', u: '/', v: 0.5 },
      { n: 'x', u: '%', v: 50 },
      { n: 'voc', u: 'ppm', v: 3 },
      { n: 'mains', u: 'V', v: 12 },
      { n: 'humidity', u: 'V', v: 1 },
      { n: 'x', u: '%EL', v: 98 },
      { n: 'x', u: 'toString', v: 98 },
      { n: 'x', v: 98 },
    ]) {
      expect(read([record])).toMatchObject({ kind: 'rejected', fault: { code: 'no-known-quantity' } });
    }
  });

  it('out of range is set aside, and does not take the others with it', () => {
    const payload = read([
      { bn: 'a/', n: 'temp', u: 'Cel', v: 21 },
      { n: 'humidity', u: '%RH', v: 300 },
    ]);
    expect(readings(payload)).toEqual([['eaves', 'temperature', receivedAt, 21]]);
    expect(payload.fault).toMatchObject({ code: 'out-of-range', message: expect.stringContaining('a/humidity') });
    expect(read([{ n: 'a', u: 'K', v: 0 }]).fault?.code).toBe('out-of-range');
    expect(read([{ n: 'a', bv: 1e308, u: 'K', v: 1e308 }]).fault?.code).toBe('not-finite');
  });
});

describe('the name of a record', () => {
  const key = (name: string, topicSensor: string | null): string =>
    readings(read([{ n: name, u: 'Cel', v: 20 }], topicSensor))[0]![0];

  it.each([
    ['temperature', 'eaves'],
    ['t', 'eaves'],
    ['eaves', 'eaves'],
    ['urn:dev:ow:10e2073a01080063', 'eaves'],
    ['urn:dev:ow:10e2073a01080063:temp', 'eaves'],
    ['urn:dev:mac:0024befffe804ff1_rafter', 'eaves.rafter'],
    ['2001:db8::2/temperature', 'eaves'],
    ['2001:db8::2/rafter', 'eaves.rafter'],
    ['2001:db8::2', 'eaves'],
    ['rafter_temp', 'eaves.rafter'],
    ['rafterTemperature', 'eaves.rafter'],
    ['rafter', 'eaves.rafter'],
  ])('%s on a topic of sensor eaves is of sensor %s', (name, expected) => expect(key(name, 'eaves')).toBe(expected));

  it.each([
    ['urn:dev:ow:10e2073a01080063', 'urn:dev:ow:10e2073a01080063'],
    ['urn:dev:ow:10e2073a01080063:temp', 'urn:dev:ow:10e2073a01080063'],
    ['urn:dev:ow:10e2073a01080063:rafter', 'urn:dev:ow:10e2073a01080063.rafter'],
    ['2001:db8::2/temperature', '2001:db8::2'],
    ['attic/east/temp', 'attic.east'],
    ['loft_temp', 'loft'],
    ['loft', 'loft'],
  ])('%s on a topic that names no sensor is of sensor %s', (name, expected) => expect(key(name, null)).toBe(expected));

  it('that says only what is measured names no sensor', () => {
    const payload = read([{ n: 'temperature', u: 'Cel', v: 20 }], null);
    expect(payload).toMatchObject({ kind: 'rejected', fault: { code: 'no-sensor-name' } });
    expect(payload.fault?.message).toContain('map the topic');
    expect(read([{ n: 'x'.repeat(101), u: 'Cel', v: 20 }], null).fault?.code).toBe('bad-name');
  });

  it('keeps temperature and humidity of one channel together', () => {
    const pack = [
      { bn: 'hub/', n: 'rafter_temp', u: 'Cel', v: 3 },
      { n: 'rafter_humidity', u: '%RH', v: 88 },
      { n: 'temp', u: 'Cel', v: 20 },
    ];
    expect(readings(read(pack)).map(([sensor, quantity]) => [sensor, quantity])).toEqual([
      ['eaves.rafter', 'temperature'],
      ['eaves.rafter', 'humidity'],
      ['eaves', 'temperature'],
    ]);
  });
});

describe('the time of a record', () => {
  const at = (bt: number, t: number) => read([{ bn: 'a', bt, t, u: 'Cel', v: 20 }]);
  const seconds = receivedAt / 1000;

  it('counts from 1970 when it is at least 2^28 s, and from the receipt when it is less', () => {
    expect(readings(at(seconds - 100, -20.5))[0]![2]).toBe(receivedAt - 120_500);
    expect(at(seconds, 0)).toMatchObject({ readings: [{ stamped: 'by-device' }] });
    expect(readings(at(-60, -0.25))[0]![2]).toBe(receivedAt - 60_250);
    expect(at(-60, 0)).toMatchObject({ readings: [{ stamped: 'on-receipt' }] });
    expect(readings(at(2 ** 28 - 1, 1 - 2 ** 28))[0]![2]).toBe(receivedAt);
    // 2^28 s is July 1978: absolute, and no time at which a reading of ours was made
    expect(at(2 ** 28, 0).fault?.code).toBe('clock-too-early');
    expect(at(2 ** 28 - 1, 0).fault?.code).toBe('clock-ahead');
  });

  it('may be ten minutes ahead and no more', () => {
    expect(readings(at(600, 0))).toHaveLength(1);
    expect(at(601, 0).fault?.code).toBe('clock-ahead');
    expect(at(seconds + 601, 0).fault?.code).toBe('clock-ahead');
    expect(at(1e300, 0).fault?.code).toBe('clock-ahead');
    expect(at(-1e300, 0).fault?.code).toBe('clock-too-early');
  });
});

describe('a pack', () => {
  it('is told from an array of flat readings by its form', () => {
    expect(isSenml([{ n: 'a', v: 1 }])).toBe(true);
    expect(isSenml([{ bn: 'a' }, 7])).toBe(true);
    expect(isSenml([{ vs: 'warm' }])).toBe(true);
    for (const other of [{ n: 'a', v: 1 }, [], [1, 2], [{}], [{ temp: 20 }], [[{ n: 'a', v: 1 }]], 'n', null]) {
      expect(isSenml(other)).toBe(false);
    }
    expect(isSenml([{ time: 1769879000, temperature_c: 1, v: 3.3 }])).toBe(false);
  });

  it('whose base cannot be read is rejected whole, for later records would mean something else', () => {
    for (const base of [{ bn: 5 }, { bt: 'noon' }, { bu: null }, { bv: '1' }, { bs: [] }]) {
      const payload = read([{ ...base, n: 'a', u: 'Cel', v: 20 }]);
      expect(payload).toMatchObject({ kind: 'rejected', fault: { code: 'bad-base' } });
    }
    expect(read([{ n: 'a', u: 'Cel', v: 20 }, 5]).fault?.code).toBe('wrong-type');
  });

  it('with a record that is wrong in itself keeps the others and says which', () => {
    const payload = read([
      { n: 'a', u: 'Cel', v: '20' },
      { n: 'b', u: 'Cel', v: 20 },
      { n: 'c', u: 7, v: 20 },
    ]);
    expect(readings(payload)).toEqual([['eaves.b', 'temperature', receivedAt, 20]]);
    expect(payload.fault?.message).toMatch(/record 1: v is the text "20".*record 3: u is 7/);
  });
});

describe('whatever comes in the form of a pack', () => {
  const anything = fc.oneof(fc.jsonValue({ maxDepth: 1 }), fc.double(), fc.string());
  /** Mostly what the field should hold, now and then anything. */
  const mostly = <T>(fitting: fc.Arbitrary<T>) =>
    fc.oneof({ weight: 19, arbitrary: fitting }, { weight: 1, arbitrary: anything });
  const numbers = mostly(fc.oneof(fc.double(), fc.double({ min: -60, max: 300, noNaN: true })));
  const times = mostly(fc.oneof(fc.double({ noNaN: true }), fc.constantFrom(0, -60, 1769879000, 2 ** 28)));
  const names = mostly(fc.constantFrom('temp', 'rafter', 'humidity', 'co2', 'urn:dev:ow:1:', '2001:db8::2/', ''));
  const units = mostly(fc.constantFrom('Cel', 'K', '%RH', '/', '%', 'ppm', 'V', 'lon'));
  const record = fc.record(
    {
      bn: names,
      bt: times,
      bu: units,
      bv: numbers,
      bs: numbers,
      bver: mostly(fc.constantFrom(5, 10, 26)),
      n: names,
      u: units,
      v: numbers,
      vs: mostly(fc.string()),
      s: numbers,
      t: times,
      x_: anything,
    },
    { requiredKeys: ['n', 'u', 'v'] },
  );
  const sparse = fc
    .tuple(
      record,
      fc.array(fc.constantFrom('bn', 'bt', 'bu', 'bv', 'bs', 'bver', 'vs', 's', 't', 'x_'), { minLength: 8 }),
    )
    .map(([fields, dropped]) =>
      Object.fromEntries(Object.entries(fields).filter(([key]) => !(dropped as string[]).includes(key))),
    );

  it('gives readings in range or a reason, and never an exception', () => {
    let readingsSeen = 0;
    fc.assert(
      fc.property(fc.array(sparse, { maxLength: 4 }), fc.option(fc.constant('eaves')), (pack, sensor) => {
        const payload = readSenml(JSON.parse(JSON.stringify(pack)), sensor, receivedAt);
        if (payload.fault !== null) {
          expect(payload.fault.message.length).toBeGreaterThan(10);
          expect(payload.fault.message.length).toBeLessThan(2000);
        }
        if (payload.kind === 'rejected') return;
        for (const reading of payload.readings) {
          readingsSeen++;
          const { low, high } = quantities[reading.quantity];
          expect(reading.value >= low && reading.value <= high).toBe(true);
          expect(Number.isSafeInteger(reading.time)).toBe(true);
          expect(reading.time).toBeLessThanOrEqual(receivedAt + payloadLimits.maxAheadMs);
          expect(reading.sensorKey.length).toBeGreaterThan(0);
        }
      }),
      { numRuns: 5000 },
    );
    expect(readingsSeen).toBeGreaterThan(100);
  });
});
