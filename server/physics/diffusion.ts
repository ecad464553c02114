import { type Layer, layerSd, type Path } from './build-up.ts';
import { inRange } from './range.ts';
import { saturationPressure } from './saturation.ts';

/** Vapour permeability of still air δ0, kg/(m s Pa), the figure the method is built on. @source ISO 13788:2012, 6.2 */
export const VAPOUR_PERMEABILITY_OF_AIR = 2e-10;

/** Layers that resist more than this are cut into equal parts, m2K/W. @source ISO 13788:2012, 6.4.1, from memory */
export const MOST_RESISTANCE_OF_A_PART = 0.25;

/** A layer as diffusion needs it. */
export interface DiffusionLayer {
  readonly name: string;
  /** m2K/W, 0 or more */
  readonly resistance: number;
  /** m of still air; above 0 wherever the resistance is */
  readonly sd: number;
}

/** A place where the method looks for condensation: a surface, a boundary between layers, a cut inside a thick layer. */
interface DiffusionNode {
  readonly name: string;
  /** resistance between room air and here, m2K/W */
  readonly resistance: number;
  /** vapour resistance between the inner surface and here, m */
  readonly sd: number;
}

export interface DiffusionPath {
  /** from the inner surface to the outer one */
  readonly nodes: readonly DiffusionNode[];
  /** from room air to outdoor air, m2K/W */
  readonly resistance: number;
  /** from surface to surface, m */
  readonly sd: number;
}

/**
 * Cuts a path into the nodes of the method.
 *
 * @param layers from the room outwards; a layer without any resistance to heat or vapour is passed over
 * @param rsi,rse surface resistances, m2K/W
 * @throws RangeError for a negative value, a layer that resists heat and not vapour, or a path without vapour resistance
 * @source ISO 13788:2012, 6.4.1
 */
export function diffusionPath(layers: readonly DiffusionLayer[], rsi: number, rse: number): DiffusionPath {
  const counted = layers.filter((layer) => layer.resistance !== 0 || layer.sd !== 0);
  const nodes: DiffusionNode[] = [{ name: 'room-side surface', resistance: inRange('rsi', rsi, 'm2K/W', 0, 1), sd: 0 }];
  let passed = rsi;
  let sd = 0;
  counted.forEach((layer, index) => {
    inRange(`resistance of ${layer.name}`, layer.resistance, 'm2K/W', 0, 100);
    if (!(layer.sd > 0 && layer.sd <= 1e7)) {
      throw new RangeError(
        `sd of ${layer.name} is ${layer.sd} m; it must be above 0 and at most 1e7 m (open insulation resists as much as still air of its thickness)`,
      );
    }
    const parts = Math.max(1, Math.ceil(layer.resistance / MOST_RESISTANCE_OF_A_PART - 1e-9));
    for (let part = 1; part < parts; part += 1) {
      nodes.push({
        name: `within ${layer.name}`,
        resistance: passed + (layer.resistance * part) / parts,
        sd: sd + (layer.sd * part) / parts,
      });
    }
    passed += layer.resistance;
    sd += layer.sd;
    const next = counted[index + 1];
    nodes.push({
      name: next === undefined ? 'outer surface' : `${layer.name} | ${next.name}`,
      resistance: passed,
      sd,
    });
  });
  if (counted.length === 0)
    throw new RangeError('layers has 0 layers that resist heat or vapour; it must have 1 or more');
  return { nodes, resistance: passed + inRange('rse', rse, 'm2K/W', 0, 1), sd };
}

/** The diffusion path along one way through a build-up. */
export function diffusionPathAlong(path: Path, layers: readonly Layer[], cup: 'dry' | 'wet'): DiffusionPath {
  return diffusionPath(
    layers.map((layer, index) => ({
      name: layer.name,
      resistance: path.resistances[index]!,
      sd: layerSd(layer, cup),
    })),
    path.rsi,
    path.rse,
  );
}

/** Steady states of the air on both sides. */
export interface AirStates {
  /** °C */
  readonly roomTemperature: number;
  readonly outdoorTemperature: number;
  /** Pa */
  readonly roomVapourPressure: number;
  readonly outdoorVapourPressure: number;
}

/** A node where water settles or dries, and the vapour that reaches and leaves it, kg/(m2 s). */
interface CondensationPlane {
  /** index into the path's nodes */
  readonly node: number;
  /** from the room side and to the outdoor side; either may be negative */
  readonly inflow: number;
  readonly outflow: number;
}

export interface VapourProfile {
  /** at each node: °C, Pa, Pa */
  readonly temperatures: readonly number[];
  readonly saturation: readonly number[];
  readonly pressures: readonly number[];
  readonly planes: readonly CondensationPlane[];
  /** vapour in through the inner surface and out through the outer one, kg/(m2 s) */
  readonly inflow: number;
  readonly outflow: number;
  /** surfaces whose air is beyond saturation there; the pressure counted is saturation, the rest settles on the surface */
  readonly wetSurfaces: readonly ('room' | 'outdoors')[];
}

/**
 * Vapour pressure through a path in steady state. Between the two surfaces the pressure is the string drawn taut under
 * the saturation pressures: straight over vapour resistance, touching saturation where water settles. Nodes that are
 * wet already stand at saturation whether water settles there or dries.
 *
 * @param wet indices of nodes that hold water, not the two surfaces
 * @throws RangeError for temperatures outside -60 to 100 °C or pressures outside 0 to 101325 Pa
 * @source ISO 13788:2012, 6.4.3 (condensation) and 6.4.4 (evaporation)
 */
export function vapourProfile(
  path: DiffusionPath,
  air: AirStates,
  wet: ReadonlySet<number> = new Set(),
): VapourProfile {
  inRange('roomVapourPressure', air.roomVapourPressure, 'Pa', 0, 101_325);
  inRange('outdoorVapourPressure', air.outdoorVapourPressure, 'Pa', 0, 101_325);
  const { nodes } = path;
  const last = nodes.length - 1;
  const fall = air.outdoorTemperature - air.roomTemperature;
  const temperatures = nodes.map((node) => air.roomTemperature + (fall * node.resistance) / path.resistance);
  const saturation = temperatures.map(saturationPressure);
  const heights = [...saturation];
  heights[0] = Math.min(air.roomVapourPressure, saturation[0]!);
  heights[last] = Math.min(air.outdoorVapourPressure, saturation[last]!);

  const touches = tautString(nodes, heights, wet);
  const flows = touches
    .slice(1)
    .map(
      (node, index) =>
        (VAPOUR_PERMEABILITY_OF_AIR * (heights[touches[index]!]! - heights[node]!)) /
        (nodes[node]!.sd - nodes[touches[index]!]!.sd),
    );
  const wetSurfaces: ('room' | 'outdoors')[] = [];
  if (air.roomVapourPressure > saturation[0]!) wetSurfaces.push('room');
  if (air.outdoorVapourPressure > saturation[last]!) wetSurfaces.push('outdoors');
  return {
    temperatures,
    saturation,
    pressures: alongString(nodes, heights, touches),
    planes: touches.slice(1, -1).map((node, index) => ({ node, inflow: flows[index]!, outflow: flows[index + 1]! })),
    inflow: flows[0]!,
    outflow: flows.at(-1)!,
    wetSurfaces,
  };
}

/** Nodes at which the string bends, both ends included: the lower convex hull between nodes that are held fast. */
function tautString(nodes: readonly DiffusionNode[], heights: readonly number[], held: ReadonlySet<number>): number[] {
  const string: number[] = [];
  let from = 0;
  for (let node = 0; node < nodes.length; node += 1) {
    while (string.length - from >= 2 && !turnsUp(string.at(-2)!, string.at(-1)!, node)) string.pop();
    string.push(node);
    if (held.has(node)) from = string.length - 1;
  }
  return string;

  function turnsUp(one: number, two: number, three: number): boolean {
    const first = (heights[two]! - heights[one]!) * (nodes[three]!.sd - nodes[two]!.sd);
    const second = (heights[three]! - heights[two]!) * (nodes[two]!.sd - nodes[one]!.sd);
    return second > first;
  }
}

function alongString(
  nodes: readonly DiffusionNode[],
  heights: readonly number[],
  touches: readonly number[],
): number[] {
  let piece = 1;
  return nodes.map((node, index) => {
    while (index > touches[piece]!) piece += 1;
    const from = touches[piece - 1]!;
    const to = touches[piece]!;
    if (index === to) return heights[to]!;
    const share = (node.sd - nodes[from]!.sd) / (nodes[to]!.sd - nodes[from]!.sd);
    return heights[from]! + share * (heights[to]! - heights[from]!);
  });
}
