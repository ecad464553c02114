import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Payload, payloadLimits } from '../../server/ingest/payload.ts';
import { quantities, quantityNames } from '../../server/physics/quantities.ts';
import { readPayload } from './read-payload.ts';

const receivedAt = Date.UTC(2026, 0, 31, 17, 20, 0);
const read = (text: string): Payload => readPayload(Buffer.from(text), receivedAt);

function readings(payload: Payload): [string, number, number][] {
  if (payload.kind !== 'readings') throw new Error(`rejected: ${payload.fault.message}`);
  return payload.readings.map(({ quantity, time, value }) => [quantity, time, value]);
}

const codeOf = (payload: Payload): string | null => payload.fault?.code ?? null;
const messageOf = (payload: Payload): string => payload.fault?.message ?? '';

describe('a flat object of quantities', () => {
  it('is read with the time of receipt when the device sends none', () => {
    expect(readings(read('{"temperature_c": 12.6, "humidity_pct": 80}'))).toEqual([
      ['temperature', receivedAt, 12.6],
      ['humidity', receivedAt, 80],
    ]);
  });

  it('is read for every quantity in the glossary', () => {
    const all = Object.fromEntries(quantityNames.map((name) => [quantities[name].wire, quantities[name].low]));
    expect(readings(read(JSON.stringify(all))).map(([quantity]) => quantity)).toEqual(quantityNames);
  });

  it('may have a byte order mark, other keys, and null where the device has no value', () => {
    const text = '\ufeff{"temperature_c": null, "humidity_pct": 61, "rssi": -70, "fw": {"v": [1]}, "time": null}';
    expect(read(text)).toMatchObject({ kind: 'readings', fault: null });
    expect(readings(read(text))).toEqual([['humidity', receivedAt, 61]]);
  });

  it('cannot reach what objects inherit', () => {
    expect(codeOf(read('{"__proto__": {"temperature_c": 20}}'))).toBe('no-known-quantity');
    expect(codeOf(read('{"constructor": 1, "toString": 2}'))).toBe('no-known-quantity');
  });
});

describe("a device's own time", () => {
  // ISO 8601 forms of one instant; epoch from `date -u -d 2026-01-31T17:20:00Z +%s`.
  it.each([
    '"2026-01-31T17:20:00Z"',
    '"2026-01-31 17:20:00Z"',
    '"2026-01-31T17:20Z"',
    '"2026-01-31T19:20:00+02:00"',
    '"2026-01-31T19:20:00.000+0200"',
    '"2026-01-31T12:20:00-05"',
    '1769880000',
    '1769880000.0',
    '1769880000000',
  ])('%s is 17:20 UTC on 31 January 2026', (time) => {
    expect(readings(read(`{"temperature_c": 1, "time": ${time}}`))).toEqual([['temperature', receivedAt, 1]]);
  });

  it('keeps milliseconds', () => {
    const [first] = readings(read('{"temperature_c": 1, "time": "2026-01-31T17:19:59.123456Z"}'));
    expect(first?.[1]).toBe(receivedAt - 877);
    expect(readings(read('{"temperature_c": 1, "time": 1769879999.123}'))[0]?.[1]).toBe(receivedAt - 877);
  });

  it('without an offset is turned away, for nobody can tell which zone was meant', () => {
    const payload = read('{"temperature_c": 1, "time": "2026-01-31T17:20:00"}');
    expect(codeOf(payload)).toBe('time-without-offset');
    expect(messageOf(payload)).toContain('add Z for UTC');
  });

  it.each([
    '"2026-02-30T00:00:00Z"',
    '"2026-01-31T25:00:00Z"',
    '"2026-01-31T10:00:00+25:00"',
    '"yesterday"',
    '"1769880000"',
    '1e400',
    '""',
  ])('%s is no instant', (time) => expect(codeOf(read(`{"temperature_c": 1, "time": ${time}}`))).toBe('bad-time'));

  it.each(['true', '{}', '[1]'])('%s is of the wrong type', (time) =>
    expect(codeOf(read(`{"temperature_c": 1, "time": ${time}}`))).toBe('wrong-type'),
  );

  it.each(['0', '12345', '-1', '86400000', '"1970-01-01T00:03:00Z"', '-1e300'])(
    '%s comes from a clock that was never set',
    (time) => {
      const payload = read(`{"temperature_c": 1, "time": ${time}}`);
      expect(codeOf(payload)).toBe('clock-too-early');
      expect(messageOf(payload)).toContain('NTP');
    },
  );

  it('may be ten minutes ahead and no more', () => {
    const ahead = (ms: number): Payload => read(`{"temperature_c": 1, "time": ${receivedAt + ms}}`);
    expect(readings(ahead(600_000))).toHaveLength(1);
    expect(codeOf(ahead(600_001))).toBe('clock-ahead');
    expect(codeOf(read('{"temperature_c": 1, "time": "2099-01-01T00:00:00Z"}'))).toBe('clock-ahead');
    expect(codeOf(read('{"temperature_c": 1, "time": 1e300}'))).toBe('clock-ahead');
  });

  it('may be years late', () => {
    expect(readings(read('{"temperature_c": 1, "time": "2010-11-15T00:00:00+02:00"}'))).toHaveLength(1);
  });

  it('is missing and the computer itself believes it is 1970: the reading is not dated 1970', () => {
    const payload = readPayload(Buffer.from('{"temperature_c": 1}'), 5000);
    expect(codeOf(payload)).toBe('clock-too-early');
    expect(messageOf(payload)).toContain("this computer's clock");
  });
});

describe('a batch of buffered readings', () => {
  it('keeps the time of each', () => {
    const text =
      '[{"time": 1769879000, "temperature_c": 1}, {"time": 1769878000, "temperature_c": 2, "humidity_pct": 50}]';
    expect(readings(read(text))).toEqual([
      ['temperature', 1769879000000, 1],
      ['temperature', 1769878000000, 2],
      ['humidity', 1769878000000, 50],
    ]);
  });

  it('of one reading may do without a time', () => {
    expect(readings(read('[{"temperature_c": 1}]'))).toEqual([['temperature', receivedAt, 1]]);
  });

  it('keeps the good elements and says which were not, and why', () => {
    const payload = read(
      '[{"time": 1769879000, "temperature_c": 1}, {"temperature_c": 2}, 7, {"time": 5, "temperature_c": 3}]',
    );
    expect(readings(payload)).toEqual([['temperature', 1769879000000, 1]]);
    expect(codeOf(payload)).toBe('batch-without-time');
    expect(messageOf(payload)).toMatch(/element 2: .*element 3: .*element 4: /);
  });

  it('without any reading is turned away', () => {
    expect(codeOf(read('[]'))).toBe('empty');
    expect(codeOf(read('[1, 2]'))).toBe('wrong-type');
    expect(codeOf(read('[[{"temperature_c": 1}]]'))).toBe('wrong-type');
  });
});

describe('a value', () => {
  // The range of each quantity is the glossary's; that a sensor over-reads up to 105 % near saturation is common practice, no source.
  it.each([101, 103.7, 105])('of %d %% humidity is an over-read and is kept as it came', (value) => {
    expect(readings(read(`{"humidity_pct": ${value}}`))).toEqual([['humidity', receivedAt, value]]);
  });

  it.each([
    '"humidity_pct": 300',
    '"humidity_pct": 105.01',
    '"humidity_pct": -0.1',
    '"temperature_c": -100',
    '"temperature_c": 1e30',
  ])('%s is set aside with the range it must lie in', (member) => {
    const payload = read(`{${member}}`);
    expect(payload.kind).toBe('rejected');
    expect(codeOf(payload)).toBe('out-of-range');
    expect(messageOf(payload)).toContain('must lie between');
  });

  it.each(['1e400', '-1e400'])('of %s overflows', (value) =>
    expect(codeOf(read(`{"temperature_c": ${value}}`))).toBe('not-finite'),
  );

  it.each(['"18.4"', 'true', '[18.4]', '{"value": 18.4}'])('of %s has the wrong type', (value) => {
    const payload = read(`{"temperature_c": ${value}}`);
    expect(codeOf(payload)).toBe('wrong-type');
    expect(messageOf(payload)).toContain('temperature_c');
  });

  it('that is bad does not take a good one with it', () => {
    const payload = read('{"temperature_c": 18.4, "humidity_pct": 300}');
    expect(readings(payload)).toEqual([['temperature', receivedAt, 18.4]]);
    expect(codeOf(payload)).toBe('out-of-range');
  });

  it('that is null everywhere is no reading', () => {
    expect(codeOf(read('{"temperature_c": null}'))).toBe('no-value');
  });
});

describe('bytes that are no reading', () => {
  it.each(['', ' ', 'hello', '{', '{"temperature_c": 1', '{"temperature_c": 1}}', "{'temperature_c': 1}", '18.4;61'])(
    '%j',
    (text) => expect(read(text).kind).toBe('rejected'),
  );

  it('say so with a hint when a device prints NaN or infinity', () => {
    for (const value of ['NaN', 'nan', 'Infinity', '-inf']) {
      const payload = read(`{"temperature_c": ${value}}`);
      expect(codeOf(payload)).toBe('not-json');
      expect(messageOf(payload)).toContain('send null');
    }
  });

  it.each(['5', '"text"', 'true', 'null'])('%s is JSON and still not an object', (text) =>
    expect(codeOf(read(text))).toBe('wrong-type'),
  );

  it('are listed with the names seen and the names expected', () => {
    const payload = read('{"temp": 18.4, "hum": 61}');
    expect(codeOf(payload)).toBe('no-known-quantity');
    expect(messageOf(payload)).toContain('"temp", "hum"');
    expect(messageOf(payload)).toContain('temperature_c');
  });

  it('are not text at all', () => {
    expect(codeOf(readPayload(Uint8Array.from([0xff, 0xd8, 0xff, 0xe0, 0, 0x10]), receivedAt))).toBe('not-json');
  });

  it('are not parsed when there are more than the limit', () => {
    const text = `{"temperature_c": 18.4, "pad": "${'x'.repeat(10 << 20)}"}`;
    expect(codeOf(read(text))).toBe('too-large');
    expect(
      codeOf(readPayload(Buffer.from('{"temperature_c": 1}'), receivedAt, { ...payloadLimits, maxBytes: 8 })),
    ).toBe('too-large');
  });

  it('are a million brackets deep', () => {
    expect(read('['.repeat(1_000_000)).kind).toBe('rejected');
    expect(read(`${'['.repeat(500_000)}${']'.repeat(500_000)}`).kind).toBe('rejected');
  });
});

describe('whatever comes', () => {
  const sound = (payload: Payload): void => {
    if (payload.kind === 'rejected') {
      expect(payload.fault.message.length).toBeGreaterThan(10);
      expect(payload.fault.message.length).toBeLessThan(2000);
      return;
    }
    expect(payload.readings.length).toBeGreaterThan(0);
    for (const { quantity, time, value } of payload.readings) {
      expect(Number.isSafeInteger(time)).toBe(true);
      expect(time).toBeGreaterThanOrEqual(Date.UTC(2000, 0, 1));
      expect(time).toBeLessThanOrEqual(receivedAt + payloadLimits.maxAheadMs);
      expect(value).toBeGreaterThanOrEqual(quantities[quantity].low);
      expect(value).toBeLessThanOrEqual(quantities[quantity].high);
    }
  };

  it('random bytes give readings in range or a reason, and never an exception', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => sound(readPayload(bytes, receivedAt))),
      { numRuns: 2000 },
    );
  });

  const names = fc.oneof(fc.constantFrom('time', ...quantityNames.map((name) => quantities[name].wire)), fc.string());
  const scalars = fc.oneof(
    fc.jsonValue({ maxDepth: 2 }),
    fc.double(),
    fc.integer({ min: 0, max: 2_000_000_000 }),
    fc.date().map(String),
  );
  const elements = fc.dictionary(names, scalars, { maxKeys: 6 });

  it('random JSON gives readings in range or a reason, and never an exception', () => {
    fc.assert(
      fc.property(fc.oneof(elements, fc.array(elements, { maxLength: 5 }), fc.jsonValue()), (value) =>
        sound(read(JSON.stringify(value))),
      ),
      { numRuns: 3000 },
    );
  });

  it('a well-formed batch comes back reading for reading', () => {
    const reading = fc.record({
      time: fc.integer({ min: Date.UTC(2000, 0, 1), max: receivedAt }),
      temperature_c: fc.double({ min: -60, max: 100, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(reading, { minLength: 1, maxLength: 50 }), (batch) => {
        const expected = batch.map(({ time, temperature_c }) => [
          'temperature',
          time,
          JSON.parse(JSON.stringify(temperature_c)),
        ]);
        expect(readings(read(JSON.stringify(batch)))).toEqual(expected);
      }),
    );
  });
});
