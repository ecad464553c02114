import { HOUR_MS } from '../vocabulary.ts';
import type { HealthFinding, Readings, SensorWindow } from './finding.ts';
import type { HealthSettings } from './settings.ts';
import { medianOf } from './shared.ts';

/** Degrees Fahrenheit as degrees Celsius. Exact by definition: 32 °F is 0 °C and a kelvin is 1.8 °F. */
const fromFahrenheit = (value: number): number => (value - 32) / 1.8;

/** Fahrenheit in a field of °C, or humidity as a share of 1 in a field of %. */
export function unitMixUp(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  return [...fahrenheit(window, settings), ...shareOfOne(window, settings)];
}

function fahrenheit(window: SensorWindow, settings: HealthSettings): HealthFinding[] {
  const { series, kind } = window;
  if (series.temperature === undefined || kind === null) return [];
  const limit =
    kind === 'loft-air' || kind === 'loft-timber'
      ? settings.fahrenheitLoftC
      : kind === 'outdoor-air'
        ? settings.fahrenheitOutdoorC
        : settings.fahrenheitRoomC;
  const hot = dayMedians(series.temperature, settings).find(({ median }) => median > limit);
  const evidence = hot
    ? { from: hot.from, to: hot.to, medianC: hot.median, told: `a day's middle value of ${hot.median.toFixed(1)} °C` }
    : apartFromColdAir(window, settings);
  if (evidence === null) return [];
  const inCelsius = fromFahrenheit(evidence.medianC);
  return [
    {
      code: 'unit-mix-up',
      severity: 'warning',
      message: `It seems to send degrees Fahrenheit as °C: ${evidence.told}, which would be ${inCelsius.toFixed(1)} °C if it is Fahrenheit.`,
      data: { shownC: evidence.medianC, ifFahrenheitC: inCelsius },
      from: evidence.from,
      to: evidence.to,
      whatToDo:
        'Let the device send °C, or map the value as Fahrenheit; until then take the sensor away from its place so that it counts nowhere.',
      effect: { kind: 'shown' },
    },
  ];
}

function dayMedians({ times, values }: Readings, settings: HealthSettings) {
  const found: { from: number; to: number; median: number }[] = [];
  for (let first = 0; first < times.length; ) {
    let end = first;
    while (end < times.length && times[end]! < times[first]! + settings.fahrenheitMs) end++;
    if (end - first >= 12) {
      found.push({ from: times[first]!, to: times[end - 1]!, median: medianOf(values.subarray(first, end)) });
    }
    first = end;
  }
  return found;
}

/** Loft and outdoor air follow each other: far apart as they are, near once converted. */
function apartFromColdAir(window: SensorWindow, settings: HealthSettings) {
  const { kind, places, placeId, start } = window;
  if (kind !== 'loft-air' && kind !== 'outdoor-air') return null;
  const own = places.find((place) => place.placeId === placeId);
  const other = places.find(
    (place) => (place.kind === 'loft-air' || place.kind === 'outdoor-air') && place.placeId !== placeId,
  );
  if (own === undefined || other === undefined) return null;
  const apart: number[] = [];
  const converted: number[] = [];
  const shown: number[] = [];
  for (let i = 0; i < own.temperature.length; i++) {
    const value = own.temperature[i]!;
    const difference = value - other.temperature[i]!;
    if (Number.isNaN(difference)) continue;
    shown.push(value);
    apart.push(difference);
    converted.push(Math.abs(fromFahrenheit(value) - other.temperature[i]!));
  }
  if (apart.length < settings.fahrenheitHours) return null;
  const difference = medianOf(apart);
  if (difference < settings.fahrenheitApartK || medianOf(converted) > settings.fahrenheitNearK) return null;
  return {
    from: start,
    to: start + own.temperature.length * HOUR_MS,
    medianC: medianOf(shown),
    told: `it stands ${difference.toFixed(0)} K above ${other.name}`,
  };
}

function shareOfOne({ series }: SensorWindow, settings: HealthSettings): HealthFinding[] {
  if (series.humidity === undefined) return [];
  const low = dayMedians(series.humidity, settings).find(({ median }) => median < settings.shareOfOnePct);
  if (low === undefined) return [];
  return [
    {
      code: 'unit-mix-up',
      severity: 'warning',
      message: `Its humidity stays at ${low.median.toFixed(2)} %: it seems to send a share of 1 in place of percent.`,
      data: { shownPct: low.median, ifShareOfOnePct: 100 * low.median },
      from: low.from,
      to: low.to,
      whatToDo: 'Let the device send percent, or map the value as a share of 1.',
      effect: { kind: 'shown' },
    },
  ];
}
