import { performance } from 'node:perf_hooks';
import { type ConductionBuildUp, conduct, conductionMesh } from '../../server/physics/conduction.ts';
import type { BenchRow } from './row.ts';

const HOURS = 8760;

const buildUp: ConductionBuildUp = {
  layers: [
    { thickness: 0.006, conductivity: 0.14, density: 600, heatCapacity: 1700 },
    { thickness: 0.07, conductivity: 0.022, density: 32, heatCapacity: 1400 },
    { thickness: 0.0125, conductivity: 0.25, density: 900, heatCapacity: 1000 },
    { thickness: 0.1, conductivity: 0.04, density: 25, heatCapacity: 1030 },
    { thickness: 0.022, conductivity: 0.13, density: 500, heatCapacity: 1600 },
  ],
  internalResistance: 0.1,
  externalResistance: 0.1,
};

const best = (runs: number, work: () => void): number => {
  let shortest = Number.POSITIVE_INFINITY;
  for (let run = 0; run < runs; run += 1) {
    const start = performance.now();
    work();
    shortest = Math.min(shortest, performance.now() - start);
  }
  return shortest;
};

/** Forward and backward sweep over `nodes` values: what an implicit step cannot do without. */
function sweep(values: Float64Array, ratio: Float64Array): void {
  const last = values.length - 1;
  for (let node = 1; node <= last; node += 1) values[node]! += ratio[node]! * values[node - 1]!;
  for (let node = last - 1; node >= 0; node -= 1) values[node]! += ratio[node]! * values[node + 1]!;
}

/** One year of hours through five layers, against 100 ms and against the bare sweeps of as many steps. */
export async function benchConduction(): Promise<BenchRow[]> {
  const room = Float64Array.from({ length: HOURS }, (_, hour) => (hour % 24 > 6 && hour % 24 < 22 ? 20 : 17));
  const outdoor = Float64Array.from(
    { length: HOURS },
    (_, hour) => 10 - 7 * Math.cos(hour / 1394) + 4 * Math.sin((hour - 8) / 3.82) + ((hour * 7919) % 13) / 4,
  );
  const mesh = conductionMesh(buildUp);
  const nodes = mesh.capacity.length;
  const series = { room, outdoor, interval: 3600 };
  const { steps } = conduct(mesh, series);
  const measured = best(7, () => {
    conduct(mesh, series);
  });
  const values = new Float64Array(nodes).fill(1);
  const ratio = new Float64Array(nodes).fill(0.3);
  const bare = best(7, () => {
    for (let step = 0; step < steps * 3; step += 1) {
      values.fill(1);
      sweep(values, ratio);
    }
  });
  const note = `${nodes} nodes, ${steps} steps of three sweeps`;
  const name = 'transient conduction, one year of hours, five layers';
  return [
    { name, measured, limit: 100, unit: 'ms', ratio: measured / 100, aim: 1, direction: 'at most', note },
    {
      name: `${name}, against its bare sweeps`,
      measured,
      limit: bare,
      unit: 'ms',
      ratio: measured / bare,
      aim: 4,
      direction: 'at most',
      note,
    },
  ];
}
