import { HOUR_MS, isSurface, type PlaceKind } from './vocabulary.ts';

/** What is looked at in a trend. Temperature °C, margin K, vapour pressure Pa, humidity and timber moisture %. */
export const trendQuantities = [
  'temperature',
  'margin',
  'vapourPressure',
  'surfaceHumidity',
  'timberMoisture',
] as const;

export type TrendQuantity = (typeof trendQuantities)[number];

/** Of what a kind of place is asked for its trend: what its state rests on. */
export function trendsOf(kind: PlaceKind): readonly TrendQuantity[] {
  if (isSurface(kind)) return ['margin'];
  if (kind === 'behind-lining') return ['surfaceHumidity'];
  return kind === 'loft-timber' ? ['timberMoisture'] : ['temperature', 'vapourPressure'];
}

/** How a quantity went over the last hours: it only rises or falls where the doubt does not cover the change. */
export interface Trend {
  readonly quantity: TrendQuantity;
  readonly kind: 'rising' | 'falling' | 'steady';
  /** over `hours`, by the straight line through the hours' means, in the quantity's unit */
  readonly change: number;
  /** half width of its 95 % interval */
  readonly plusMinus: number;
  readonly hours: number;
}

export const trendSettings = Object.freeze({
  /** whole hours looked at, and how many of them must be known, the last one or the one before it among them */
  hours: 6,
  fewestHours: 4,
  /**
   * what a sensor that stands still may wander in some hours, as half a 95 % interval: repeatability of cheap sensors as
   * their data sheets give it, from memory, and twice that where two sensors make a figure
   */
  wander: { temperature: 0.15, margin: 0.3, vapourPressure: 20, surfaceHumidity: 1.5, timberMoisture: 0.3 },
});

/**
 * 97.5 % points of Student's t for 1 to 6 degrees of freedom.
 *
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2
 */
const STUDENT_97_5 = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447];

/**
 * The trend of the last hours before a moment; null where too few of them are known. The change is that of the line of
 * least squares; its doubt is the larger of what the hours' scatter about the line allows (Student's t) and what a
 * sensor wanders by itself. A constant error of a sensor moves no trend.
 *
 * @param values hour means, oldest first, NaN for missing; the last is the last whole hour before the moment
 */
export function trendOf(quantity: TrendQuantity, values: Float64Array, settings = trendSettings): Trend | null {
  const looked = values.subarray(Math.max(0, values.length - settings.hours));
  const known = Array.from(looked, (value, hour) => ({ hour, value })).filter(({ value }) => Number.isFinite(value));
  const first = known[0];
  const last = known.at(-1);
  if (first === undefined || last === undefined || known.length < settings.fewestHours) return null;
  if (last.hour < looked.length - 2) return null;
  const count = known.length;
  const meanHour = known.reduce((sum, { hour }) => sum + hour, 0) / count;
  const mean = known.reduce((sum, { value }) => sum + value, 0) / count;
  const spread = known.reduce((sum, { hour }) => sum + (hour - meanHour) ** 2, 0);
  const slope = known.reduce((sum, { hour, value }) => sum + (hour - meanHour) * (value - mean), 0) / spread;
  const residual = known.reduce((sum, { hour, value }) => sum + (value - mean - slope * (hour - meanHour)) ** 2, 0);
  const student = STUDENT_97_5[Math.min(count - 2, STUDENT_97_5.length) - 1]!;
  const hours = last.hour - first.hour;
  const change = slope * hours;
  const scatter = hours * student * Math.sqrt(residual / (count - 2) / spread);
  const plusMinus = Math.max(scatter, settings.wander[quantity]);
  const kind = Math.abs(change) <= plusMinus ? 'steady' : change > 0 ? 'rising' : 'falling';
  return { quantity, kind, change, plusMinus, hours };
}

/** The span of hours that {@link trendOf} looks at before a moment, UTC milliseconds, `to` excluded. */
export function trendSpan(time: number, settings = trendSettings): { readonly from: number; readonly to: number } {
  const to = Math.floor(time / HOUR_MS) * HOUR_MS;
  return { from: to - settings.hours * HOUR_MS, to };
}
