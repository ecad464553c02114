import type { Layer, Path } from './build-up.ts';
import { type ConductionLayer, conduct, conductionMesh } from './conduction.ts';

/** Air between layers, as heavy as air. */
const AIR = { density: 1.2, heatCapacity: 1008 } as const;

/** A product known by its resistances only: given next to no weight, so that it stores nothing. */
const MASSLESS = { thickness: 0.01, density: 1, heatCapacity: 10 } as const;

/**
 * The clear way through a build-up as transient conduction needs it. Films are passed over. Where an air layer is slightly
 * ventilated, the layers keep their mass and take the resistance that {@link pathsThrough} gives them.
 *
 * @param path the clear path of these layers
 * @param layers the counted layers, from the room outwards
 * @returns layers, and for each boundary of the build-up (0: room-side surface) the boundary of those layers it lies on
 */
function conductionAlong(
  path: Path,
  layers: readonly Layer[],
): { layers: readonly ConductionLayer[]; boundaries: readonly number[] } {
  const along: ConductionLayer[] = [];
  const boundaries = [0];
  layers.forEach((layer, index) => {
    const resistance = path.resistances[index]!;
    if (resistance > 0) along.push(asConducted(layer, resistance));
    boundaries.push(along.length);
  });
  return { layers: along, boundaries };
}

function asConducted(layer: Layer, resistance: number): ConductionLayer {
  switch (layer.kind) {
    case 'solid': {
      const { thickness, material } = layer;
      const { density, heatCapacity } = material;
      return { thickness, conductivity: thickness / resistance, density, heatCapacity };
    }
    case 'air':
      return { thickness: layer.thickness, conductivity: layer.thickness / resistance, ...AIR };
    case 'declared':
      return { ...MASSLESS, conductivity: MASSLESS.thickness / resistance };
  }
}

/**
 * Temperature at one boundary of a build-up hour by hour, heat held by the layers counted, °C. Each run of known hours starts
 * from rest in its first hour; NaN in either column is not known and gives NaN.
 *
 * @param boundary 0 is the room-side surface, `layers.length` the outer one
 * @param room,outdoor air temperatures, °C, one value an hour
 * @throws RangeError for columns of different length or a boundary that is none
 */
export function boundaryTemperatureHours(
  path: Path,
  layers: readonly Layer[],
  boundary: number,
  room: Float64Array,
  outdoor: Float64Array,
): Float64Array {
  const hours = room.length;
  if (outdoor.length !== hours) {
    throw new RangeError(`outdoor has ${outdoor.length} hours; it must have as many as room, ${hours}`);
  }
  const along = conductionAlong(path, layers);
  const at = along.boundaries[boundary];
  if (at === undefined) {
    throw new RangeError(`boundary is ${boundary}; it must lie between 0 and ${layers.length}`);
  }
  const temperature = new Float64Array(hours).fill(Number.NaN);
  if (along.layers.length === 0) {
    const share = path.rsi / (path.rsi + path.rse);
    return temperature.map((_, hour) => room[hour]! + share * (outdoor[hour]! - room[hour]!));
  }
  const mesh = conductionMesh({
    layers: along.layers,
    internalResistance: path.rsi,
    externalResistance: path.rse,
  });
  for (let from = 0; from < hours; ) {
    let to = from;
    while (to < hours && Number.isFinite(room[to]! + outdoor[to]!)) to += 1;
    if (to > from) {
      const series = { room: room.subarray(from, to), outdoor: outdoor.subarray(from, to), interval: 3600 };
      temperature.set(conduct(mesh, series).boundaries[at]!, from);
    }
    from = to + 1;
  }
  return temperature;
}
