import { RISK_HUMIDITY } from '../physics/hours-over.ts';
import type { AssessmentSettings, Finding, SensorUncertainty, Target } from './assessment.ts';
import { nightHours } from './night-hours.ts';

export const assessmentSettings: AssessmentSettings = Object.freeze({
  nightFrom: nightHours.from,
  nightTo: nightHours.to,
  settleHours: 4,
  riskLimitPct: RISK_HUMIDITY,
  resamples: 1000,
  mouldResamples: 30,
  blockDays: 3,
  fewestDays: 7,
  lowestCoveragePct: 50,
  usefulDifferenceK: 10,
  leastDifferenceK: 3,
  widestHalfInterval: 0.15,
  convergenceShare: 0.05,
  smallestChange: 0.03,
  falseAlarm: 0.005,
  methodUncertaintyK: 0.025,
  storedHeatK: 0.03,
  humidityClassLimit: 2,
  heatedToC: 18,
  mouldSensitivity: 'sensitive',
  smallestExcessChangePa: 40,
  timberLimitPct: 20,
  mouldLimit: 1,
});

/** @source BRE IP 1/06 */
export const defaultTarget: Target = Object.freeze({ f: 0.75, source: 'BRE IP 1/06, dwellings' });

/**
 * What is assumed of a sensor nobody has calibrated: data sheets of cheap sensors promise about 0.5 K and 3 % (from
 * memory), read as 95 % bounds. Between two winters, and when a probe is bonded to a new surface, the offset may move by
 * nearly as much.
 */
export const assumedUncertainty: SensorUncertainty = Object.freeze({
  temperatureOffsetK: 0.25,
  humidityOffsetPct: 1.5,
  temperatureDriftK: 0.2,
  humidityDriftPct: 1,
  source: 'assumed: not calibrated, typical data sheet of 0.5 K and 3 % read as 95 % bounds',
});

interface Range {
  readonly low: number;
  readonly high: number;
  readonly unit: string;
}

const ranges: { readonly [Name in keyof AssessmentSettings]?: Range } = {
  nightFrom: { low: 0, high: 23, unit: 'h' },
  nightTo: { low: 0, high: 23, unit: 'h' },
  settleHours: { low: 0, high: 12, unit: 'h' },
  riskLimitPct: { low: 50, high: 100, unit: '%' },
  resamples: { low: 200, high: 100_000, unit: '' },
  mouldResamples: { low: 20, high: 10_000, unit: '' },
  blockDays: { low: 1, high: 30, unit: 'd' },
  fewestDays: { low: 3, high: 365, unit: 'd' },
  lowestCoveragePct: { low: 0, high: 100, unit: '%' },
  usefulDifferenceK: { low: 0, high: 50, unit: 'K' },
  leastDifferenceK: { low: 0, high: 50, unit: 'K' },
  widestHalfInterval: { low: 0.01, high: 1, unit: '' },
  convergenceShare: { low: 0.001, high: 1, unit: '' },
  smallestChange: { low: 0, high: 1, unit: '' },
  falseAlarm: { low: 0.0001, high: 0.2, unit: '' },
  methodUncertaintyK: { low: 0, high: 5, unit: 'K' },
  storedHeatK: { low: 0, high: 5, unit: 'K' },
  heatedToC: { low: 5, high: 30, unit: '°C' },
  smallestExcessChangePa: { low: 0, high: 2000, unit: 'Pa' },
  timberLimitPct: { low: 5, high: 100, unit: '%' },
  mouldLimit: { low: 0.1, high: 6, unit: '' },
};

/** The settings with the differences applied; one out of range keeps its default and is reported. */
export function checkSettings(
  changes: Partial<AssessmentSettings>,
  target: Target,
): { settings: AssessmentSettings; findings: readonly Finding[] } {
  const findings: Finding[] = [];
  const refuse = (name: string, value: number, { low, high, unit }: Range): void => {
    findings.push({
      code: 'setting-out-of-range',
      severity: 'blocks',
      phase: null,
      place: null,
      message: `${name} is ${value} ${unit}; it must lie between ${low} and ${high} ${unit}.`
        .replaceAll('  ', ' ')
        .replaceAll(' .', '.')
        .replaceAll(' ;', ';'),
      data: { setting: name, value, low, high },
      mend: 'Correct the setting.',
      by: null,
    });
  };
  const settings: Record<string, unknown> = { ...assessmentSettings };
  for (const [name, value] of Object.entries(changes)) {
    if (value === undefined) continue;
    const range = ranges[name as keyof AssessmentSettings];
    if (range !== undefined && !(Number(value) >= range.low && Number(value) <= range.high)) {
      refuse(name, Number(value), range);
      continue;
    }
    settings[name] = value;
  }
  if (!(target.f > 0 && target.f < 1)) refuse('target f', target.f, { low: 0, high: 1, unit: '' });
  return { settings: Object.freeze(settings) as unknown as AssessmentSettings, findings };
}
