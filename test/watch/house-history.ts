import { sensorErrors } from '../../server/analysis/sensor-errors.ts';
import { HOUR_MS, isSurface, type PlaceKind } from '../../server/analysis/vocabulary.ts';
import type { WatchedPlace, WatchHistory } from '../../server/analysis/watch/history.ts';
import { mouldIndex } from '../../server/physics/mould-index.ts';
import { dewPoint, saturationPressureOverWater } from '../../server/physics/saturation.ts';
import { surfaceHumidity } from '../../server/physics/surface.ts';
import { type House, type HouseHours, runHouse } from '../../server/simulate/house.ts';

/** A house of equations as the rules see it: its true hours as hour records would hold them. */

export const ZONE = 'Europe/London';
export const OCTOBER = Date.UTC(2025, 9, 1);
export const WINTER_HOURS = 212 * 24;
const LEAD = 42 * 24;

export const day = (n: number): number => OCTOBER + n * 24 * HOUR_MS;

/** A warm, aired home under a good ceiling. */
export const soundHouse: House = {
  weather: { kind: 'invented', seed: 7, latitude: 52, annualMean: 10, annualSwing: 6.5, milderWinters: { 2025: 0 } },
  living: {
    seed: 7,
    zone: ZONE,
    heatedTo: 19.5,
    heatingHours: [
      [6, 9],
      [15, 23],
    ],
    heatingOff: [],
    background: 25,
    sleepers: 1,
    laundry: [],
    laundryRate: 0,
    windowOpen: [],
    windowChanges: 4,
    airChanges: 0.8,
  },
  roomVolume: 30,
  roomHours: 60,
  slopeFactorBefore: 0.88,
  slopeFactorAfter: 0.92,
  edgeFactorAfter: 0.9,
  controlFactor: 0.93,
  linedFrom: null,
  loftLeak: 0.02,
  liningLeak: 0.05,
};

export const withLiving = (living: Partial<House['living']>, house: Partial<House> = {}): House => ({
  ...soundHouse,
  ...house,
  living: { ...soundHouse.living, ...living },
});

const points: readonly { id: number; name: string; kind: PlaceKind }[] = [
  { id: 1, name: 'Bedroom', kind: 'room-air' },
  { id: 2, name: 'Slope', kind: 'ceiling-surface' },
  { id: 3, name: 'Flat ceiling', kind: 'control-surface' },
  { id: 4, name: 'Behind the lining', kind: 'behind-lining' },
  { id: 5, name: 'Loft', kind: 'loft-air' },
  { id: 6, name: 'Rafter', kind: 'loft-timber' },
  { id: 7, name: 'Outdoors', kind: 'outdoor-air' },
];

function columnsOf(house: HouseHours, kind: PlaceKind): readonly [temperature: Float64Array, pressure: Float64Array] {
  switch (kind) {
    case 'room-air':
      return [house.roomTemperature, house.roomPressure];
    case 'ceiling-surface':
      return [house.slope, house.roomPressure];
    case 'control-surface':
      return [house.control, house.roomPressure];
    case 'behind-lining':
      return [house.behind, house.behindPressure];
    case 'outdoor-air':
      return [house.outdoorTemperature, house.outdoorPressure];
    default:
      return [house.loftTemperature, house.loftPressure];
  }
}

const unknown = (hours: number): Float64Array => new Float64Array(hours).fill(Number.NaN);

/** Hours of one house, and from `thenFrom` on of another in the same weather. */
export interface Course {
  readonly house: House;
  readonly later?: { readonly house: House; readonly from: number };
  readonly phases?: WatchHistory['phases'];
  /** hours in which nothing was heard at all */
  readonly silent?: { readonly from: number; readonly to: number };
}

export function historyOf({ house, later, phases = [], silent }: Course): WatchHistory {
  const run = (one: House): HouseHours => runHouse(one, OCTOBER - LEAD * HOUR_MS)(LEAD + WINTER_HOURS);
  const first = run(house);
  const second = later === undefined ? first : run(later.house);
  const isLater = (k: number): boolean => later !== undefined && OCTOBER + k * HOUR_MS >= later.from;
  const isSilent = (k: number): boolean =>
    silent !== undefined && day(0) + k * HOUR_MS >= silent.from && day(0) + k * HOUR_MS < silent.to;
  const joined = (of: (hours: HouseHours) => Float64Array): Float64Array =>
    Float64Array.from({ length: WINTER_HOURS }, (_, k) =>
      isSilent(k) ? Number.NaN : of(isLater(k) ? second : first)[k + LEAD]!,
    );
  const places = points
    .filter(({ kind }) => kind !== 'behind-lining' || house.linedFrom !== null)
    .map(({ id, name, kind }): WatchedPlace => {
      const temperature = joined((hours) => columnsOf(hours, kind)[0]);
      const vapourPressure = joined((hours) => columnsOf(hours, kind)[1]);
      const wet = temperature.map((value, k) =>
        Number.isNaN(value) ? value : surfaceHumidity(vapourPressure[k]!, value),
      );
      const errors = (quantity: 'temperature' | 'humidity') =>
        sensorErrors({ key: name, model: 'SHT31' }, quantity, null);
      return {
        id,
        name,
        kind,
        airPlaceId: isSurface(kind) ? 1 : id,
        hours: {
          temperature,
          humidity: temperature.map((value, k) =>
            Math.min(100, (100 * vapourPressure[k]!) / saturationPressureOverWater(Number.isNaN(value) ? 10 : value)),
          ),
          vapourPressure,
          surfaceHumidity: wet,
          margin: temperature.map((value, k) => (Number.isNaN(value) ? value : value - dewPoint(vapourPressure[k]!))),
          marginLow: unknown(WINTER_HOURS),
          timberMoisture: kind === 'loft-timber' ? joined((hours) => hours.timberMoisture) : unknown(WINTER_HOURS),
          co2: unknown(WINTER_HOURS),
        },
        mouldIndex:
          isSurface(kind) || kind === 'behind-lining' || kind === 'loft-timber'
            ? mouldIndex(temperature, wet).index
            : null,
        doubt: { temperature: errors('temperature'), humidity: errors('humidity') },
        before: null,
      };
    });
  return {
    start: OCTOBER,
    hours: WINTER_HOURS,
    zone: ZONE,
    places: places.map((place) => withBefore(place, places, phases)),
    phases,
    heard: Uint8Array.from({ length: WINTER_HOURS }, (_, k) => (isSilent(k) ? 0 : 1)),
    heardBefore: true,
    findings: new Map(),
    nights: new Map(),
  };
}

function withBefore(
  place: WatchedPlace,
  places: readonly WatchedPlace[],
  phases: WatchHistory['phases'],
): WatchedPlace {
  const phase = phases.find(({ kind }) => kind === 'before');
  if (place.kind !== 'loft-air' || phase?.to == null) return place;
  const outside = places.find(({ kind }) => kind === 'outdoor-air')!.hours.vapourPressure;
  const first = Math.max(0, (phase.from - OCTOBER) / HOUR_MS);
  const last = (phase.to - OCTOBER) / HOUR_MS;
  let sum = 0;
  for (let k = first; k < last; k++) sum += place.hours.vapourPressure[k]! - outside[k]!;
  return { ...place, before: { excessPa: sum / (last - first), until: phase.to } };
}
