import type { Home, HomePlace, HomePlacement } from './home.ts';
import { randomStream, seedOf } from './random.ts';
import type { SensorModel, SimulatedSensor } from './sensor.ts';

export interface InventedHome {
  /** `home-00001` and so on: the dwelling's name in topics */
  readonly slug: string;
  readonly home: Home;
}

const HOUR = 3_600_000;
const DAY = 24 * HOUR;

const places: readonly HomePlace[] = [
  { key: 'room', name: 'Room air', kind: 'room-air', faces: null, point: 'room' },
  { key: 'slope', name: 'Sloping ceiling', kind: 'ceiling-surface', faces: 'room', point: 'slope' },
  { key: 'flat', name: 'Flat ceiling', kind: 'control-surface', faces: 'room', point: 'control' },
  { key: 'loft', name: 'Loft air', kind: 'loft-air', faces: null, point: 'loft' },
  { key: 'outdoors', name: 'Outdoors', kind: 'outdoor-air', faces: null, point: 'outdoor' },
];

/**
 * One of any number of different made-up homes, for load and for tests of many dwellings. `seed` and `number` decide
 * everything: fabric, living, sensors and their errors. Homes of one seed share a region's weather but for small
 * differences of height.
 *
 * @param from first instant that readings are wanted, UTC milliseconds; the equations start six weeks earlier
 * @param linedFrom UTC milliseconds; left out: never lined
 */
export function inventedHome(seed: number, number: number, from: number, linedFrom?: number): InventedHome {
  if (!(Number.isInteger(number) && number >= 0)) {
    throw new RangeError(`number is ${number}; it must be a whole number from 0 on`);
  }
  const own = seedOf(seed, `home ${number}`);
  const draw = randomStream(own, 'home');
  const between = (low: number, high: number): number => low + (high - low) * draw.uniform();
  const models: readonly SensorModel[] = ['SHT40', 'SHT31', 'AHT20', 'BME280'];
  const slopeFactorBefore = between(0.45, 0.7);
  const slopeFactorAfter = between(0.78, 0.92);
  const morning = Math.floor(between(5, 8));
  const sensors: SimulatedSensor[] = places.map((place) => ({
    key: place.key,
    model: models[Math.floor(draw.uniform() * models.length)]!,
    seed: own,
    intervalSeconds: 600,
    jitterSeconds: 10,
    lostShare: 0.005,
    outageDays: 0.01,
    contactError: place.faces === null ? 0 : between(0, 0.04),
    faults: [],
    batteries: [{ from: from - Math.floor(between(0, 300)) * DAY, days: Math.floor(between(350, 800)) }],
  }));
  const epoch = Math.floor((from - 42 * DAY) / HOUR) * HOUR;
  const placements: HomePlacement[] = places.map(({ key }) => ({ sensor: key, place: key, from: epoch, to: null }));
  return {
    slug: `home-${String(number).padStart(5, '0')}`,
    home: {
      epoch,
      places,
      sensors,
      placements,
      house: {
        weather: {
          kind: 'invented',
          seed,
          latitude: 53,
          annualMean: between(9, 10.2),
          annualSwing: 6,
          milderWinters: {},
        },
        living: {
          seed: own,
          zone: 'Europe/London',
          heatedTo: between(16.5, 21),
          heatingHours: [
            [morning, morning + 2.5],
            [16, 22],
          ],
          heatingOff: [],
          background: between(15, 60),
          sleepers: Math.floor(between(0, 3)),
          laundry: [],
          laundryRate: 0,
          windowOpen: [],
          windowChanges: 4,
          airChanges: between(0.3, 1),
        },
        roomVolume: between(20, 45),
        roomHours: between(20, 60),
        slopeFactorBefore,
        slopeFactorAfter,
        edgeFactorAfter: (slopeFactorBefore + slopeFactorAfter) / 2,
        controlFactor: between(0.88, 0.95),
        linedFrom: linedFrom ?? null,
        loftLeak: between(0.02, 0.08),
        liningLeak: between(0.1, 0.3),
      },
    },
  };
}
