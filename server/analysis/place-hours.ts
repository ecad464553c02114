/**
 * Hour records of one place as columns: entry `i` is the UTC hour that begins at `start + i * HOUR_MS`.
 * All columns have the same length. NaN means not known: no reading, or too little coverage to count. (Typed arrays are
 * the one place where missing is NaN; it becomes `null` at every border.)
 */
export interface PlaceHours {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  /** mean temperature, °C */
  readonly temperature: Float64Array;
  /** mean relative humidity over liquid water as reported and clamped to 100, % */
  readonly humidity: Float64Array;
  /** mean of the vapour pressures of paired readings, Pa; for a surface, of the room air it faces */
  readonly vapourPressure: Float64Array;
  /** mean surface relative humidity, %; for a surface from the room's vapour pressure, elsewhere from the place's own */
  readonly surfaceHumidity: Float64Array;
  /** mean and lowest dew-point margin, K */
  readonly margin: Float64Array;
  readonly marginLow: Float64Array;
  /** timber moisture content, % of dry mass; CO2, ppm */
  readonly timberMoisture: Float64Array;
  readonly co2: Float64Array;
}
