import { expect, it } from 'vitest';
import { exposition } from '../../server/api/metrics.ts';
import { readExposition } from './exposition.ts';

it('what is written is read again, escapes and all', () => {
  const text = exposition([
    { type: 'counter', name: 'a_total', help: 'back\\slash and\nline', value: 3 },
    { type: 'gauge', name: 'b', help: 'b', value: -1.5e-7 },
    {
      type: 'histogram',
      name: 'h_seconds',
      help: 'h',
      value: {
        buckets: [
          { atMost: 0.1, count: 1 },
          { atMost: 2, count: 4 },
        ],
        sum: 5,
        count: 6,
      },
    },
  ]);
  const families = readExposition(text);
  expect([...families.keys()]).toEqual(['a_total', 'b', 'h_seconds']);
  expect(families.get('a_total')).toMatchObject({ type: 'counter', help: 'back\\\\slash and\\nline' });
  expect(families.get('b')!.samples[0]!.value).toBe(-1.5e-7);
  expect(families.get('h_seconds')!.samples).toHaveLength(5);
});

it.each([
  ['no line feed at the end', 'a 1'],
  ['no number', 'a one\n'],
  ['a name that is none', '1a 1\n'],
  ['TYPE after its samples', 'a 1\n# TYPE a gauge\n'],
  ['TYPE twice', '# TYPE a gauge\n# TYPE a gauge\na 1\n'],
  ['a type that is none', '# TYPE a speed\na 1\n'],
  ['lines of a name apart', 'a{x="1"} 1\nb 1\na{x="2"} 1\n'],
  ['a sample twice', 'a{x="1"} 1\na{x="1"} 2\n'],
  ['a label without quotes', 'a{x=1} 1\n'],
  ['a quote that is not escaped', 'a{x="""} 1\n'],
  ['two blanks', 'a  1\n'],
  ['a histogram without +Inf', '# TYPE h histogram\nh_bucket{le="1"} 1\nh_sum 1\nh_count 1\n'],
  ['a histogram that falls', '# TYPE h histogram\nh_bucket{le="1"} 2\nh_bucket{le="+Inf"} 1\nh_sum 1\nh_count 1\n'],
  ['a histogram that counts otherwise', '# TYPE h histogram\nh_bucket{le="+Inf"} 1\nh_sum 1\nh_count 2\n'],
])('the reader refuses %s', (_, text) => {
  expect(() => readExposition(text)).toThrow();
});
