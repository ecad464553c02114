import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, Readings, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf, robustSlope } from './shared.ts';

const DAY_MS = 24 * HOUR_MS;
const BIN_MS = 6 * HOUR_MS;
/** A rise like this is a new battery, V. */
const CHANGED_V = 0.15;

/** How a battery is doing: its voltage now, and how long until it is flat if it goes on falling as it does. */
export interface BatteryTrend {
  /** median of its last readings, V */
  readonly volts: number;
  /** taken for flat, V */
  readonly cutOffVolts: number;
  /** null: too few readings, or no fall that can be told from chance */
  readonly daysLeft: { readonly value: number; readonly low: number; readonly high: number | null } | null;
}

/**
 * Battery voltage and days left, from a robust slope over a long and a short span: the earlier end of the two. Most
 * batteries fall faster towards their end than a straight line.
 *
 * @returns null without a voltage
 */
export function batteryTrend(battery: Readings | undefined, settings: HealthSettings): BatteryTrend | null {
  if (battery === undefined || battery.times.length === 0) return null;
  const { times, volts } = binned(battery);
  const now = medianOf(volts.slice(-3));
  const level = medianOf(volts);
  const cutOffVolts = settings.batteryCutOff.find(([upTo]) => level <= upTo)?.[1];
  if (cutOffVolts === undefined) return null;
  const left = settings.batteryWindowsMs.flatMap((span) => {
    const first = times.findIndex((time) => time >= times.at(-1)! - span);
    const slope = robustSlope(times.slice(first), volts.slice(first));
    if (slope === null || times.length - first < settings.batteryReadings || !(slope.value < 0)) return [];
    // an interval that holds a rise is no fall
    if (!(slope.high < 0)) return [];
    const days = (perMs: number): number => Math.max(0, (now - cutOffVolts) / -perMs / DAY_MS);
    return [{ value: days(slope.value), low: days(slope.low), high: days(slope.high) }];
  });
  left.sort((a, b) => a.value - b.value);
  return { volts: now, cutOffVolts, daysLeft: left[0] ?? null };
}

/** Medians of quarters of a day since the battery was last changed. */
function binned({ times, values }: Readings): { times: number[]; volts: number[] } {
  const bins = { times: [] as number[], volts: [] as number[] };
  for (let first = 0; first < times.length; ) {
    const bin = Math.floor(times[first]! / BIN_MS);
    let end = first;
    while (end < times.length && Math.floor(times[end]! / BIN_MS) === bin) end++;
    bins.times.push((bin + 0.5) * BIN_MS);
    bins.volts.push(medianOf(values.subarray(first, end)));
    first = end;
  }
  const changed = bins.volts.findLastIndex((volts, k) => k > 0 && volts - bins.volts[k - 1]! >= CHANGED_V);
  return changed < 0 ? bins : { times: bins.times.slice(changed), volts: bins.volts.slice(changed) };
}

/** A battery that is flat, or will be before long. */
export function battery(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const readings = window.series.battery;
  const trend = batteryTrend(readings, settings);
  if (trend === null || readings === undefined) return [];
  const { volts, cutOffVolts, daysLeft } = trend;
  const flat = volts <= cutOffVolts;
  if (!flat && !(daysLeft !== null && daysLeft.value <= settings.batterySoonDays)) return [];
  const days = (value: number): string => value.toFixed(0);
  const told =
    flat || daysLeft === null
      ? `Its battery is down to ${volts.toFixed(2)} V: flat.`
      : `Its battery is at ${volts.toFixed(2)} V and falling: about ${days(daysLeft.value)} days left (${days(daysLeft.low)} to ${daysLeft.high === null ? 'many' : days(daysLeft.high)}) until ${cutOffVolts} V.`;
  return [
    {
      code: 'battery',
      severity: flat || (daysLeft !== null && daysLeft.value <= settings.batteryNowDays) ? 'warning' : 'caution',
      message: told,
      data: {
        volts,
        cutOffVolts,
        daysLeft: daysLeft?.value ?? null,
        daysLeftLow: daysLeft?.low ?? null,
        daysLeftHigh: daysLeft?.high ?? null,
      },
      from: readings.times[0]!,
      to: readings.times.at(-1)!,
      whatToDo: 'Change or charge the battery.',
      effect: { kind: 'shown' },
    },
  ];
}
