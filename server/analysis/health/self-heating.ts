import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, Readings, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf } from './shared.ts';

/** Periods in which a sensor may send or do other work that warms it, ms. */
const periods = [1, 2, 3, 6].map((hours) => hours * HOUR_MS);

/**
 * Warmer at the same moment of each period than just before and after: the sensor warms itself when it works. Warmth
 * that is there all the time cannot be seen by the sensor itself: a side-by-side run shows it.
 */
export function selfHeating({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { temperature } = series;
  if (temperature === undefined || temperature.times.length < 2) return [];
  const spacing = medianOf(temperature.times.subarray(1).map((time, k) => time - temperature.times[k]!));
  for (const period of periods) {
    const bins = Math.round(period / spacing);
    if (bins < settings.selfHeatingReadings) continue;
    const found = foldedRise(temperature, period, bins, settings);
    if (found === null) continue;
    return [
      {
        code: 'self-heating',
        severity: 'caution',
        message: `Every ${period === HOUR_MS ? 'hour' : `${period / HOUR_MS} hours`} it reads ${found.riseK.toFixed(1)} K warmer than just before and after, in step with its own work: it warms itself.`,
        data: { riseK: found.riseK, periodHours: period / HOUR_MS, periodsSeen: found.seen, share: found.share },
        from: temperature.times[0]!,
        to: temperature.times.at(-1)!,
        whatToDo:
          'Measure before the radio is switched on, let the chip sleep between readings, and keep it apart from the parts that get warm.',
        effect: { kind: 'wider', quantity: 'temperature', limit: found.riseK },
      },
    ];
  }
  return [];
}

function foldedRise(
  { times, values }: Readings,
  period: number,
  bins: number,
  settings: HealthSettings,
): { riseK: number; seen: number; share: number } | null {
  const width = period / bins;
  // only those in which something was read: there are millions where a sensor sends without pause
  const rises = new Map<number, number[]>();
  for (let k = 1; k + 1 < values.length; k++) {
    if (times[k + 1]! - times[k - 1]! > 3 * width) continue;
    const bin = Math.min(bins - 1, Math.floor((times[k]! % period) / width));
    // against the straight line between its neighbours, so that a steady warming does not count
    const along = (times[k]! - times[k - 1]!) / (times[k + 1]! - times[k - 1]!);
    const rise = values[k]! - (values[k - 1]! + along * (values[k + 1]! - values[k - 1]!));
    const others = rises.get(bin);
    if (others === undefined) rises.set(bin, [rise]);
    else others.push(rise);
  }
  const warm = [...rises.values()]
    .filter((of) => of.length >= settings.selfHeatingPeriods)
    .map((of) => ({
      riseK: medianOf(of),
      seen: of.length,
      share: of.filter((rise) => rise >= settings.selfHeatingK).length / of.length,
    }))
    .filter(({ share }) => share >= settings.selfHeatingShare);
  // as many warm moments as cool ones: two sensors by turns, which is another rule's
  if (warm.length === 0 || warm.length > bins / 3) return null;
  return warm.reduce((a, b) => (b.riseK > a.riseK ? b : a));
}
