import { type AirHours, type HiddenLayer, hiddenLayerHours } from '../../server/physics/hidden-layer.ts';
import type { BenchRow } from './row.ts';

const HOURS = 2 * 8760;
const PLACES = 20;
const RUNS = 20;

const behind: HiddenLayer = {
  resistanceToRoom: 3.3,
  resistanceToOutdoor: 0.15,
  sdToRoom: 4.2,
  sdToOutdoor: 3,
  airLeak: 0.05,
};

function air(place: number): AirHours {
  const fill = (value: (hour: number) => number): Float64Array =>
    Float64Array.from({ length: HOURS }, (_, i) => value(i));
  const year = (hour: number): number => Math.cos((2 * Math.PI * hour) / 8760);
  const day = (hour: number): number => Math.cos((2 * Math.PI * (hour + place)) / 24);
  return {
    roomTemperature: fill((hour) => 20 - year(hour) - day(hour)),
    outdoorTemperature: fill((hour) => 9 - 9 * year(hour) - 3 * day(hour)),
    roomVapourPressure: fill((hour) => 1250 - 250 * year(hour) + 100 * day(hour)),
    outdoorVapourPressure: fill((hour) => 950 - 400 * year(hour)),
  };
}

/** The saturation pressure an hour needs, and where it freezes the one over ice, written to four new columns. */
function bare({ outdoorTemperature }: AirHours): number {
  const columns = [0, 1, 2, 3].map(() => new Float64Array(HOURS)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let hour = 0; hour < HOURS; hour += 1) {
    const t = outdoorTemperature[hour]!;
    const water = 610.5 * Math.exp((17.269 * t) / (237.3 + t));
    columns[0][hour] = t;
    columns[1][hour] = water;
    columns[2][hour] = t < 0 ? 610.5 * Math.exp((21.875 * t) / (265.5 + t)) : water;
    columns[3][hour] = 0.5 * water;
  }
  return columns[2][HOURS - 1]!;
}

const timed = (work: () => unknown): number => {
  const from = performance.now();
  work();
  return performance.now() - from;
};

/** The surface behind twenty linings over two years, hourly, against the exponentials and columns it cannot do without. */
export async function benchFabric(): Promise<BenchRow[]> {
  const series = Array.from({ length: PLACES }, (_, place) => air(place));
  let measured = Number.POSITIVE_INFINITY;
  let limit = Number.POSITIVE_INFINITY;
  let kept = 0;
  for (let run = 0; run < RUNS; run += 1) {
    measured = Math.min(
      measured,
      timed(() => {
        for (const hours of series) kept += hiddenLayerHours(behind, hours).water[HOURS - 1]!;
      }),
    );
    limit = Math.min(
      limit,
      timed(() => {
        for (const hours of series) kept += bare(hours);
      }),
    );
  }
  if (!Number.isFinite(kept)) throw new Error('the benchmark computed nothing that is a number');
  return [
    {
      name: 'hidden layer, 2 years hourly, 20 places',
      measured,
      limit,
      unit: 'ms',
      ratio: measured / limit,
      aim: 3,
      direction: 'at most',
      note: 'limit: a saturation pressure for every hour, two where it freezes, and four columns to keep',
    },
  ];
}
