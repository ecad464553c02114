import type { PlaceKind } from '../analysis/vocabulary.ts';
import { type House, type HouseHours, runHouse } from './house.ts';
import { readings, type SensorReading, type SimulatedSensor, type Surroundings } from './sensor.ts';

/** Points of the simulated house at which something can be watched. */
type HousePoint = 'room' | 'slope' | 'edge' | 'control' | 'behind' | 'loft' | 'timber' | 'outdoor';

export interface HomePlace {
  readonly key: string;
  readonly name: string;
  readonly kind: PlaceKind;
  /** key of the place whose air a surface faces; null elsewhere */
  readonly faces: string | null;
  readonly point: HousePoint;
}

/** A sensor stands at a place from a time (included) to a time (excluded; null: still there), UTC milliseconds. */
export interface HomePlacement {
  readonly sensor: string;
  readonly place: string;
  readonly from: number;
  readonly to: number | null;
}

/** A simulated house with sensors in it. */
export interface Home {
  readonly house: House;
  /** where the equations start, UTC milliseconds: some weeks before the first reading, so that the start is forgotten */
  readonly epoch: number;
  readonly places: readonly HomePlace[];
  readonly sensors: readonly SimulatedSensor[];
  readonly placements: readonly HomePlacement[];
}

const HOUR = 3_600_000;

/** The true hours of a home from its epoch until the hour that `to` lies in is over. */
export function homeHours(home: Home, to: number): HouseHours {
  return runHouse(home.house, home.epoch)(Math.max(2, Math.ceil((to - home.epoch) / HOUR) + 1));
}

/** Value between whole hours by a straight line; the ends beyond the first and last. */
function at(hours: HouseHours, values: Float64Array, time: number): number {
  const position = Math.min(values.length - 1, Math.max(0, (time - hours.start) / HOUR));
  const before = Math.floor(position);
  const after = Math.min(values.length - 1, before + 1);
  return values[before]! + (values[after]! - values[before]!) * (position - before);
}

/** What is true at a point of the house at instants within its hours. A surface meets the vapour of the room. */
function surroundings(hours: HouseHours, point: HousePoint): (time: number) => Surroundings {
  const columns: Record<HousePoint, readonly [Float64Array, Float64Array]> = {
    room: [hours.roomTemperature, hours.roomPressure],
    slope: [hours.slope, hours.roomPressure],
    edge: [hours.edge, hours.roomPressure],
    control: [hours.control, hours.roomPressure],
    behind: [hours.behind, hours.behindPressure],
    loft: [hours.loftTemperature, hours.loftPressure],
    timber: [hours.loftTemperature, hours.loftPressure],
    outdoor: [hours.outdoorTemperature, hours.outdoorPressure],
  };
  const [temperature, pressure] = columns[point];
  return (time) => ({
    temperature: at(hours, temperature, time),
    vapourPressure: at(hours, pressure, time),
    timberMoisture: point === 'timber' ? at(hours, hours.timberMoisture, time) : null,
  });
}

/**
 * The readings of one sensor of a home from `from` (included) to `to` (excluded), wherever it stands by then.
 *
 * @param hours true hours that cover the span, from {@link homeHours}
 * @param everySeconds spacing of the readings; left out: the sensor's own
 */
export function homeReadings(
  home: Home,
  hours: HouseHours,
  sensor: SimulatedSensor,
  from: number,
  to: number,
  everySeconds?: number,
): Generator<SensorReading> {
  const stays = home.placements
    .filter((placement) => placement.sensor === sensor.key)
    .map(({ from: begins, to: ends, place }) => ({
      begins,
      ends,
      truth: surroundings(hours, home.places.find(({ key }) => key === place)!.point),
    }));
  const around = (time: number): Surroundings | null => {
    const stay = stays.find(({ begins, ends }) => time >= begins && (ends === null || time < ends));
    return stay ? stay.truth(time) : null;
  };
  const air = (time: number): number => at(hours, hours.roomTemperature, time);
  return readings(sensor, around, air, from, to, everySeconds);
}
