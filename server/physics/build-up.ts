import {
  EXTERNAL_SURFACE_RESISTANCE,
  type HeatFlow,
  heatFlowThroughPitch,
  INTERNAL_SURFACE_RESISTANCE,
  SLIGHTLY_VENTILATED_FROM_MM2,
  unventilatedAirResistance,
  ventilationOf,
  WELL_VENTILATED_FROM_MM2,
} from './air-layer.ts';
import { factorOfTransmittance } from './factor.ts';
import type { Material } from './material.ts';
import type { Notice } from './notice.ts';
import { inRange } from './range.ts';

/** Timber or metal that runs through a layer from face to face: a rafter, a rib. */
export interface Bridge {
  readonly name: string;
  readonly material: Material;
  /** share of the area it takes, 0 up to but not 1 */
  readonly share: number;
  /**
   * Bridges with the same `line` lie behind one another, the narrower within the wider. Bridges on different lines cross.
   * Left out, a bridge is on a line of its own.
   */
  readonly line?: string;
}

/** A layer of one material; bridges in it are as deep as it is. */
interface SolidLayer {
  readonly kind: 'solid';
  readonly name: string;
  /** m */
  readonly thickness: number;
  readonly material: Material;
  /** vapour resistance declared for the layer as a whole (a foil facing, say), m; left out, µ times thickness */
  readonly sd?: number;
  readonly bridge?: Bridge;
}

/** A film, or a product whose maker declares resistances instead of materials. Massless. */
export interface DeclaredLayer {
  readonly kind: 'declared';
  readonly name: string;
  /** m2K/W, 0 for a film */
  readonly resistance: number;
  /** vapour resistance, m of still air */
  readonly sd: number;
}

interface AirLayer {
  readonly kind: 'air';
  readonly name: string;
  /** m, at most 0.3 unless well ventilated */
  readonly thickness: number;
  /** area of openings to outdoors, mm2 a metre or square metre; 0 is closed, from 1500 the layer counts as outdoors */
  readonly openingMm2: number;
  readonly bridge?: Bridge;
}

export type Layer = SolidLayer | DeclaredLayer | AirLayer;

export interface BuildUp {
  /** from the room outwards, at least one that is not a well-ventilated air layer before anything else */
  readonly layers: readonly Layer[];
  /** slope from the horizontal, ° */
  readonly pitch: number;
}

/** One way from room to outdoors that heat can take without going sideways. */
interface Section {
  /** share of the area, 0 to 1; the shares of a build-up's sections add up to 1 */
  readonly share: number;
  /** the bridges it goes through, none in the clear between them */
  readonly through: readonly string[];
  /** of each counted layer from the room outwards, m2K/W */
  readonly resistances: readonly number[];
}

/** A build-up as the method counts it: what lies beyond a well-ventilated void is left out. */
export interface CountedBuildUp {
  readonly flow: HeatFlow;
  readonly layers: readonly Layer[];
  /** external surface resistance, m2K/W: that of still air where the outer face looks into a well-ventilated void */
  readonly rse: number;
  /** names of what is not counted */
  readonly beyond: readonly string[];
}

export interface Transmittance {
  /** internal and external surface resistance, m2K/W */
  readonly rsi: number;
  readonly rse: number;
  /** limits and total thermal resistance, m2K/W */
  readonly upper: number;
  readonly lower: number;
  readonly resistance: number;
  /** thermal transmittance U, W/(m2K) */
  readonly uValue: number;
  /** f = 1 - U Rsi, mean over bridges and clear parts, no unit */
  readonly temperatureFactor: number;
  /** largest relative error of the method, % */
  readonly maximumError: number;
  readonly notices: readonly Notice<'limits-too-far-apart' | 'beyond-the-void-not-counted'>[];
}

const MOST_SECTIONS = 1024;

/** Thermal resistance of the clear part of a layer, m2K/W. @throws RangeError for impossible thickness or conductivity */
function layerResistance(layer: Layer, flow: HeatFlow): number {
  switch (layer.kind) {
    case 'solid':
      return solidResistance(layer.name, layer.thickness, layer.material);
    case 'declared':
      return inRange(`resistance of ${layer.name}`, layer.resistance, 'm2K/W', 0, 100);
    case 'air':
      return unventilatedAirResistance(layer.thickness, flow);
  }
}

function solidResistance(name: string, thickness: number, material: Material): number {
  inRange(`thickness of ${name}`, thickness, 'm', 1e-6, 5);
  inRange(`conductivity of ${material.name}`, material.conductivity, 'W/(m K)', 0.001, 1000);
  return thickness / material.conductivity;
}

function bridgeOf(layer: Layer): Bridge | null {
  return layer.kind === 'declared' ? null : (layer.bridge ?? null);
}

function bridgeResistance(layer: SolidLayer | AirLayer, bridge: Bridge): number {
  return solidResistance(bridge.name, layer.thickness, bridge.material);
}

/**
 * Vapour resistance of the clear part of a layer as a thickness of still air, m. Still air has µ = 1.
 *
 * @param cup whether µ from the dry-cup or the wet-cup test is used
 */
export function layerSd(layer: Layer, cup: 'dry' | 'wet'): number {
  switch (layer.kind) {
    case 'solid':
      return inRange(
        `sd of ${layer.name}`,
        layer.sd ?? layer.material.vapourResistance[cup] * layer.thickness,
        'm',
        0,
        1e7,
      );
    case 'declared':
      return inRange(`sd of ${layer.name}`, layer.sd, 'm', 0, 1e7);
    case 'air':
      return layer.thickness;
  }
}

/**
 * Leaves out a well-ventilated void and everything beyond it, and gives the face that looks into it the surface
 * resistance of still air.
 *
 * @throws RangeError where nothing is left
 * @source ISO 6946:2017, 6.9.4 (well-ventilated air layer)
 */
export function countedBuildUp(buildUp: BuildUp): CountedBuildUp {
  const flow = heatFlowThroughPitch(buildUp.pitch);
  const void_ = buildUp.layers.findIndex((layer) => layer.kind === 'air' && ventilationOf(layer.openingMm2) === 'well');
  const layers = void_ < 0 ? buildUp.layers : buildUp.layers.slice(0, void_);
  if (layers.length === 0) {
    throw new RangeError('layers has 0 layers between the room and outdoors; it must have 1 or more');
  }
  return {
    flow,
    layers,
    rse: void_ < 0 ? EXTERNAL_SURFACE_RESISTANCE : INTERNAL_SURFACE_RESISTANCE[flow],
    beyond: void_ < 0 ? [] : buildUp.layers.slice(void_).map((layer) => layer.name),
  };
}

/**
 * All ways through the build-up, the clear one first. Bridges on one line coincide, lines cross each other, so that the
 * share of a crossing is the product of the shares.
 *
 * @throws RangeError for a share outside 0 to 1, or more than 1024 sections
 * @source ISO 6946:2017, 6.7.2.2 (upper limit: the element cut by planes at right angles to its surfaces)
 */
function sectionsOf({ layers, flow }: Pick<CountedBuildUp, 'layers' | 'flow'>): Section[] {
  const lines = new Map<string, { layer: number; bridge: Bridge }[]>();
  layers.forEach((layer, index) => {
    const bridge = bridgeOf(layer);
    if (bridge === null) return;
    if (!(bridge.share >= 0 && bridge.share < 1)) {
      throw new RangeError(`share of ${bridge.name} is ${bridge.share}; it must be at least 0 and below 1`);
    }
    const line = bridge.line === undefined ? `\0${index}` : bridge.line;
    lines.set(line, [...(lines.get(line) ?? []), { layer: index, bridge }]);
  });

  const clear = layers.map((layer) => layerResistance(layer, flow));
  let sections: Section[] = [{ share: 1, through: [], resistances: clear }];
  for (const members of lines.values()) {
    const bands = bandsAcross(members);
    if (sections.length * bands.length > MOST_SECTIONS) {
      throw new RangeError(`bridges make more than ${MOST_SECTIONS} sections; put bridges that coincide on one line`);
    }
    sections = sections.flatMap((section) => bands.map((band) => crossed(section, band, layers)));
  }
  return sections.filter((section) => section.share > 0);
}

interface Band {
  readonly share: number;
  readonly members: readonly { layer: number; bridge: Bridge }[];
}

/** Strips across one line of bridges: clear of all, then through the widest alone, and so on to all of them. */
function bandsAcross(members: readonly { layer: number; bridge: Bridge }[]): Band[] {
  const widestFirst = [...members].sort((one, other) => other.bridge.share - one.bridge.share);
  const bands: Band[] = [{ share: 1 - widestFirst[0]!.bridge.share, members: [] }];
  widestFirst.forEach(({ bridge }, index) => {
    const within = widestFirst[index + 1]?.bridge.share ?? 0;
    bands.push({ share: bridge.share - within, members: widestFirst.slice(0, index + 1) });
  });
  return bands;
}

function crossed(section: Section, band: Band, layers: readonly Layer[]): Section {
  const resistances = [...section.resistances];
  for (const { layer, bridge } of band.members) {
    resistances[layer] = bridgeResistance(layers[layer] as SolidLayer | AirLayer, bridge);
  }
  return {
    share: section.share * band.share,
    through: [...section.through, ...new Set(band.members.map(({ bridge }) => bridge.name))],
    resistances,
  };
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

interface Limits {
  readonly upper: number;
  readonly lower: number;
  readonly resistance: number;
  readonly maximumError: number;
  readonly ratio: number;
}

/** Upper and lower limit of the resistance from room air to outdoor air, slightly ventilated layers interpolated. */
function limits(buildUp: BuildUp, rsi: number): Limits {
  const index = buildUp.layers.findIndex(
    (layer) => layer.kind === 'air' && ventilationOf(layer.openingMm2) === 'slightly',
  );
  const wellFirst = buildUp.layers.findIndex(
    (layer) => layer.kind === 'air' && ventilationOf(layer.openingMm2) === 'well',
  );
  if (index >= 0 && (wellFirst < 0 || index < wellFirst)) {
    const { openingMm2 } = buildUp.layers[index] as AirLayer;
    const closed = limits(withOpening(buildUp, index, 0), rsi);
    const open = limits(withOpening(buildUp, index, WELL_VENTILATED_FROM_MM2), rsi);
    const share =
      (openingMm2 - SLIGHTLY_VENTILATED_FROM_MM2) / (WELL_VENTILATED_FROM_MM2 - SLIGHTLY_VENTILATED_FROM_MM2);
    const between = (low: number, high: number): number => (1 - share) * low + share * high;
    return {
      upper: between(closed.upper, open.upper),
      lower: between(closed.lower, open.lower),
      resistance: between(closed.resistance, open.resistance),
      maximumError: Math.max(closed.maximumError, open.maximumError),
      ratio: Math.max(closed.ratio, open.ratio),
    };
  }
  const counted = countedBuildUp(buildUp);
  const ends = rsi + counted.rse;
  const sections = sectionsOf(counted);
  const upper = 1 / sum(sections.map(({ share, resistances }) => share / (ends + sum(resistances))));
  const lower =
    ends +
    sum(
      counted.layers.map((layer) => {
        const bridge = bridgeOf(layer);
        const clear = layerResistance(layer, counted.flow);
        if (bridge === null || bridge.share === 0) return clear;
        const across = bridgeResistance(layer as SolidLayer | AirLayer, bridge);
        return clear === 0 ? 0 : 1 / ((1 - bridge.share) / clear + bridge.share / across);
      }),
    );
  const resistance = (upper + lower) / 2;
  return { upper, lower, resistance, maximumError: ((upper - lower) / (2 * resistance)) * 100, ratio: upper / lower };
}

function withOpening(buildUp: BuildUp, index: number, openingMm2: number): BuildUp {
  return {
    ...buildUp,
    layers: buildUp.layers.map((layer, at) =>
      at === index && layer.kind === 'air' ? { ...layer, openingMm2 } : layer,
    ),
  };
}

/** R'T / R''T above which the combined method is not to be used. @source ISO 6946:2017, 6.7.2.1, from memory */
const HIGHEST_LIMIT_RATIO = 1.5;

/**
 * Thermal resistance, U and temperature factor by the combined method: the mean of an upper limit (heat goes straight
 * through) and a lower limit (every layer boundary is at one temperature).
 *
 * @param rsi internal surface resistance, m2K/W, 0.01 to 1; left out, that of the direction of heat flow
 * @throws RangeError for impossible layers
 * @source ISO 6946:2017, 6.7.2 (limits, error), 6.9 (air layers)
 */
export function transmittance(buildUp: BuildUp, rsi?: number): Transmittance {
  const counted = countedBuildUp(buildUp);
  const internal = inRange('rsi', rsi ?? INTERNAL_SURFACE_RESISTANCE[counted.flow], 'm2K/W', 0.01, 1);
  const { upper, lower, resistance, maximumError, ratio } = limits(buildUp, internal);
  const uValue = 1 / resistance;
  const notices: Transmittance['notices'][number][] = [];
  if (!(ratio <= HIGHEST_LIMIT_RATIO)) {
    notices.push({
      code: 'limits-too-far-apart',
      severity: 'warning',
      message: `The upper limit of the resistance is ${ratio.toFixed(2)} times the lower one; above 1.5 the combined method does not hold. Have the bridges calculated in two or three dimensions (ISO 10211).`,
      data: { ratio, highest_ratio: HIGHEST_LIMIT_RATIO },
    });
  }
  if (counted.beyond.length > 0) {
    notices.push({
      code: 'beyond-the-void-not-counted',
      severity: 'note',
      message: `The void is well ventilated, so it and what lies beyond it is not counted: ${counted.beyond.join(', ')}.`,
      data: { not_counted: counted.beyond },
    });
  }
  return {
    rsi: internal,
    rse: counted.rse,
    upper,
    lower,
    resistance,
    uValue,
    temperatureFactor: factorOfTransmittance(uValue, internal),
    maximumError,
    notices,
  };
}

/** A section with its ends, ready for temperatures: resistances from room air to outdoor air. */
export interface Path {
  readonly share: number;
  readonly through: readonly string[];
  readonly rsi: number;
  /** of each counted layer from the room outwards, m2K/W */
  readonly resistances: readonly number[];
  readonly rse: number;
}

/**
 * The ways through a build-up with their ends, the clear one first. Where an air layer is slightly ventilated, it and
 * all outside of it are scaled so that each path has the interpolated resistance; the standard gives the total only, and
 * the share of each layer in it is our choice.
 *
 * @param rsi as for {@link transmittance}
 */
export function pathsThrough(buildUp: BuildUp, rsi?: number): Path[] {
  const counted = countedBuildUp(buildUp);
  const internal = inRange('rsi', rsi ?? INTERNAL_SURFACE_RESISTANCE[counted.flow], 'm2K/W', 0.01, 1);
  const still = INTERNAL_SURFACE_RESISTANCE[counted.flow];
  return sectionsOf(counted).map(({ share, through, resistances }) => {
    const scaled = [...resistances];
    let { rse } = counted;
    for (let index = counted.layers.length - 1; index >= 0; index -= 1) {
      const layer = counted.layers[index]!;
      if (layer.kind !== 'air' || ventilationOf(layer.openingMm2) !== 'slightly') continue;
      const open =
        (layer.openingMm2 - SLIGHTLY_VENTILATED_FROM_MM2) / (WELL_VENTILATED_FROM_MM2 - SLIGHTLY_VENTILATED_FROM_MM2);
      const outside = sum(scaled.slice(index)) + rse;
      const factor = 1 - open + (open * still) / outside;
      for (let at = index; at < scaled.length; at += 1) scaled[at] = scaled[at]! * factor;
      rse *= factor;
    }
    return { share, through, rsi: internal, resistances: scaled, rse };
  });
}

/**
 * Temperatures along a path in steady state, °C: the inner surface, each boundary between layers, the outer surface.
 *
 * @param room air temperature, °C
 * @param outdoor air temperature, °C
 * @source ISO 13788:2012, 6.3 (temperature falls in proportion to resistance)
 */
export function boundaryTemperatures(path: Path, room: number, outdoor: number): number[] {
  const total = path.rsi + sum(path.resistances) + path.rse;
  let passed = path.rsi;
  const temperatures = [room + (outdoor - room) * (passed / total)];
  for (const resistance of path.resistances) {
    passed += resistance;
    temperatures.push(room + (outdoor - room) * (passed / total));
  }
  return temperatures;
}

/** Resistance of a path from room air to outdoor air, m2K/W. */
export function pathResistance(path: Path): number {
  return path.rsi + sum(path.resistances) + path.rse;
}
