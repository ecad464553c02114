import { measuredMargin, measuredSurfaceHumidity, measuredVapourPressure } from '../../physics/propagation.ts';
import { DRIEST_DEW } from '../../physics/saturation.ts';
import { type Measured, measured, standardUncertainty } from '../../physics/uncertainty.ts';
import { nowSettings } from '../now.ts';
import type { WatchedPlace } from './history.ts';

/** A figure of an hour with what it may be off by. */
export interface DoubtedFigure {
  readonly value: number;
  /** half width of the 95 % interval; null: no error is known */
  readonly plusMinus: number | null;
  readonly standard: number | null;
}

const doubted = (figure: Measured): DoubtedFigure => {
  if (figure.parts.length === 0) return { value: figure.value, plusMinus: null, standard: null };
  const standard = standardUncertainty(figure);
  return { value: figure.value, plusMinus: nowSettings.coverageFactor * standard, standard };
};

/** What moisture does at a place in an hour, from hour means; null where it cannot be said. */
export function wetnessOf(
  place: WatchedPlace,
  air: WatchedPlace,
  i: number,
): { readonly margin: DoubtedFigure; readonly humidity: DoubtedFigure } | null {
  const surface = place.hours.temperature[i]!;
  const temperature = air.hours.temperature[i]!;
  const humidity = Math.min(100, air.hours.humidity[i]!);
  if (!(Number.isFinite(surface) && Number.isFinite(temperature) && humidity > 0)) return null;
  const pressure = measuredVapourPressure(
    measured(temperature, ...air.doubt.temperature),
    measured(humidity, ...air.doubt.humidity),
  );
  if (!(pressure.value >= DRIEST_DEW)) return null;
  const own = measured(surface, ...place.doubt.temperature);
  return { margin: doubted(measuredMargin(pressure, own)), humidity: doubted(measuredSurfaceHumidity(pressure, own)) };
}

/**
 * Share of a normal distribution below `z` standard deviations.
 *
 * @source Abramowitz & Stegun (1964), 26.2.17; error under 1e-7
 */
export function normalShare(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}

/** Chance that a figure truly lies under a limit; null where no error is known. */
export const chanceUnder = ({ value, standard }: DoubtedFigure, limit: number): number | null =>
  standard === null || standard === 0 ? null : normalShare((limit - value) / standard);

export function chanceOver(figure: DoubtedFigure, limit: number): number | null {
  const under = chanceUnder(figure, limit);
  return under === null ? null : 1 - under;
}
