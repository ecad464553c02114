import { describe, expect, it } from 'vitest';
import { readTopic, topicOf } from '../../server/ingest/topic.ts';

describe('a topic', () => {
  it('of our own form names a dwelling and a sensor', () => {
    expect(readTopic('coomb/gable-cottage/eaves-3')).toEqual({
      kind: 'sensor',
      dwellingSlug: 'gable-cottage',
      sensorKey: 'eaves-3',
    });
    expect(readTopic(topicOf('home', 'Loft Ä 2'))).toMatchObject({ sensorKey: 'Loft Ä 2' });
  });

  it.each([
    '',
    'coomb',
    'coomb/home',
    'coomb/home/',
    'coomb//eaves',
    'coomb/home/eaves/temperature',
    'Coomb/home/eaves',
    'coomb/Home/eaves',
    '/coomb/home/eaves',
    'coomb/home/a\nb',
    'coomb/home/+',
    'coomb/home/\u0000',
    `coomb/home/${'x'.repeat(129)}`,
    '$SYS/uptime',
    'attic/eaves/state',
  ])('%j is not of that form', (topic) => {
    const address = readTopic(topic);
    expect(address.kind).toBe('unknown-topic');
    if (address.kind === 'unknown-topic') expect(address.message).toContain('coomb/<dwelling>/<sensor>');
  });
});
