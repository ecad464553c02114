import { INTERNAL_SURFACE_RESISTANCE, MOULD_SURFACE_RESISTANCE } from '../physics/air-layer.ts';
import {
  type BuildUp,
  boundaryTemperatures,
  type CountedBuildUp,
  countedBuildUp,
  layerSd,
  type Path,
  pathsThrough,
  type Transmittance,
  transmittance,
} from '../physics/build-up.ts';
import { type ClimateMonth, type CondensationYear, condensationYear } from '../physics/condensation-year.ts';
import { type AirStates, diffusionPathAlong, vapourProfile } from '../physics/diffusion.ts';
import { dewPointMargin, surfaceHumidity } from '../physics/surface.ts';
import { airOf, type LiningInput } from './lining-input.ts';

/** Surface resistances for which U, f and surface temperature are given, m2K/W. */
const ratedSurfaceResistances = [
  INTERNAL_SURFACE_RESISTANCE.up,
  INTERNAL_SURFACE_RESISTANCE.horizontal,
  MOULD_SURFACE_RESISTANCE,
];

/** Surface of the ceiling towards the room in one steady state, for one surface resistance. */
export interface SurfacePrediction {
  readonly rsi: number;
  /** over bridges and clear parts, °C: from f = 1 - U Rsi */
  readonly meanTemperature: number;
  /** of the coldest way through, °C */
  readonly lowestTemperature: number;
  /** bridges on the coldest way; empty: the clear part */
  readonly coldestThrough: readonly string[];
  /** there, % and K */
  readonly surfaceHumidity: number;
  readonly margin: number;
}

interface Boundary {
  readonly name: string;
  /** °C */
  readonly temperature: number;
  /** Pa */
  readonly vapourPressure: number;
  readonly saturation: number;
}

/** A spot along the clear part of a build-up, between room and outdoors. */
export interface ProfilePoint {
  /** index of the layer it lies in or at the outer face of; -1 is the surface to the room */
  readonly layer: number;
  /** how far through that layer, above 0 and at most 1; 1 for the surface to the room */
  readonly depth: number;
  /** °C */
  readonly temperature: number;
  /** Pa */
  readonly vapourPressure: number;
  readonly saturation: number;
  /** water that settles there while the state lasts, kg/(m2 s); 0: none */
  readonly settles: number;
}

export interface BuildUpFigures {
  /** for surface resistances of 0.10, 0.13 and 0.25 m2K/W */
  readonly transmittances: readonly Transmittance[];
  /** U with the surface resistance of the direction of heat flow, the one building codes ask for, W/(m2K) */
  readonly uValue: number;
  readonly design: readonly SurfacePrediction[];
  /** null: no log, or no night in it well enough known */
  readonly coldestNight: readonly SurfacePrediction[] | null;
  /** clear part at the design state, from the room outwards */
  readonly boundaries: readonly Boundary[];
  /** the same with the spots inside thick layers, for a drawing */
  readonly profile: readonly ProfilePoint[];
  /** null: no twelve months of climate */
  readonly condensation: CondensationYear | null;
}

/**
 * Heat, surface and condensation of one build-up.
 *
 * @param months twelve months of climate; null: none known
 * @param night means of the coldest night; null: none known
 */
export function buildUpFigures(
  buildUp: BuildUp,
  input: LiningInput,
  months: readonly ClimateMonth[] | null,
  night: AirStates | null,
): BuildUpFigures {
  const counted = countedBuildUp(buildUp);
  const [clear] = pathsThrough(buildUp);
  const path = diffusionPathAlong(clear!, counted.layers, input.cup);
  return {
    transmittances: ratedSurfaceResistances.map((rsi) => transmittance(buildUp, rsi)),
    uValue: transmittance(buildUp).uValue,
    design: surfaces(buildUp, airOf(input.design)),
    coldestNight: night && surfaces(buildUp, night),
    boundaries: boundariesAt(clear!, counted, input),
    profile: profileAt(clear!, counted, input),
    condensation: months && condensationYear(path, months),
  };
}

function surfaces(buildUp: BuildUp, air: AirStates): SurfacePrediction[] {
  return ratedSurfaceResistances.map((rsi) => {
    const { temperatureFactor } = transmittance(buildUp, rsi);
    const coldest = pathsThrough(buildUp, rsi)
      .map((path) => ({
        through: path.through,
        temperature: boundaryTemperatures(path, air.roomTemperature, air.outdoorTemperature)[0]!,
      }))
      .reduce((least, one) => (one.temperature < least.temperature ? one : least));
    return {
      rsi,
      meanTemperature: air.outdoorTemperature + temperatureFactor * (air.roomTemperature - air.outdoorTemperature),
      lowestTemperature: coldest.temperature,
      coldestThrough: coldest.through,
      surfaceHumidity: surfaceHumidity(air.roomVapourPressure, coldest.temperature),
      margin: dewPointMargin(air.roomVapourPressure, coldest.temperature),
    };
  });
}

function profileAt(path: Path, counted: CountedBuildUp, { design, cup }: LiningInput): ProfilePoint[] {
  const along = diffusionPathAlong(path, counted.layers, cup);
  const profile = vapourProfile(along, airOf(design));
  // the method passes over layers that resist neither heat nor vapour
  const layers = counted.layers.flatMap((layer, index) =>
    path.resistances[index] !== 0 || layerSd(layer, cup) !== 0 ? [index] : [],
  );
  const ends = along.nodes.flatMap((node, index) => (node.name.startsWith('within ') ? [] : [index]));
  return along.nodes.map((_, index) => {
    const last = ends.findIndex((end) => end >= index);
    const from = ends[last - 1] ?? 0;
    const plane = profile.planes.find(({ node }) => node === index);
    return {
      layer: last === 0 ? -1 : layers[last - 1]!,
      depth: last === 0 ? 1 : (index - from) / (ends[last]! - from),
      temperature: profile.temperatures[index]!,
      vapourPressure: profile.pressures[index]!,
      saturation: profile.saturation[index]!,
      settles: plane === undefined ? 0 : plane.inflow - plane.outflow,
    };
  });
}

function boundariesAt(path: Path, counted: CountedBuildUp, { design, cup }: LiningInput): Boundary[] {
  const along = diffusionPathAlong(path, counted.layers, cup);
  const profile = vapourProfile(along, airOf(design));
  return along.nodes.flatMap((node, index) =>
    node.name.startsWith('within ')
      ? []
      : [
          {
            name: node.name,
            temperature: profile.temperatures[index]!,
            vapourPressure: profile.pressures[index]!,
            saturation: profile.saturation[index]!,
          },
        ],
  );
}
