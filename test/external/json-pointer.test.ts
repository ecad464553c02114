import { describe, expect, it } from 'vitest';
import { pointerOf, pointerTokens, valueAt } from '../../server/ingest/json-pointer.ts';

/** The document and table of RFC 6901, section 5. */
const document: unknown = JSON.parse(String.raw`{
  "foo": ["bar", "baz"],
  "": 0,
  "a/b": 1,
  "c%d": 2,
  "e^f": 3,
  "g|h": 4,
  "i\\j": 5,
  "k\"l": 6,
  " ": 7,
  "m~n": 8
}`);

const at = (pointer: string): unknown => valueAt(document, pointerTokens(pointer)!);

describe('the examples of RFC 6901, section 5', () => {
  it('the empty pointer is the whole document', () => expect(at('')).toBe(document));

  it.each([
    ['/foo', ['bar', 'baz']],
    ['/foo/0', 'bar'],
    ['/', 0],
    ['/a~1b', 1],
    ['/c%d', 2],
    ['/e^f', 3],
    ['/g|h', 4],
    ['/i\\j', 5],
    ['/k"l', 6],
    ['/ ', 7],
    ['/m~0n', 8],
  ])('%s is %j', (pointer, expected) => {
    expect(at(pointer)).toEqual(expected);
    expect(pointerOf(pointerTokens(pointer)!)).toBe(pointer);
  });
});

describe('the rules of RFC 6901', () => {
  it('section 3: text without a leading slash, or with a lone ~, is no pointer', () => {
    for (const text of ['foo', 'foo/0', '#/foo', '/~', '/~2', '/a~', '/~~1']) expect(pointerTokens(text)).toBeNull();
  });

  it('section 4: ~01 is ~1 and not /', () => expect(pointerTokens('/~01')).toEqual(['~1']));

  it('section 4: an index has no leading zero, and - is after the last element', () => {
    for (const pointer of [
      '/foo/00',
      '/foo/01',
      '/foo/-',
      '/foo/-1',
      '/foo/1.0',
      '/foo/1e0',
      '/foo/2',
      '/foo/length',
    ]) {
      expect(at(pointer)).toBeUndefined();
    }
  });

  it('nothing is found in what is no object, nor among what objects inherit', () => {
    for (const pointer of ['/foo/0/0', '/a~1b/x', '/toString', '/constructor/name', '/__proto__']) {
      expect(at(pointer)).toBeUndefined();
    }
    expect(valueAt(null, ['a'])).toBeUndefined();
  });
});
