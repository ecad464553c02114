import { DateTime } from 'luxon';
import type { Quantity } from '../physics/quantities.ts';
import { dataSheetError, type SensorChip, sensorAccuracy } from '../physics/sensor-accuracy.ts';
import { type ErrorPart, measured, standardUncertainty } from '../physics/uncertainty.ts';
import type { SensorUncertainty, SharedError, Span } from './assessment.ts';
import type { SensorStay } from './assessment-input.ts';
import { assumedUncertainty } from './assessment-settings.ts';
import { applying, type Calibration, type CalibrationMethod } from './calibration.ts';
import { nowSettings } from './now.ts';

const chips = Object.keys(sensorAccuracy) as SensorChip[];

/** The chip that a sensor's type names, in any spelling; a type that names none of ours is a generic sensor. */
export function chipOf(model: string | null): SensorChip {
  const plain = (model ?? '').toUpperCase().replace(/[^A-Z0-9]/g, '');
  return chips.find((chip) => plain.includes(chip.toUpperCase())) ?? 'generic';
}

/** What decides how far one sensor can be trusted. */
export interface KnownSensor {
  /** name of this one sensor: its errors are its own */
  readonly key: string;
  /** its type, as its user names it */
  readonly model: string | null;
}

/**
 * The errors that a reading may have: what the calibration in force leaves of them or, without one, what the data sheet of
 * the sensor's chip allows. Empty for quantities of which neither is known.
 */
export function sensorErrors(sensor: KnownSensor, quantity: Quantity, calibration: Calibration | null): ErrorPart[] {
  if (calibration !== null) return calibrationErrors(sensor, quantity, calibration);
  if (quantity !== 'temperature' && quantity !== 'humidity') return [];
  const error = dataSheetError(chipOf(sensor.model), quantity, sensor.key);
  return error === null ? [] : [error];
}

function calibrationErrors(sensor: KnownSensor, quantity: Quantity, calibration: Calibration): ErrorPart[] {
  const { uncertainty, sharedSource, sharedUncertainty } = calibration;
  const source = `${sensor.key}, ${quantity}, calibrated at ${calibration.madeAt} ms`;
  const own = { source, contribution: ownUncertainty(uncertainty, sharedUncertainty) };
  return sharedSource === null || sharedUncertainty === 0
    ? [own]
    : [{ source: sharedSource, contribution: sharedUncertainty }, own];
}

/** What is left of an uncertainty when the part that is shared is taken out. */
export const ownUncertainty = (whole: number, shared: number): number =>
  shared === 0 ? whole : Math.sqrt(Math.max(0, whole * whole - shared * shared));

const methodWords: Record<CalibrationMethod, string> = {
  'side-by-side': 'side by side',
  salt: 'saturated salt',
  'ice-point': 'ice point',
  'reference-instrument': 'reference instrument',
};

/** Where what is known of a sensor's errors comes from, e.g. `calibrated 2025-10-02, side by side`. */
export function accuracySource(
  model: string | null,
  quantity: Quantity,
  calibration: Calibration | null,
  zone: string,
): string {
  if (calibration !== null) {
    const day = DateTime.fromMillis(calibration.madeAt, { zone }).toISODate();
    return `calibrated ${day}, ${methodWords[calibration.method]}`;
  }
  const chip = chipOf(model);
  if (quantity !== 'temperature' && quantity !== 'humidity') return 'accuracy not known, not calibrated';
  if (chip === 'generic') return 'a cautious guess for a sensor of unknown type, not calibrated';
  if (dataSheetError(chip, quantity, '') === null) return `${chip} measures no ${quantity}, not calibrated`;
  return `data sheet of ${chip}, not calibrated`;
}

/** A sensor that stood at a place, for as long as it did. */
export interface WatchingSensor extends KnownSensor, Pick<SensorStay, 'from' | 'to'> {
  /** calibrations in use of its series, oldest first; null where it has no such series */
  readonly temperature: readonly Calibration[] | null;
  readonly humidity: readonly Calibration[] | null;
}

interface Doubt {
  readonly uncertainty: number;
  readonly source: string;
  readonly shared: SharedError | null;
  readonly assumed: boolean;
}

/**
 * What the sensors that stood at a place may be wrong by over the spans that are compared: the largest there was, of each
 * quantity. A sensor calibrated half-way through was not calibrated before; let the calibration begin earlier if the
 * sensor did not change. How far a sensor drifts between the phases is assumed.
 *
 * @param spans what is compared; empty: all the time
 * @returns null where nothing is known of any sensor: the assessment then makes its own assumption and says so
 */
export function placeUncertainty(
  sensors: readonly WatchingSensor[],
  spans: readonly Span[],
  zone: string,
): SensorUncertainty | null {
  const temperature = worst(doubts(sensors, 'temperature', spans, zone));
  const humidity = worst(doubts(sensors, 'humidity', spans, zone));
  const known = [temperature, humidity].filter((doubt) => doubt !== null);
  if (known.every(({ assumed }) => assumed)) return null;
  const sources = [...new Set(known.map(({ source }) => source))];
  return {
    ...assumedUncertainty,
    temperatureOffsetK: temperature?.uncertainty ?? assumedUncertainty.temperatureOffsetK,
    humidityOffsetPct: humidity?.uncertainty ?? assumedUncertainty.humidityOffsetPct,
    ...(temperature?.shared ? { sharedTemperature: temperature.shared } : {}),
    ...(humidity?.shared ? { sharedHumidity: humidity.shared } : {}),
    source: sources.length === 1 ? sources[0]! : `temperature ${sources[0]}; humidity ${sources[1]}`,
  };
}

function worst(doubts: readonly Doubt[]): Doubt | null {
  const largest = doubts.reduce<Doubt | null>(
    (known, doubt) => (known === null || doubt.uncertainty > known.uncertainty ? doubt : known),
    null,
  );
  const sources = new Set(doubts.map(({ source }) => source)).size;
  if (largest === null || sources === 1) return largest;
  const share = doubts.every(({ shared }) => shared?.source === largest.shared?.source);
  return {
    ...largest,
    source: `${largest.source} (the least sure of ${sources})`,
    shared: share ? largest.shared : null,
  };
}

function doubts(
  sensors: readonly WatchingSensor[],
  quantity: 'temperature' | 'humidity',
  spans: readonly Span[],
  zone: string,
): Doubt[] {
  const always = [{ from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY }];
  return sensors.flatMap((sensor) => {
    const calibrations = sensor[quantity];
    if (calibrations === null) return [];
    return (spans.length === 0 ? always : spans).flatMap((span) => {
      const from = Math.max(span.from, sensor.from);
      const to = Math.min(span.to, sensor.to ?? Number.POSITIVE_INFINITY);
      if (!(from < to)) return [];
      const later = calibrations.filter((calibration) => calibration.from > from && calibration.from < to);
      return [applying(calibrations, from), ...later].map((calibration) =>
        doubtOf(sensor, quantity, calibration, zone),
      );
    });
  });
}

function doubtOf(
  sensor: KnownSensor,
  quantity: 'temperature' | 'humidity',
  calibration: Calibration | null,
  zone: string,
): Doubt {
  const source = accuracySource(sensor.model, quantity, calibration, zone);
  if (calibration !== null) {
    const { uncertainty, sharedSource, sharedUncertainty } = calibration;
    const shared = sharedSource === null ? null : { source: sharedSource, uncertainty: sharedUncertainty };
    return { uncertainty, source, shared, assumed: false };
  }
  if (chipOf(sensor.model) === 'generic') {
    const { temperatureOffsetK, humidityOffsetPct } = assumedUncertainty;
    const uncertainty = quantity === 'temperature' ? temperatureOffsetK : humidityOffsetPct;
    return { uncertainty, source: assumedUncertainty.source, shared: null, assumed: true };
  }
  const parts = sensorErrors(sensor, quantity, null);
  return { uncertainty: standardUncertainty(measured(0, ...parts)), source, shared: null, assumed: false };
}

/** Half width of the 95 % interval of a reading; null where nothing is known of its errors. */
export function plusMinusOf(errors: readonly ErrorPart[]): number | null {
  return errors.length === 0 ? null : nowSettings.coverageFactor * standardUncertainty(measured(0, ...errors));
}
