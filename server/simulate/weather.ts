import { inRange } from '../physics/range.ts';
import { saturationPressureOverWater } from '../physics/saturation.ts';
import { vapourPressure } from '../physics/vapour.ts';
import { seedOf, smoothNoise } from './random.ts';

/** Weather at whole hours: entry `i` is the instant start + i hours. */
export interface WeatherHours {
  /** UTC milliseconds */
  readonly start: number;
  /** air temperature, °C */
  readonly temperature: Float64Array;
  /** Pa */
  readonly vapourPressure: Float64Array;
  /** global radiation on the horizontal, W/m2 */
  readonly solar: Float64Array;
  /** share of the sky that is clouded, 0 to 1 */
  readonly cloud: Float64Array;
  /** m/s */
  readonly wind: Float64Array;
}

/** Weather of a made-up place in the middle latitudes. Any hour can be had without those before it. */
export interface InventedWeather {
  readonly kind: 'invented';
  readonly seed: number;
  /** degrees north */
  readonly latitude: number;
  /** mean over the year and half the span between the means of the coldest and the warmest month, °C and K */
  readonly annualMean: number;
  readonly annualSwing: number;
  /** how much milder (or, below 0, colder) the winter that begins in October of a year is, K; others are drawn */
  readonly milderWinters: Readonly<Record<number, number>>;
}

/** Measured hours, for example from an open weather record; each entry is the instant start + i hours. */
export interface GivenWeather {
  readonly kind: 'given';
  readonly start: number;
  /** °C and % over water, without gaps */
  readonly temperature: Float64Array;
  readonly humidity: Float64Array;
  /** W/m2; left out: no sun */
  readonly solar?: Float64Array;
}

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const YEAR = 365.25 * DAY;
/** Middle of the coldest part of the year: 22 January. */
const COLDEST = Date.UTC(2024, 0, 22);

/** Sine of the sun's height at a longitude of 0. @source declination: Cooper (1969), Solar Energy 12, 333-346 */
export function sunHeightSine(time: number, latitude: number): number {
  const dayOfYear = (time - Date.UTC(new Date(time).getUTCFullYear(), 0, 1)) / DAY + 1;
  const declination = ((23.45 * Math.PI) / 180) * Math.sin((2 * Math.PI * (284 + dayOfYear)) / 365);
  const angle = (2 * Math.PI * ((time % DAY) / HOUR - 12)) / 24;
  const phi = (latitude * Math.PI) / 180;
  return Math.sin(phi) * Math.sin(declination) + Math.cos(phi) * Math.cos(declination) * Math.cos(angle);
}

/**
 * Global radiation on the horizontal, W/m2.
 *
 * @source Kasten & Czeplak (1980), Solar Energy 24, 177-189: clear sky 910 sin h - 30, cloud 1 - 0.75 N^3.4 (from memory)
 */
export const radiation = (sunHeight: number, cloud: number): number =>
  Math.max(0, 910 * sunHeight - 30) * (1 - 0.75 * cloud ** 3.4);

/**
 * The weather of hours `from` (UTC milliseconds, whole hour) on.
 *
 * @throws RangeError where given weather does not cover the hours, or has a gap
 */
export function weatherHours(weather: InventedWeather | GivenWeather, from: number, hours: number): WeatherHours {
  inRange('hours', hours, 'h', 1, 1e7);
  if (!(from % HOUR === 0)) throw new RangeError(`from is ${from} ms; it must be a whole hour`);
  return weather.kind === 'given' ? givenHours(weather, from, hours) : inventedHours(weather, from, hours);
}

function givenHours(weather: GivenWeather, from: number, hours: number): WeatherHours {
  const first = (from - weather.start) / HOUR;
  const covered = weather.temperature.length;
  inRange('from', first, 'h after the start of the given weather', 0, covered - 1);
  inRange('hours', hours, 'h', 1, covered - first);
  const temperature = weather.temperature.slice(first, first + hours);
  const pressure = temperature.map((one, hour) => {
    inRange(`temperature[${first + hour}]`, one, '°C', -60, 60);
    return vapourPressure(one, weather.humidity[first + hour] ?? Number.NaN);
  });
  const solar = weather.solar?.slice(first, first + hours) ?? new Float64Array(hours);
  return {
    start: from,
    temperature,
    vapourPressure: pressure,
    solar,
    cloud: new Float64Array(hours).fill(0.6),
    wind: new Float64Array(hours).fill(3.5),
  };
}

function inventedHours(weather: InventedWeather, from: number, hours: number): WeatherHours {
  const seeds = ['week', 'front', 'day', 'gust', 'cloud', 'shower', 'dryness', 'wind'].map((name) =>
    seedOf(weather.seed, `weather: ${name}`),
  );
  const winters = seedOf(weather.seed, 'weather: winters');
  const noise = (which: number, time: number, length: number): number => smoothNoise(seeds[which]!, time / length);
  const column = (): Float64Array => new Float64Array(hours);
  const out = { temperature: column(), vapourPressure: column(), solar: column(), cloud: column(), wind: column() };
  for (let hour = 0; hour < hours; hour += 1) {
    const time = from + hour * HOUR;
    const season = Math.cos((2 * Math.PI * (time - COLDEST)) / YEAR); // 1 in the depth of winter, -1 of summer
    const winter = new Date(time - 181 * DAY).getUTCFullYear();
    const milder = weather.milderWinters[winter] ?? 1.2 * smoothNoise(winters, winter);
    const cloud = 1 / (1 + Math.exp(-(0.6 + 1.4 * noise(4, time, 30 * HOUR) + 0.9 * noise(5, time, 8 * HOUR))));
    const air =
      weather.annualMean -
      weather.annualSwing * season +
      milder * Math.max(0, season) +
      (1 + 0.15 * season) *
        (1.5 * noise(0, time, 13 * DAY) +
          2.4 * noise(1, time, 4.5 * DAY) +
          1.1 * noise(2, time, DAY) +
          0.35 * noise(3, time, 5 * HOUR));
    const swing = (3.2 - 1.8 * season) * (1.35 - 0.95 * cloud);
    const clock = (time % DAY) / HOUR;
    const daily = swing * Math.cos((2 * Math.PI * (clock - 14.7)) / 24);
    const temperature = air + daily;
    const dryness = (3.3 - 1.1 * season) * Math.exp(0.45 * noise(6, time, 3 * DAY)) * (1.25 - 0.4 * cloud);
    const dew = Math.min(temperature, air - dryness + 0.2 * daily);
    out.temperature[hour] = temperature;
    out.vapourPressure[hour] = saturationPressureOverWater(dew);
    out.cloud[hour] = cloud;
    out.solar[hour] = radiation(sunHeightSine(time, weather.latitude), cloud);
    out.wind[hour] = 3.5 * Math.exp(0.5 * noise(7, time, 17 * HOUR));
  }
  return { start: from, ...out };
}
