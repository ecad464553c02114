import { saturationPressureOverWater } from '../physics/saturation.ts';
import { sensorAccuracy } from '../physics/sensor-accuracy.ts';
import type { TimeSpan } from './living.ts';
import { gaussianAt, randomStream, seedOf, uniformAt } from './random.ts';

/** What a kind of sensor can do. */
export interface SensorKind {
  /** ± limits of its constant error, as its data sheet prints them; K, % and % of dry mass */
  readonly temperatureLimit: number;
  readonly humidityLimit: number | null;
  readonly timberLimit: number | null;
  /** standard deviation of single readings, and smallest step */
  readonly temperatureNoise: number;
  readonly temperatureResolution: number;
  readonly humidityNoise: number;
}

const HUMIDITY_RESOLUTION = 0.1;
const TIMBER_NOISE = 0.15;
const TIMBER_RESOLUTION = 0.1;

/** Noise: no source. Resolution as a small program would send it; DS18B20: its own step of 1/16 K. */
export const sensorKinds = {
  SHT40: {
    ...sensorAccuracy.SHT40,
    timberLimit: null,
    temperatureNoise: 0.03,
    temperatureResolution: 0.01,
    humidityNoise: 0.15,
  },
  SHT31: {
    ...sensorAccuracy.SHT31,
    timberLimit: null,
    temperatureNoise: 0.03,
    temperatureResolution: 0.01,
    humidityNoise: 0.15,
  },
  BME280: {
    ...sensorAccuracy.BME280,
    timberLimit: null,
    temperatureNoise: 0.03,
    temperatureResolution: 0.01,
    humidityNoise: 0.2,
  },
  AHT20: {
    ...sensorAccuracy.AHT20,
    timberLimit: null,
    temperatureNoise: 0.05,
    temperatureResolution: 0.01,
    humidityNoise: 0.2,
  },
  DS18B20: {
    ...sensorAccuracy.DS18B20,
    timberLimit: null,
    temperatureNoise: 0.03,
    temperatureResolution: 0.0625,
    humidityNoise: 0,
  },
  'resistance pins': {
    temperatureLimit: 0.5,
    humidityLimit: null,
    timberLimit: 1.5,
    temperatureNoise: 0.05,
    temperatureResolution: 0.1,
    humidityNoise: 0,
  },
} as const satisfies Record<string, SensorKind>;

export type SensorModel = keyof typeof sensorKinds;

/** What is true where a sensor stands, at one instant. */
export interface Surroundings {
  /** °C */
  readonly temperature: number;
  /** Pa */
  readonly vapourPressure: number;
  /** % of dry mass, or null away from timber */
  readonly timberMoisture: number | null;
}

/**
 * What goes wrong with a sensor for a time. silent: nothing is sent. flat-lined: one reading is repeated.
 * wetted: the humidity element is wet and reads 100 %. spike: the temperature is `value` in every reading.
 * over-reading: the humidity is `by` too high, also over 100 %. shifted: the temperature is `by` too high.
 * self-heating: the temperature is `by` too high in the first reading of every hour.
 * fahrenheit, share-of-one: temperature or humidity in another unit than it should be.
 */
type PlainFault = 'silent' | 'flat-lined' | 'wetted' | 'fahrenheit' | 'share-of-one';
type SizedFault = 'over-reading' | 'shifted' | 'self-heating';
export type Fault =
  | { readonly [Kind in PlainFault]: TimeSpan & { readonly kind: Kind } }[PlainFault]
  | { readonly [Kind in SizedFault]: TimeSpan & { readonly kind: Kind; readonly by: number } }[SizedFault]
  | (TimeSpan & { readonly kind: 'spike'; readonly value: number });

/** A battery put in at a time: its voltage falls in a straight line and then, over the last tenth, steeply. */
export interface BatteryFill {
  readonly from: number;
  /** days it lasts */
  readonly days: number;
}

export interface SimulatedSensor {
  readonly key: string;
  readonly model: SensorModel;
  readonly seed: number;
  /** seconds between readings, and most that one strays from its time, s */
  readonly intervalSeconds: number;
  readonly jitterSeconds: number;
  /** share of readings that never arrive, and share of days with an outage of two to ten hours */
  readonly lostShare: number;
  readonly outageDays: number;
  /** share of the way from a surface to the air that the bond lets it read, 0: the surface itself */
  readonly contactError: number;
  readonly faults: readonly Fault[];
  /** empty: runs from the mains and reports no voltage */
  readonly batteries: readonly BatteryFill[];
}

export interface SensorReading {
  /** UTC milliseconds, a whole second */
  readonly time: number;
  readonly temperature: number | null;
  readonly humidity: number | null;
  readonly timberMoisture: number | null;
  /** V, in the first reading of every six hours */
  readonly battery: number | null;
}

const DAY = 86_400_000;
/** Voltage is told in the first reading of every six hours. */
const BATTERY_REPORT = DAY / 4;
const FRESH_V = 3.1;
const TIRED_V = 2.75;
const DEAD_V = 2.2;

/** Constant errors of one sensor, drawn from its own seed. */
export interface SensorOffsets {
  readonly temperature: number;
  readonly humidity: number;
  readonly timberMoisture: number;
}

/** Offsets drawn evenly between the limits of the data sheet. */
export function offsetsOf(sensor: SimulatedSensor): SensorOffsets {
  const kind: SensorKind = sensorKinds[sensor.model];
  const draw = randomStream(sensor.seed, `offsets of ${sensor.key}`);
  const one = (limit: number | null): number => (limit ?? 0) * (2 * draw.uniform() - 1);
  return {
    temperature: one(kind.temperatureLimit),
    humidity: one(kind.humidityLimit),
    timberMoisture: one(kind.timberLimit),
  };
}

const active = <Kind extends Fault['kind']>(faults: readonly Fault[], kind: Kind, time: number) =>
  faults.find(
    (fault): fault is Extract<Fault, { kind: Kind }> => fault.kind === kind && time >= fault.from && time < fault.to,
  );

/** What faults add to the true temperature, K. */
function addedWarmth(faults: readonly Fault[], time: number, everyMs: number): number {
  const firstOfHour = time % 3_600_000 < everyMs;
  return (
    (active(faults, 'shifted', time)?.by ?? 0) + (firstOfHour ? (active(faults, 'self-heating', time)?.by ?? 0) : 0)
  );
}

const inFahrenheit = (celsius: number): number => 32 + 1.8 * celsius;

/** Battery voltage, or null with a flat battery or none. */
function voltage(fill: BatteryFill | undefined, time: number): number | null {
  if (fill === undefined) return null;
  const used = (time - fill.from) / (fill.days * DAY);
  if (used >= 1) return null;
  return used < 0.9 ? FRESH_V - ((FRESH_V - TIRED_V) * used) / 0.9 : TIRED_V - (TIRED_V - DEAD_V) * 10 * (used - 0.9);
}

const clamped = (humidity: number): number => Math.min(100, Math.max(0, humidity));

const rounded = (value: number, resolution: number): number => {
  const steps = Math.round(value / resolution);
  // exact decimals: 18.43, not 18.430000000000003
  return Number((steps * resolution).toFixed(4));
};

/** True where the radio is away: an outage of two to ten hours on a share of the days. */
function outage(seed: number, share: number, time: number): boolean {
  const day = Math.floor(time / DAY);
  // an outage may run on into the next day
  return [day - 1, day].some((one) => {
    if (uniformAt(seed, 3 * one) >= share) return false;
    const from = one * DAY + uniformAt(seed, 3 * one + 1) * DAY;
    return time >= from && time < from + (2 + 8 * uniformAt(seed, 3 * one + 2)) * 3_600_000;
  });
}

/**
 * The readings of a sensor from `from` (included) to `to` (excluded), every `everySeconds`. What it reads depends on
 * the time and on its seed, not on where the span begins.
 *
 * @param around what is true where it stands; null: it stands nowhere and sends nothing
 * @param airTemperature air in front of a surface, °C, for its contact error
 */
export function* readings(
  sensor: SimulatedSensor,
  around: (time: number) => Surroundings | null,
  airTemperature: (time: number) => number,
  from: number,
  to: number,
  everySeconds: number = sensor.intervalSeconds,
): Generator<SensorReading> {
  const kind: SensorKind = sensorKinds[sensor.model];
  const offsets = offsetsOf(sensor);
  const seeds = Object.fromEntries(
    ['jitter', 'lost', 'outage', 'temperature', 'humidity', 'timber'].map((name) => [
      name,
      seedOf(sensor.seed, `${sensor.key}: ${name}`),
    ]),
  ) as Record<'jitter' | 'lost' | 'outage' | 'temperature' | 'humidity' | 'timber', number>;
  const every = everySeconds * 1000;
  const stray = Math.min(sensor.jitterSeconds, everySeconds / 3);
  const phase = Math.floor(uniformAt(seeds.jitter, -1) * everySeconds) * 1000;

  for (let beat = Math.floor((from - phase) / every); beat * every + phase < to + every; beat += 1) {
    const planned = beat * every + phase;
    const time = planned + Math.round((2 * uniformAt(seeds.jitter, planned / 1000) - 1) * stray) * 1000;
    if (time < from || time >= to) continue;
    const second = time / 1000;
    const fill = sensor.batteries.findLast((one) => time >= one.from);
    const volts = voltage(fill, time);
    if (sensor.batteries.length > 0 && volts === null) continue;
    if (active(sensor.faults, 'silent', time)) continue;
    if (uniformAt(seeds.lost, second) < sensor.lostShare || outage(seeds.outage, sensor.outageDays, time)) continue;
    const stuck = active(sensor.faults, 'flat-lined', time);
    const seen = stuck?.from ?? time;
    const here = around(seen);
    if (here === null) continue;

    const temperature = here.temperature + sensor.contactError * (airTemperature(seen) - here.temperature);
    const spike = active(sensor.faults, 'spike', time);
    const overRead = active(sensor.faults, 'over-reading', time);
    const shown = (celsius: number): number =>
      active(sensor.faults, 'fahrenheit', time) ? inFahrenheit(celsius) : celsius;
    const humidityShown = (percent: number): number => {
      const read = overRead ? percent + overRead.by : clamped(percent);
      return active(sensor.faults, 'share-of-one', time)
        ? Number((read / 100).toFixed(4))
        : rounded(read, HUMIDITY_RESOLUTION);
    };
    const relative = (100 * here.vapourPressure) / saturationPressureOverWater(temperature);
    const noisy = (value: number, offset: number, noise: number, seed: number): number =>
      value + offset + noise * gaussianAt(seed, seen / 1000);
    yield {
      time,
      temperature:
        spike?.value ??
        rounded(
          shown(
            noisy(temperature, offsets.temperature, kind.temperatureNoise, seeds.temperature) +
              addedWarmth(sensor.faults, time, every),
          ),
          kind.temperatureResolution,
        ),
      humidity:
        kind.humidityLimit === null
          ? null
          : active(sensor.faults, 'wetted', time)
            ? 100
            : humidityShown(noisy(relative, offsets.humidity, kind.humidityNoise, seeds.humidity)),
      timberMoisture:
        kind.timberLimit === null || here.timberMoisture === null
          ? null
          : rounded(noisy(here.timberMoisture, offsets.timberMoisture, TIMBER_NOISE, seeds.timber), TIMBER_RESOLUTION),
      battery: volts !== null && time % BATTERY_REPORT < every ? rounded(volts, 0.01) : null,
    };
  }
}
