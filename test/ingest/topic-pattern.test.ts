import { describe, expect, it } from 'vitest';
import { covers, filterOf, matchTopic, readPattern, type TopicPattern } from '../../server/ingest/topic-pattern.ts';

function pattern(text: string): TopicPattern {
  const result = readPattern(text);
  if (result.kind === 'fault') throw new Error(result.message);
  return result.pattern;
}
const match = (text: string, topic: string): Record<string, string> | null => {
  const parts = matchTopic(pattern(text), topic);
  return parts === null ? null : Object.fromEntries(parts);
};

describe('wildcards', () => {
  // The examples of MQTT 5.0, 4.7.1.2, 4.7.1.3 and 4.7.2.
  it.each([
    ['sport/tennis/player1/#', 'sport/tennis/player1', true],
    ['sport/tennis/player1/#', 'sport/tennis/player1/ranking', true],
    ['sport/tennis/player1/#', 'sport/tennis/player1/score/wimbledon', true],
    ['sport/#', 'sport', true],
    ['#', 'sport/tennis', true],
    ['sport/tennis/+', 'sport/tennis/player1', true],
    ['sport/tennis/+', 'sport/tennis/player1/ranking', false],
    ['sport/+', 'sport', false],
    ['sport/+', 'sport/', true],
    ['+/+', '/finance', true],
    ['/+', '/finance', true],
    ['+', '/finance', false],
    ['#', '$SYS/uptime', false],
    ['+/monitor/Clients', '$SYS/monitor/Clients', false],
    ['$SYS/#', '$SYS/monitor', true],
    ['$SYS/monitor/+', '$SYS/monitor/Clients', true],
  ])('%s takes %s: %s', (text, topic, fits) => expect(match(text, topic) !== null).toBe(fits));

  // 4.7.1.2 and 4.7.1.3, the examples that are not valid
  it.each(['sport/tennis#', 'sport/tennis/#/ranking', 'sport+', 'sport/+a', '', 'a\u0000b'])(
    '%j is no pattern',
    (text) => expect(readPattern(text).kind).toBe('fault'),
  );
});

describe('a named part', () => {
  it('takes one level, or the middle of one', () => {
    expect(match('attic/{sensor}/state', 'attic/north beam/state')).toEqual({ sensor: 'north beam' });
    expect(match('{room}/th-{n}.json', 'loft/th-07.json')).toEqual({ room: 'loft', n: '07' });
    expect(match('{a}/+/#', 'x/y/z/w')).toEqual({ a: 'x' });
  });

  it('is never empty and never goes over a slash', () => {
    expect(match('attic/{sensor}', 'attic/')).toBeNull();
    expect(match('aba{x}aba', 'ababa')).toBeNull();
    expect(match('attic/{sensor}', 'attic/a/b')).toBeNull();
    expect(match('{sensor}/x', '$SYS/x')).toBeNull();
  });

  it.each(['{a}/{a}', '{a}{b}', '{A}', '{}', '{a', 'a}', '{a/b}', '{a}+', '{{a}}'])('cannot be written %s', (text) =>
    expect(readPattern(text).kind).toBe('fault'),
  );

  it('becomes + in the filter that a broker is asked for', () => {
    expect(filterOf(pattern('attic/th-{n}/+/#'))).toBe('attic/+/+/#');
  });
});

describe('a topic filter', () => {
  it.each([
    ['#', 'a/b', true],
    ['a/#', 'a/+/c', true],
    ['a/+', 'a/b', true],
    ['a/+', 'a/+', true],
    ['a/b', 'a/+', false],
    ['a/+', 'a/#', false],
    ['a/+', 'a/b/c', false],
    ['a/b/c', 'a/b', false],
    ['coomb/#', 'attic/+', false],
  ])('%s covers %s: %s', (wide, narrow, expected) => expect(covers(wide, narrow)).toBe(expected));
});
