import { dewPoint } from '../../../server/physics/saturation.ts';
import type { LayerDraft } from './draft.ts';

/** A spot of the answer, as the drawing needs it. */
export interface Spot {
  readonly layer: number;
  readonly depth: number;
  readonly temperature_c: number;
  readonly vapour_pressure_pa: number;
  readonly settles_kg_per_m2_s: number;
}

export interface DrawnLayer {
  readonly name: string;
  readonly kind: 'solid' | 'film' | 'air' | 'void' | 'declared';
  /** from the room-side surface, mm */
  readonly from: number;
  readonly to: number;
}

export interface DrawnSpot {
  /** mm from the room-side surface */
  readonly x: number;
  readonly temperature: number;
  /** null where there is hardly any vapour */
  readonly dewPoint: number | null;
  readonly wet: boolean;
}

export interface Drawn {
  readonly layers: readonly DrawnLayer[];
  readonly spots: readonly DrawnSpot[];
  /** mm, of all that is drawn */
  readonly width: number;
}

/** How much of a void that counts as outdoors is drawn, and how thick a product without a thickness, mm. */
const VOID_SHOWN = 25;
const DECLARED_SHOWN = 10;
const LEAST_PRESSURE = 2;

/** Layers from the room outwards to scale, up to the void that counts as outdoors, and the spots where they lie. */
export function drawnLayers(layers: readonly LayerDraft[], spots: readonly Spot[]): Drawn {
  const drawn: DrawnLayer[] = [];
  let at = 0;
  for (const layer of layers) {
    const isVoid =
      layer.kind === 'air' &&
      (layer.ventilation === 'well-ventilated' ||
        (typeof layer.ventilation === 'object' && (layer.ventilation.openings_mm2 ?? 0) >= 1500));
    const thickness = isVoid
      ? Math.min(VOID_SHOWN, layer.thickness_mm ?? VOID_SHOWN)
      : layer.kind === 'declared'
        ? DECLARED_SHOWN
        : layer.kind === 'sheet'
          ? 0
          : (layer.thickness_mm ?? 0);
    const kind = isVoid ? 'void' : layer.kind === 'sheet' ? 'film' : layer.kind === 'material' ? 'solid' : layer.kind;
    drawn.push({ name: layer.name, kind, from: at, to: at + thickness });
    at += thickness;
    if (isVoid) break;
  }
  return {
    layers: drawn,
    width: at,
    spots: spots.flatMap((spot): DrawnSpot[] => {
      const layer = spot.layer < 0 ? { from: 0, to: 0 } : drawn[spot.layer];
      if (layer === undefined) return [];
      const pressure = spot.vapour_pressure_pa;
      return [
        {
          x: layer.from + spot.depth * (layer.to - layer.from),
          temperature: spot.temperature_c,
          dewPoint: pressure > LEAST_PRESSURE ? dewPoint(pressure) : null,
          wet: spot.settles_kg_per_m2_s > 0,
        },
      ];
    }),
  };
}
