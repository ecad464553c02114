import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, Readings, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { runsOf, spacingOf, spanWords } from './shared.ts';

/** Every quantity repeats one value while readings go on coming; or the humidity alone does while the temperature moves. */
export function flatLined(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { battery: _battery, ...measured } = window.series;
  const all = Object.values(measured).filter(({ times }) => times.length > 0);
  const { temperature, humidity } = window.series;
  const findings: HealthFinding[] = [];
  if (temperature !== undefined) {
    for (const { from, to, readings } of steadySpans(temperature, all)) {
      const saturated = all.length === 2 && humidity !== undefined && valueAt(humidity, from) >= settings.saturatedPct;
      const least = all.length > 1 && !saturated ? settings.flatAllMs : settings.flatAloneMs;
      const kept = Math.max(settings.flatReadings, (0.5 * (to - from)) / spacingOf(temperature));
      if (to - from < least || readings < kept) continue;
      findings.push({
        code: 'flat-lined',
        severity: 'warning',
        message: `It repeated one value for ${spanWords(to - from)}: ${readings} readings without the smallest change.`,
        data: { hours: (to - from) / HOUR_MS, readings, quantities: Object.keys(measured) },
        from,
        to,
        whatToDo: 'Restart the sensor; if it happens again, its program repeats old values or its chip has died.',
        effect: isLeftOut(to - from, humidity !== undefined && !saturated, settings)
          ? { kind: 'not-counted' }
          : { kind: 'shown' },
      });
    }
  }
  if (temperature !== undefined && humidity !== undefined) {
    const { times, values } = humidity;
    const repeats = runsOf(values.length - 1, (k) => values[k] === values[k + 1]);
    for (const run of repeats) {
      const from = times[run.first]!;
      const to = times[run.last + 1]!;
      const value = values[run.first]!;
      if (to - from < settings.flatHumidityMs || value >= settings.saturatedPct) continue;
      const swing = swingWithin(temperature, from, to);
      if (!(swing >= settings.flatHumidityTemperatureK)) continue;
      if (findings.some((known) => known.from <= from && known.to >= to)) continue;
      findings.push({
        code: 'flat-lined',
        severity: 'warning',
        message: `Its humidity stayed at ${value} % for ${spanWords(to - from)} while the temperature moved by ${swing.toFixed(1)} K.`,
        data: { hours: (to - from) / HOUR_MS, humidityPct: value, temperatureSwingK: swing },
        from,
        to,
        whatToDo: 'Restart the sensor; if the humidity stays where it is, the humidity element has died: replace it.',
        effect: { kind: 'shown' },
      });
    }
  }
  return findings;
}

/** Whether the whole hours inside such a span are surely enough for `doubtfulHours` to leave them out. */
function isLeftOut(span: number, humidityTells: boolean, settings: HealthSettings): boolean {
  return span >= (humidityTells ? settings.flatAllMs : settings.flatAloneMs) + 2 * HOUR_MS;
}

/** Spans within which no quantity changed, with the number of temperature readings in each. */
function steadySpans(
  temperature: Readings,
  all: readonly Readings[],
): { from: number; to: number; readings: number }[] {
  const changes = new Set<number>();
  for (const { times, values } of all) {
    for (let k = 1; k < times.length; k++) if (values[k] !== values[k - 1]) changes.add(times[k]!);
  }
  const ends = [...changes].sort((a, b) => a - b);
  const { times } = temperature;
  const spans: { from: number; to: number; readings: number }[] = [];
  let next = 0;
  for (let k = 0; k < times.length; ) {
    while (next < ends.length && ends[next]! <= times[k]!) next++;
    const end = ends[next] ?? Number.POSITIVE_INFINITY;
    const first = k;
    while (k < times.length && times[k]! < end) k++;
    spans.push({ from: times[first]!, to: times[k - 1]!, readings: k - first });
  }
  return spans;
}

/** The last value up to a time; NaN: none. */
const valueAt = ({ times, values }: Readings, time: number): number =>
  values[times.findLastIndex((one) => one <= time)] ?? Number.NaN;

function swingWithin({ times, values }: Readings, from: number, to: number): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < times.length; k++) {
    if (times[k]! < from || times[k]! > to) continue;
    low = Math.min(low, values[k]!);
    high = Math.max(high, values[k]!);
  }
  return high - low;
}
