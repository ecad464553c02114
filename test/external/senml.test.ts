import { describe, expect, it } from 'vitest';
import { isSenml, type ResolvedRecord, resolveSenml } from '../../server/ingest/senml.ts';

/**
 * The examples published in RFC 8428, section 5.1, and their resolution by the rules of section 4.6 (5.1.4 prints that
 * of 5.1.3). Packs are quoted from memory: names, units and figures may differ from the print in a digit; what each
 * shows (base name, base time, base unit, relative times, value kinds) does not rest on those.
 */
const resolve = (text: string): readonly ResolvedRecord[] => {
  const pack: unknown = JSON.parse(text);
  if (!isSenml(pack)) throw new Error('not taken for SenML');
  const resolved = resolveSenml(pack);
  if (resolved.kind === 'rejected') throw new Error(resolved.fault.message);
  expect(resolved.faults).toEqual([]);
  return resolved.records;
};

const of = (name: string, unit: string | null, value: ResolvedRecord['value'], time: number): ResolvedRecord => ({
  name,
  unit,
  value,
  sum: null,
  time,
});

describe('the examples of RFC 8428', () => {
  it('5.1.1: a single data point is of now', () => {
    expect(resolve('[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]')).toEqual([
      of('urn:dev:ow:10e2073a01080063', 'Cel', 23.1, 0),
    ]);
  });

  it('5.1.2: a base name goes before the names of the records that follow', () => {
    expect(
      resolve(`[
        {"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},
        {"n":"current","u":"A","v":1.2}
      ]`),
    ).toEqual([
      of('urn:dev:ow:10e2073a01080063:voltage', 'V', 120.1, 0),
      of('urn:dev:ow:10e2073a01080063:current', 'A', 1.2, 0),
    ]);
  });

  it('5.1.2: base time, base unit and version 5; times before the base time are negative', () => {
    const records = resolve(`[
      {"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},
      {"n":"current","t":-5,"v":1.2},
      {"n":"current","t":-4,"v":1.3},
      {"n":"current","t":-3,"v":1.4},
      {"n":"current","t":-2,"v":1.5},
      {"n":"current","t":-1,"v":1.6},
      {"n":"current","v":1.7}
    ]`);
    const name = 'urn:dev:ow:10e2073a0108006:';
    expect(records).toEqual([
      of(`${name}voltage`, 'V', 120.1, 1276020076.001),
      ...[-5, -4, -3, -2, -1, 0].map((t, k) =>
        of(`${name}current`, 'A', [1.2, 1.3, 1.4, 1.5, 1.6, 1.7][k]!, 1276020076.001 + t),
      ),
    ]);
  });

  it('5.1.3 resolves to what 5.1.4 prints', () => {
    const records = resolve(`[
      {"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
      {"u":"lon","v":24.30621},
      {"u":"lat","v":60.07965},
      {"t":60,"v":20.3},
      {"u":"lon","t":60,"v":24.30622},
      {"u":"lat","t":60,"v":60.07965},
      {"t":120,"v":20.7},
      {"u":"lon","t":120,"v":24.30623},
      {"u":"lat","t":120,"v":60.07966},
      {"u":"%EL","t":150,"v":98},
      {"t":180,"v":21.2},
      {"u":"lon","t":180,"v":24.30628},
      {"u":"lat","t":180,"v":60.07967}
    ]`);
    const printed: [string, number, number][] = [
      ['%RH', 1.320067464e9, 20],
      ['lon', 1.320067464e9, 24.30621],
      ['lat', 1.320067464e9, 60.07965],
      ['%RH', 1.320067524e9, 20.3],
      ['lon', 1.320067524e9, 24.30622],
      ['lat', 1.320067524e9, 60.07965],
      ['%RH', 1.320067584e9, 20.7],
      ['lon', 1.320067584e9, 24.30623],
      ['lat', 1.320067584e9, 60.07966],
      ['%EL', 1.320067614e9, 98],
      ['%RH', 1.320067644e9, 21.2],
      ['lon', 1.320067644e9, 24.30628],
      ['lat', 1.320067644e9, 60.07967],
    ];
    expect(records).toEqual(printed.map(([unit, time, value]) => of('urn:dev:ow:10e2073a01080063', unit, value, time)));
  });

  it('5.1.5: text, truth values and data stand beside numbers', () => {
    const records = resolve(`[
      {"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
      {"n":"label","vs":"Machine Room"},
      {"n":"open","vb":false},
      {"n":"nfv-reader","vd":"aGkgCg"}
    ]`);
    expect(records.map(({ value }) => value)).toEqual([23.1, 'Machine Room', false, 'aGkgCg']);
    expect(records.map(({ unit }) => unit)).toEqual(['Cel', null, null, null]);
  });

  it('5.1.6: a collection of resources under an address', () => {
    expect(
      resolve(`[
        {"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":27.2},
        {"n":"humidity","u":"%RH","v":80}
      ]`),
    ).toEqual([
      of('2001:db8::2/temperature', 'Cel', 27.2, 1320078429),
      of('2001:db8::2/humidity', '%RH', 80, 1320078429),
    ]);
  });

  it('5.1.7: a record of base fields alone is no measurement', () => {
    expect(
      resolve(`[
        {"bn":"urn:dev:ow:10e2073a01080063:"},
        {"n":"temp","u":"Cel","v":23.1},
        {"n":"heat","u":"/","v":1},
        {"n":"fan","u":"/","v":0}
      ]`).map(({ name, value }) => [name, value]),
    ).toEqual([
      ['urn:dev:ow:10e2073a01080063:temp', 23.1],
      ['urn:dev:ow:10e2073a01080063:heat', 1],
      ['urn:dev:ow:10e2073a01080063:fan', 0],
    ]);
  });
});

describe('the rules of RFC 8428, section 4', () => {
  const fault = (text: string) => {
    const resolved = resolveSenml(JSON.parse(text));
    return resolved.kind === 'rejected' ? resolved.fault.code : (resolved.faults[0]?.code ?? null);
  };

  it('4.1: base value and base sum are added, also across records', () => {
    const records = resolve('[{"n":"a","bv":20,"bs":100,"v":1.5},{"n":"b","v":-2,"s":7},{"n":"c","bv":0,"v":3}]');
    expect(records.map(({ value, sum }) => [value, sum])).toEqual([
      [21.5, null],
      [18, 107],
      [3, null],
    ]);
  });

  it('4.2: exactly one value, unless there is a sum', () => {
    expect(fault('[{"n":"a","v":1,"vs":"1"}]')).toBe('not-one-value');
    expect(fault('[{"n":"a","vb":true,"vd":""}]')).toBe('not-one-value');
    expect(fault('[{"n":"a","u":"Cel"}]')).toBe('not-one-value');
    expect(resolve('[{"n":"a","u":"J","s":1}]')).toMatchObject([{ value: null, sum: 1 }]);
  });

  it('4.4: an unknown field is ignored, unless it ends in _', () => {
    expect(fault('[{"n":"a","v":1,"extra":{"x":1}}]')).toBeNull();
    expect(fault('[{"n":"a","v":1},{"n":"b","v":2,"extra_":1}]')).toBe('unknown-field');
  });

  it('4.4: versions up to 10 are read, newer ones and mixed ones are not; RFC 9100: 26 is 10 with secondary units', () => {
    for (const version of [1, 5, 10, 26]) expect(fault(`[{"n":"a","v":1,"bver":${version}}]`)).toBeNull();
    for (const version of [11, 12, 42, 1e9]) expect(fault(`[{"n":"a","v":1,"bver":${version}}]`)).toBe('newer-version');
    for (const version of ['0', '-1', '9.5', '"10"', 'true']) {
      expect(fault(`[{"n":"a","v":1,"bver":${version}}]`)).toBe('bad-base');
    }
    expect(fault('[{"n":"a","v":1,"bver":5},{"n":"a","v":1,"bver":10}]')).toBe('bad-base');
  });

  it('4.5.1: a name is of letters, digits and - : . / _ and begins with a letter or digit', () => {
    for (const name of ['', ':a', '-a', 'a b', 'é', 'a?', 'a\u0000'])
      expect(fault(JSON.stringify([{ n: name, v: 1 }]))).toBe('bad-name');
    expect(fault('[{"n":"9-:./_a","v":1}]')).toBeNull();
    expect(fault('[{"bn":":","n":"a","v":1}]')).toBe('bad-name');
  });
});
