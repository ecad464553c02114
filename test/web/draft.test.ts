import { describe, expect, it } from 'vitest';
import type { UnassignedTopic } from '../../server/api/contract/mapping.ts';
import { newMapping } from '../../server/api/contract/mapping.ts';
import {
  changed,
  childPointer,
  draftOf,
  emptyDraft,
  has,
  namedByLevel,
  namedByText,
  namingLevelOf,
  namingLevels,
  toggle,
  toMapping,
  withSuggested,
} from '../../web/src/mapping/draft.ts';

type Leaf = UnassignedTopic['leaves'][number];

const temperature: Leaf = {
  pointer: '/t',
  value: 61.2,
  quantity: { quantity: 'temperature', unit: 'F' },
  time: null,
};
const label: Leaf = { pointer: '/id', value: 'g1', quantity: null, time: null };
const stamp: Leaf = { pointer: '/at', value: 1_768_428_600_000, quantity: null, time: 'epoch-ms' };
const sent: Leaf = { pointer: '/sent', value: 1_768_428_601_000, quantity: null, time: 'epoch-ms' };
const empty = emptyDraft('attic/{sensor}/state', '{sensor}');

describe('pointers to what a message holds', () => {
  // RFC 6901, 5: the pointers of its example document
  it.each([
    ['foo', '/foo'],
    ['', '/'],
    ['a/b', '/a~1b'],
    ['c%d', '/c%d'],
    ['m~n', '/m~0n'],
    [' ', '/ '],
  ])('name the member %j as RFC 6901 does', (key, pointer) => {
    expect(childPointer('', key)).toBe(pointer);
  });

  it('name an element of an array by its number', () => {
    expect(childPointer('/foo', 0)).toBe('/foo/0');
  });
});

describe('a mapping being made', () => {
  it('takes a value in by one choice and out by the next', () => {
    const once = toggle(empty, temperature);
    expect(has(once, '/t')).toBe(true);
    expect(toggle(once, temperature)).toEqual(empty);
  });

  it('takes in what names tell, one time only, and leaves the rest', () => {
    const draft = withSuggested(empty, [label, temperature, stamp, sent]);
    expect(draft.values.map(({ pointer, meaning }) => [pointer, meaning])).toEqual([
      ['/t', 'temperature'],
      ['/at', 'time'],
    ]);
    expect(toMapping(draft)).toEqual({
      kind: 'mapping',
      mapping: {
        topicPattern: 'attic/{sensor}/state',
        sensorKey: '{sensor}',
        values: [{ pointer: '/t', quantity: 'temperature', unit: 'F', scale: 1, offset: 0, sensorKey: null }],
        time: { pointer: '/at', form: 'epoch-ms' },
      },
    });
  });

  it('does not keep a unit that the quantity cannot have', () => {
    const humid = changed(toggle(empty, temperature), '/t', { meaning: 'humidity' });
    expect(humid.values[0]).toMatchObject({ meaning: 'humidity', unit: '%' });
  });

  it('says what is missing instead of sending it', () => {
    expect(toMapping(empty)).toMatchObject({ kind: 'fault', fault: 'nothing-chosen' });
    expect(toMapping(toggle(empty, stamp))).toMatchObject({ kind: 'fault', fault: 'nothing-chosen' });
    const twice = [temperature, stamp, sent].reduce(toggle, empty);
    expect(toMapping(twice)).toMatchObject({ kind: 'fault', fault: 'two-times', pointer: '/sent' });
    const scaled = changed(toggle(empty, temperature), '/t', { scale: 'ten' });
    expect(toMapping(scaled)).toMatchObject({ kind: 'fault', fault: 'no-number', pointer: '/t' });
  });

  it('takes a decimal comma for what it is', () => {
    const scaled = changed(toggle(empty, temperature), '/t', { scale: '0,1' });
    expect(toMapping(scaled)).toMatchObject({ kind: 'mapping', mapping: { values: [{ scale: 0.1 }] } });
  });

  it('comes back as it was when it is changed later', () => {
    const made = toMapping(withSuggested(empty, [temperature, stamp]));
    if (made.kind !== 'mapping') throw new Error('it is one');
    const mapping = { id: 1, filter: 'attic/+/state', subscribed: true, ...newMapping.parse(made.mapping) };
    expect(toMapping(draftOf(mapping))).toEqual(made);
  });
});

describe('what names the sensor', () => {
  it('may be any level of the topic', () => {
    expect(namingLevels('attic/gable-1/state').map(({ text }) => text)).toEqual(['attic', 'gable-1', 'state']);
    expect(namedByLevel('attic/gable-1/state', 1)).toEqual({
      topicPattern: 'attic/{sensor}/state',
      sensorKey: '{sensor}',
    });
    expect(namingLevelOf(namedByLevel('attic/gable-1/state', 1))).toBe(1);
  });

  it('may be a name of one’s own, for that topic alone', () => {
    const own = namedByText('cellar/temperature', 'cellar');
    expect(own).toEqual({ topicPattern: 'cellar/temperature', sensorKey: 'cellar' });
    expect(namingLevelOf(own)).toBeNull();
  });

  it('is no level that a pattern cannot hold as text', () => {
    expect(namingLevels('/a{b/c').map(({ index }) => index)).toEqual([2]);
    expect(namedByLevel('/a{b/c', 2).topicPattern).toBe('/+/{sensor}');
  });
});
