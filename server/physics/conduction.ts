import { inRange } from './range.ts';

/** A layer as conduction through it needs it. Give an air layer the conductivity thickness / resistance. */
export interface ConductionLayer {
  /** m */
  readonly thickness: number;
  /** W/(m K) */
  readonly conductivity: number;
  /** kg/m3 */
  readonly density: number;
  /** specific heat capacity, J/(kg K) */
  readonly heatCapacity: number;
}

export interface ConductionBuildUp {
  /** from the room outwards, at least one */
  readonly layers: readonly ConductionLayer[];
  /** surface resistance on the room side (Rsi) and on the cold side (Rse), m2K/W */
  readonly internalResistance: number;
  readonly externalResistance: number;
}

/**
 * A build-up cut into elements. Nodes stand at both surfaces, at every boundary between layers and evenly in between;
 * each holds half the heat capacity of the elements it touches. A surface or boundary temperature is therefore a value
 * of the solution and not an extrapolation.
 */
export interface ConductionMesh {
  /** heat capacity of each node, J/(m2K) */
  readonly capacity: Float64Array;
  /** conductance: entry 0 room to first node, entry j node j-1 to node j, the last one last node to outdoors, W/(m2K) */
  readonly conductance: Float64Array;
  /** node at each boundary: the inner surface, between the layers in order, the outer surface */
  readonly boundaryNodes: readonly number[];
}

/** Where a calculation stands, so that it can be taken up again with the samples that follow. */
export interface ConductionState {
  /** node temperatures, °C */
  readonly temperatures: Float64Array;
  /** halvings of the sampling interval that the last step used */
  readonly halvings: number;
}

export interface ConductionSeries {
  /** air temperature on the room side and on the cold side at evenly spaced instants, °C; straight lines in between */
  readonly room: Float64Array;
  readonly outdoor: Float64Array;
  /** time between samples, s */
  readonly interval: number;
}

export interface ConductionSettings {
  /** largest error that one time step may add to any node, K */
  readonly stepTolerance: number;
  /** the shortest step is the sampling interval divided by 2 to this power */
  readonly mostHalvings: number;
}

const conductionSettings: ConductionSettings = Object.freeze({ stepTolerance: 0.001, mostHalvings: 14 });

export interface ConductionResult {
  /** temperature at each boundary at each sample, °C: `boundaries[0]` is the inner surface, the last one the outer */
  readonly boundaries: readonly Float64Array[];
  /** heat that came in from the room and left outwards in the interval that ends at each sample, J/m2; entry 0 is 0 */
  readonly heatIn: Float64Array;
  readonly heatOut: Float64Array;
  /** at the last sample. To go on, start the next series with that sample */
  readonly state: ConductionState;
  readonly steps: number;
}

/** Swing whose depth of penetration sets the size of elements, and elements to that depth. Common practice, no source. */
const FINEST_SWING_S = 6 * 3600;
const ELEMENTS_PER_DEPTH = 4;

/**
 * Number of elements that follows swings of six hours and slower: a quarter of the depth to which such a swing
 * penetrates, sqrt(a P / pi).
 *
 * @source depth of penetration: ISO 13786:2017, 7.1
 */
function elementsFor(layer: ConductionLayer): number {
  const diffusivity = layer.conductivity / (layer.density * layer.heatCapacity);
  const depth = Math.sqrt((diffusivity * FINEST_SWING_S) / Math.PI);
  return Math.max(1, Math.ceil((ELEMENTS_PER_DEPTH * layer.thickness) / depth));
}

/**
 * Cuts a build-up into elements.
 *
 * @param elements elements in each layer; by default as many as swings of six hours need
 * @throws RangeError where a property is out of range, there is no layer, or `elements` does not fit the layers
 */
export function conductionMesh(buildUp: ConductionBuildUp, elements?: readonly number[]): ConductionMesh {
  const { layers } = buildUp;
  inRange('layers', layers.length, 'layers', 1, 1000);
  if (elements !== undefined) inRange('elements.length', elements.length, 'layers', layers.length, layers.length);
  inRange('internalResistance', buildUp.internalResistance, 'm2K/W', 1e-6, 100);
  inRange('externalResistance', buildUp.externalResistance, 'm2K/W', 1e-6, 100);
  const counts = layers.map((layer, index) => {
    const name = `layers[${index}]`;
    inRange(`${name}.thickness`, layer.thickness, 'm', 1e-6, 100);
    inRange(`${name}.conductivity`, layer.conductivity, 'W/(m K)', 1e-4, 1000);
    inRange(`${name}.density`, layer.density, 'kg/m3', 0.1, 30_000);
    inRange(`${name}.heatCapacity`, layer.heatCapacity, 'J/(kg K)', 10, 10_000);
    const count = elements?.[index] ?? Math.min(elementsFor(layer), 10_000);
    inRange(`elements[${index}]`, count, 'elements', 1, 10_000);
    return Math.round(count);
  });
  const nodes = 1 + counts.reduce((sum, count) => sum + count, 0);
  const capacity = new Float64Array(nodes);
  const conductance = new Float64Array(nodes + 1);
  const boundaryNodes = [0];
  let node = 0;
  layers.forEach((layer, index) => {
    const count = counts[index]!;
    const size = layer.thickness / count;
    const half = (layer.density * layer.heatCapacity * size) / 2;
    for (let element = 0; element < count; element += 1) {
      capacity[node]! += half;
      node += 1;
      capacity[node]! += half;
      conductance[node] = layer.conductivity / size;
    }
    boundaryNodes.push(node);
  });
  conductance[0] = 1 / buildUp.internalResistance;
  conductance[nodes] = 1 / buildUp.externalResistance;
  return { capacity, conductance, boundaryNodes };
}

/** The state in which nothing changes any more between a room and an outdoor temperature, °C. */
export function conductionAtRest(mesh: ConductionMesh, room: number, outdoor: number): ConductionState {
  inRange('room', room, '°C', -100, 200);
  inRange('outdoor', outdoor, '°C', -100, 200);
  const { conductance } = mesh;
  const nodes = mesh.capacity.length;
  let total = 0;
  for (const one of conductance) total += 1 / one;
  const flux = (room - outdoor) / total;
  const temperatures = new Float64Array(nodes);
  let temperature = room;
  for (let node = 0; node < nodes; node += 1) {
    temperature -= flux / conductance[node]!;
    temperatures[node] = temperature;
  }
  return { temperatures, halvings: 0 };
}

/** Heat held by the build-up above 0 °C, J/m2. */
export function heatHeld(mesh: ConductionMesh, state: ConductionState): number {
  let sum = 0;
  for (let node = 0; node < mesh.capacity.length; node += 1) sum += mesh.capacity[node]! * state.temperatures[node]!;
  return sum;
}

const GAMMA = 2 - Math.SQRT2;
const D = GAMMA / 2;
const W = Math.SQRT2 / 4;

/** The matrix C + h D K of one step length h, taken apart for the solution of tridiagonal systems. */
interface Factors {
  readonly step: number;
  readonly lower: Float64Array;
  readonly inversePivot: Float64Array;
  readonly upperRatio: Float64Array;
}

function factorise(mesh: ConductionMesh, step: number): Factors {
  const { capacity, conductance } = mesh;
  const nodes = capacity.length;
  const lower = new Float64Array(nodes);
  const inversePivot = new Float64Array(nodes);
  const upperRatio = new Float64Array(nodes);
  const scale = step * D;
  for (let node = 0; node < nodes; node += 1) {
    lower[node] = node === 0 ? 0 : -scale * conductance[node]!;
    const diagonal = capacity[node]! + scale * (conductance[node]! + conductance[node + 1]!);
    const before = node === 0 ? 0 : upperRatio[node - 1]!;
    inversePivot[node] = 1 / (diagonal - lower[node]! * before);
    upperRatio[node] = node === nodes - 1 ? 0 : -scale * conductance[node + 1]! * inversePivot[node]!;
  }
  return { step, lower, inversePivot, upperRatio };
}

function solveInPlace(factors: Factors, values: Float64Array): void {
  const { lower, inversePivot, upperRatio } = factors;
  const last = values.length - 1;
  let before = values[0]! * inversePivot[0]!;
  values[0] = before;
  for (let node = 1; node <= last; node += 1) {
    before = (values[node]! - lower[node]! * before) * inversePivot[node]!;
    values[node] = before;
  }
  for (let node = last - 1; node >= 0; node -= 1) {
    before = values[node]! - upperRatio[node]! * before;
    values[node] = before;
  }
}

/** Heat flowing into each node, W/m2. */
function flows(
  mesh: ConductionMesh,
  temperatures: Float64Array,
  room: number,
  outdoor: number,
  out: Float64Array,
): void {
  const { conductance } = mesh;
  const last = temperatures.length - 1;
  let arriving = conductance[0]! * (room - temperatures[0]!);
  for (let node = 0; node < last; node += 1) {
    const leaving = conductance[node + 1]! * (temperatures[node]! - temperatures[node + 1]!);
    out[node] = arriving - leaving;
    arriving = leaving;
  }
  out[last] = arriving - conductance[last + 1]! * (temperatures[last]! - outdoor);
}

function checkSeries(series: ConductionSeries): void {
  const { room, outdoor, interval } = series;
  inRange('interval', interval, 's', 1, 366 * 86_400);
  inRange('room.length', room.length, 'samples', 1, 1e9);
  inRange('outdoor.length', outdoor.length, 'samples', room.length, room.length);
  for (let index = 0; index < room.length; index += 1) {
    if (!(room[index]! >= -100 && room[index]! <= 200)) inRange(`room[${index}]`, room[index]!, '°C', -100, 200);
    if (!(outdoor[index]! >= -100 && outdoor[index]! <= 200)) {
      inRange(`outdoor[${index}]`, outdoor[index]!, '°C', -100, 200);
    }
  }
}

/**
 * Heat conduction through a build-up in one dimension, driven by the air on both sides. Finite volumes of second order
 * in space; in time the L-stable TR-BDF2 rule of second order, whose step halves and doubles with its own estimate of
 * the error. Heat is conserved to round-off.
 *
 * Gaps must be filled before: a NaN in `room` or `outdoor` is an error.
 *
 * @param state where to start at the first sample; from rest at the first sample if left out
 * @throws RangeError for a sample outside -100 to 200 °C, series of different length, or a state of another mesh
 * @source Bank et al. (1985), IEEE Trans. Electron Devices 32, 1992-2007; error estimate of Hosea & Shampine (1996),
 *   Applied Numerical Mathematics 20, 21-37
 */
export function conduct(
  mesh: ConductionMesh,
  series: ConductionSeries,
  state?: ConductionState,
  settings: ConductionSettings = conductionSettings,
): ConductionResult {
  checkSeries(series);
  inRange('stepTolerance', settings.stepTolerance, 'K', 1e-12, 100);
  inRange('mostHalvings', settings.mostHalvings, 'halvings', 0, 30);
  const { capacity, conductance, boundaryNodes } = mesh;
  const { room, outdoor, interval } = series;
  const nodes = capacity.length;
  const start = state ?? conductionAtRest(mesh, room[0]!, outdoor[0]!);
  inRange('state.temperatures.length', start.temperatures.length, 'nodes', nodes, nodes);
  start.temperatures.forEach((one, node) => {
    inRange(`state.temperatures[${node}]`, one, '°C', -100, 200);
  });

  const samples = room.length;
  const boundaries = boundaryNodes.map(() => new Float64Array(samples));
  const heatIn = new Float64Array(samples);
  const heatOut = new Float64Array(samples);
  const factorsOf: Factors[] = [];
  const inner = conductance[0]!;
  const outer = conductance[nodes]!;
  const last = nodes - 1;

  let now = Float64Array.from(start.temperatures);
  let next = new Float64Array(nodes);
  const middle = new Float64Array(nodes);
  let flowsNow = new Float64Array(nodes);
  let flowsNext = new Float64Array(nodes);
  const flowsMiddle = new Float64Array(nodes);
  const error = new Float64Array(nodes);
  const estimateNow = W - (1 - W) / 3;
  const estimateMiddle = W - (3 * W + 1) / 3;
  const estimateNext = (2 * D) / 3;

  let halvings = Math.min(Math.max(0, Math.round(start.halvings)), settings.mostHalvings);
  let steps = 0;
  flows(mesh, now, room[0]!, outdoor[0]!, flowsNow);
  boundaryNodes.forEach((node, index) => {
    boundaries[index]![0] = now[node]!;
  });

  for (let sample = 1; sample < samples; sample += 1) {
    const room0 = room[sample - 1]!;
    const roomSlope = room[sample]! - room0;
    const outdoor0 = outdoor[sample - 1]!;
    const outdoorSlope = outdoor[sample]! - outdoor0;
    let gained = 0;
    let lost = 0;
    // part of the interval behind us; steps are powers of 1/2, so it is exact in binary
    let behind = 0;
    while (behind < 1) {
      const part = 2 ** -halvings;
      let factors = factorsOf[halvings];
      if (factors === undefined) {
        factors = factorise(mesh, interval * part);
        factorsOf[halvings] = factors;
      }
      const step = factors.step;
      const roomNow = room0 + roomSlope * behind;
      const outdoorNow = outdoor0 + outdoorSlope * behind;
      const roomMiddle = room0 + roomSlope * (behind + GAMMA * part);
      const outdoorMiddle = outdoor0 + outdoorSlope * (behind + GAMMA * part);
      const roomNext = room0 + roomSlope * (behind + part);
      const outdoorNext = outdoor0 + outdoorSlope * (behind + part);
      const sd = step * D;
      const sw = step * W;

      for (let node = 0; node < nodes; node += 1) middle[node] = capacity[node]! * now[node]! + sd * flowsNow[node]!;
      middle[0]! += sd * inner * roomMiddle;
      middle[last]! += sd * outer * outdoorMiddle;
      solveInPlace(factors, middle);
      flows(mesh, middle, roomMiddle, outdoorMiddle, flowsMiddle);

      for (let node = 0; node < nodes; node += 1) {
        next[node] = capacity[node]! * now[node]! + sw * (flowsNow[node]! + flowsMiddle[node]!);
      }
      next[0]! += sd * inner * roomNext;
      next[last]! += sd * outer * outdoorNext;
      solveInPlace(factors, next);
      flows(mesh, next, roomNext, outdoorNext, flowsNext);

      for (let node = 0; node < nodes; node += 1) {
        error[node] =
          step *
          (estimateNow * flowsNow[node]! + estimateMiddle * flowsMiddle[node]! + estimateNext * flowsNext[node]!);
      }
      solveInPlace(factors, error);
      let worst = 0;
      for (let node = 0; node < nodes; node += 1) worst = Math.max(worst, Math.abs(error[node]!));
      if (worst > settings.stepTolerance && halvings < settings.mostHalvings) {
        halvings += 1;
        continue;
      }

      gained += inner * (sw * (roomNow - now[0]!) + sw * (roomMiddle - middle[0]!) + sd * (roomNext - next[0]!));
      lost +=
        outer *
        (sw * (now[last]! - outdoorNow) + sw * (middle[last]! - outdoorMiddle) + sd * (next[last]! - outdoorNext));
      [now, next] = [next, now];
      [flowsNow, flowsNext] = [flowsNext, flowsNow];
      behind += part;
      steps += 1;
      // the local error grows with the third power of the step; double only where the longer step also fits the clock
      const fits = behind * 2 ** (halvings - 1);
      if (halvings > 0 && worst * 10 < settings.stepTolerance && fits === Math.floor(fits)) halvings -= 1;
    }
    heatIn[sample] = gained;
    heatOut[sample] = lost;
    for (let index = 0; index < boundaryNodes.length; index += 1) {
      boundaries[index]![sample] = now[boundaryNodes[index]!]!;
    }
  }
  return { boundaries, heatIn, heatOut, state: { temperatures: now, halvings }, steps };
}
