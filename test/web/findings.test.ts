import { describe, expect, it } from 'vitest';
import { healthCodes } from '../../server/analysis/health/finding.ts';
import type { SensorFinding } from '../../server/api/contract/dwelling.ts';
import { findingWords } from '../../web/src/words/place-figures.ts';
import { words } from '../../web/src/words/words.ts';

const finding = (code: SensorFinding['code'], severity: SensorFinding['severity']): SensorFinding => ({
  sensorId: 1,
  sensorName: 'Box',
  code,
  severity,
  message: '',
  data: {},
  from: '2026-01-14T22:10:00.000Z',
  to: '2026-01-14T22:10:00.000Z',
  whatToDo: '',
  effect: { kind: 'shown' },
});

describe('what is found of a sensor, beside a figure', () => {
  it('has a name for everything that can be found', () => {
    expect(Object.keys(words.findings.names).sort()).toEqual([...healthCodes].sort());
  });

  it('names each trouble once and leaves mere notes out', () => {
    expect(findingWords([finding('spikes', 'caution'), finding('spikes', 'warning'), finding('gaps', 'note')])).toBe(
      'sensor: spikes',
    );
    expect(findingWords([finding('gaps', 'note')])).toBe('');
    expect(findingWords([])).toBe('');
  });
});
