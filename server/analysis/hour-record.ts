/**
 * What is known of a place in one UTC hour. null: not known. Means, extremes and counts are of the readings as they
 * came; derived quantities are null where coverage is too small to count.
 */
export interface HourRecord {
  readonly placeId: number;
  /** UTC milliseconds, a whole hour */
  readonly hour: number;
  /** °C */
  readonly temperatureMean: number | null;
  readonly temperatureMin: number | null;
  readonly temperatureMax: number | null;
  readonly temperatureCount: number;
  /** share of the hour that readings speak for, 0 to 1 */
  readonly temperatureCoverage: number;
  /** over liquid water, counted as 100 where a sensor over-reads, % */
  readonly humidityMean: number | null;
  readonly humidityMin: number | null;
  readonly humidityMax: number | null;
  readonly humidityCount: number;
  readonly humidityCoverage: number;
  /** humidity readings over 100 % that were counted as 100 */
  readonly humidityClamped: number;
  /** Pa; for a surface, of the room air it faces */
  readonly vapourPressure: number | null;
  /** dew point (frost point below 0 °C) of that vapour pressure, °C */
  readonly dewPoint: number | null;
  /** K */
  readonly marginMean: number | null;
  readonly marginMin: number | null;
  /** % */
  readonly surfaceHumidityMean: number | null;
  readonly surfaceHumidityMax: number | null;
  /** temperature factor with outdoor air as the cold side; with loft air as the cold side */
  readonly factorOutdoor: number | null;
  readonly factorLoft: number | null;
  readonly riskHour: boolean | null;
  readonly condensationHour: boolean | null;
  /** % of dry mass */
  readonly timberMoisture: number | null;
  /** ppm */
  readonly co2: number | null;
  /** V */
  readonly battery: number | null;
}
