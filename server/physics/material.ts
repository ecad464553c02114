/** What heat and vapour need to know of a material. */
export interface Material {
  readonly name: string;
  /** design thermal conductivity λ, W/(m K) */
  readonly conductivity: number;
  /** kg/m3 */
  readonly density: number;
  /** specific heat capacity, J/(kg K) */
  readonly heatCapacity: number;
  /** vapour resistance factor µ from a dry-cup and from a wet-cup test, no unit; the same number where only one is known */
  readonly vapourResistance: { readonly dry: number; readonly wet: number };
}

/** A membrane, film or coating: it stops vapour and hardly any heat. */
export interface Sheet {
  readonly name: string;
  /** vapour resistance as the thickness of still air that resists as much, m */
  readonly sd: number;
}

/**
 * How a figure of the tables came to us. `memory` figures were not read in the standard itself: replace them by the
 * declared values of the product in hand wherever there are any.
 */
type FigureStatus = 'memory' | 'memory-also-published' | 'declared-range';

interface Sourced {
  readonly status: FigureStatus;
  readonly source: string;
}

const ISO_10456 = 'ISO 10456:2007, Table 3 (design values)';
const INSULATION = 'ISO 10456:2007, Table 4 (µ, c); λ typical of declared values, use the product’s own';

const material = (
  name: string,
  conductivity: number,
  density: number,
  heatCapacity: number,
  [dry, wet]: readonly [number, number],
  status: FigureStatus = 'memory',
  source: string = ISO_10456,
): Material & Sourced =>
  Object.freeze({
    name,
    conductivity,
    density,
    heatCapacity,
    vapourResistance: Object.freeze({ dry, wet }),
    status,
    source,
  });

/**
 * Design values of materials found in and under sloping ceilings. `memory-also-published`: λ or µ was seen in a public
 * component catalogue as well. `declared-range`: λ differs from product to product and the product's own value wins.
 *
 * @source ISO 10456:2007, Tables 3 and 4, from memory
 */
export const materials = Object.freeze({
  plasterboard: material('plasterboard', 0.25, 900, 1000, [10, 4], 'memory-also-published'),
  'plasterboard-light': material('plasterboard, light', 0.21, 700, 1000, [10, 4]),
  'gypsum-plaster': material('gypsum plaster', 0.4, 1000, 1000, [10, 6]),
  'lime-plaster': material('lime and sand plaster', 0.8, 1600, 1000, [10, 6]),
  'cement-render': material('cement and sand render', 1, 1800, 1000, [10, 6]),
  softwood: material('softwood', 0.13, 500, 1600, [50, 20], 'memory-also-published'),
  hardwood: material('hardwood', 0.18, 700, 1600, [200, 50]),
  plywood: material('plywood', 0.13, 500, 1600, [200, 70]),
  osb: material('oriented strand board', 0.13, 650, 1700, [50, 30], 'memory-also-published'),
  particleboard: material('particleboard', 0.14, 600, 1700, [50, 15]),
  'fibreboard-400': material('fibreboard, 400 kg/m3', 0.1, 400, 1700, [10, 5]),
  'fibreboard-600': material('fibreboard, 600 kg/m3', 0.14, 600, 1700, [20, 12]),
  'fibreboard-800': material('fibreboard, 800 kg/m3', 0.18, 800, 1700, [30, 20]),
  'mineral-wool': material('mineral wool', 0.04, 20, 1030, [1, 1], 'declared-range', INSULATION),
  'rigid-polyurethane': material('rigid polyurethane foam', 0.022, 32, 1400, [60, 60], 'declared-range', INSULATION),
  'phenolic-foam': material('phenolic foam', 0.021, 35, 1400, [50, 50], 'declared-range', INSULATION),
  'expanded-polystyrene': material('expanded polystyrene', 0.035, 20, 1450, [60, 60], 'declared-range', INSULATION),
  'extruded-polystyrene': material('extruded polystyrene', 0.033, 33, 1450, [150, 150], 'declared-range', INSULATION),
  'cellulose-fibre': material('loose cellulose fibre', 0.04, 45, 1600, [2, 2], 'declared-range', INSULATION),
  'clay-tile': material('clay tile', 1, 2000, 800, [40, 30]),
  slate: material('slate', 2.2, 2400, 1000, [1000, 800]),
  'bitumen-felt': material('bitumen felt', 0.23, 1100, 1000, [50_000, 50_000]),
  concrete: material('concrete, medium density', 1.35, 2000, 1000, [100, 60]),
  steel: material('steel', 50, 7800, 450, [1e6, 1e6]),
});

export type MaterialName = keyof typeof materials;

const sheet = (name: string, sd: number, source = 'ISO 10456:2007, Table 5'): Sheet & Sourced =>
  Object.freeze({ name, sd, status: 'memory', source });

/**
 * Vapour resistance of films and coatings. Real films have joints, staples and holes: what a film stops on paper it
 * stops in a roof only as well as it was sealed.
 *
 * @source ISO 10456:2007, Table 5, from memory
 */
export const sheets = Object.freeze({
  'polyethylene-0.15': sheet('polyethylene film, 0.15 mm', 50),
  'polyethylene-0.25': sheet('polyethylene film, 0.25 mm', 100),
  'aluminium-foil': sheet('aluminium foil, 0.05 mm', 1500),
  'foil-paper': sheet('aluminium and polyethylene paper', 10),
  'bituminous-paper': sheet('bituminous paper, 0.1 mm', 2),
  'breather-membrane': sheet('breather membrane', 0.2),
  'gloss-paint': sheet('gloss paint', 3),
  'emulsion-paint': sheet('emulsion paint', 0.1),
  'vinyl-wallpaper': sheet('vinyl wallpaper', 2),
});

export type SheetName = keyof typeof sheets;
