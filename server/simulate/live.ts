import { type Home, homeHours, homeReadings } from './home.ts';
import type { HouseHours } from './house.ts';
import { sampleHome } from './sample-home.ts';
import type { SensorReading } from './sensor.ts';

/** A message as a sensor of ours would publish it: one flat JSON object. */
interface LivePayload {
  /** ISO 8601, UTC */
  readonly time: string;
  readonly temperature_c?: number;
  readonly humidity_pct?: number;
  readonly timber_moisture_pct?: number;
  readonly battery_v?: number;
}

export interface LiveMessage {
  /** key of the sensor, the last part of its topic */
  readonly sensor: string;
  /** UTC milliseconds */
  readonly time: number;
  readonly payload: LivePayload;
}

export interface LiveHome {
  readonly sensors: readonly string[];
  /**
   * Every message from `from` (included) to `to` (excluded), UTC milliseconds, in order of time, each sensor at its own
   * pace: what the home would have sent in a gap.
   */
  backfill(from: number, to: number): LiveMessage[];
  /**
   * The same with a message of each sensor every `everySeconds`. Spans that follow each other give each message once.
   */
  messages(from: number, to: number, everySeconds: number): LiveMessage[];
}

function payloadOf(reading: SensorReading): LivePayload {
  const { temperature, humidity, timberMoisture, battery } = reading;
  const payload: { -readonly [name in keyof LivePayload]: LivePayload[name] } = {
    time: `${new Date(reading.time).toISOString().slice(0, 19)}Z`,
  };
  if (temperature !== null) payload.temperature_c = temperature;
  if (humidity !== null) payload.humidity_pct = humidity;
  if (timberMoisture !== null) payload.timber_moisture_pct = timberMoisture;
  if (battery !== null) payload.battery_v = battery;
  return payload;
}

/**
 * A simulated home that goes on for ever: the same equations and seed as the sample files, so that what it sends joins
 * them without a seam. What it sends at a time depends on that time alone; the caller brings the clock. The house is run
 * from its epoch once, and then only on.
 */
export function liveHome(home: Home = sampleHome): LiveHome {
  let hours: HouseHours | null = null;
  const hoursTo = (to: number): HouseHours => {
    const wanted = (to - home.epoch) / 3_600_000 + 1;
    // some days ahead, so that live messages do not run the house anew each time
    if (hours === null || hours.slope.length < wanted) hours = homeHours(home, to + 14 * 86_400_000);
    return hours;
  };
  const between = (from: number, to: number, everySeconds?: number): LiveMessage[] => {
    if (!(from >= home.epoch)) {
      throw new RangeError(`from is ${from} ms; this home has messages from ${home.epoch} ms on`);
    }
    if (!(to > from)) return [];
    const truth = hoursTo(to);
    const all = home.sensors.flatMap((sensor) =>
      Array.from(homeReadings(home, truth, sensor, from, to, everySeconds), (reading) => ({
        sensor: sensor.key,
        time: reading.time,
        payload: payloadOf(reading),
      })),
    );
    return all.sort((one, other) => one.time - other.time);
  };
  return {
    sensors: home.sensors.map((sensor) => sensor.key),
    backfill: (from, to) => between(from, to),
    messages: (from, to, everySeconds) => {
      if (!(everySeconds >= 1)) throw new RangeError(`everySeconds is ${everySeconds} s; it must be at least 1 s`);
      return between(from, to, everySeconds);
    },
  };
}
