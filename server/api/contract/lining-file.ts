import { DateTime } from 'luxon';
import { z } from 'zod';
import type { LiningInput } from '../../analysis/lining-input.ts';
import { WELL_VENTILATED_FROM_MM2 } from '../../physics/air-layer.ts';
import type { Bridge, BuildUp, Layer } from '../../physics/build-up.ts';
import type { ClimateMonth } from '../../physics/condensation-year.ts';
import { designVapourPressure, humidityClassLimits } from '../../physics/humidity-class.ts';
import { type Material, type MaterialName, materials, type SheetName, sheets } from '../../physics/material.ts';
import { mouldDefaults } from '../../physics/mould-options.ts';
import { mouldSensitivities } from '../../physics/mould-sensitivity.ts';
import { vapourPressure } from '../../physics/vapour.ts';

const materialNames = Object.keys(materials) as [MaterialName, ...MaterialName[]];
const sheetNames = Object.keys(sheets) as [SheetName, ...SheetName[]];

const named = z.string().trim().min(1).max(120);
const positive = z.number().positive();
const celsius = z.number().min(-60).max(60);
const percent = z.number().min(0).max(100);
const sd = z.number().positive().max(1e7);

const ownValues = {
  material: z.enum(materialNames).optional().meta({
    description: 'a material of the built-in table; leave out and give all values below for one that is not in it',
  }),
  conductivity_w_per_mk: positive
    .max(1000)
    .optional()
    .meta({ description: 'declared thermal conductivity, W/(m K); wins over the table' }),
  density_kg_per_m3: positive.max(30_000).optional().meta({ description: 'density, kg/m3; wins over the table' }),
  heat_capacity_j_per_kgk: positive
    .max(10_000)
    .optional()
    .meta({ description: 'specific heat capacity, J/(kg K); wins over the table' }),
  vapour_resistance_factor: z
    .union([positive.max(1e7), z.strictObject({ dry: positive.max(1e7), wet: positive.max(1e7) })])
    .optional()
    .meta({ description: 'vapour resistance factor µ, one number or dry cup and wet cup; wins over the table' }),
};

type OwnValues = z.infer<z.ZodObject<typeof ownValues>>;

function needsValues(value: OwnValues, context: z.RefinementCtx): void {
  if (value.material !== undefined) return;
  for (const key of [
    'conductivity_w_per_mk',
    'density_kg_per_m3',
    'heat_capacity_j_per_kgk',
    'vapour_resistance_factor',
  ] as const) {
    if (value[key] !== undefined) continue;
    context.addIssue({
      code: 'custom',
      path: [key],
      message: `is needed where no "material" of the table is named (the table has ${materialNames.join(', ')})`,
    });
  }
}

const bridge = z
  .strictObject({
    name: named.meta({ description: 'what it is called in results: rafters, ribs' }),
    ...ownValues,
    share: z
      .number()
      .min(0)
      .lt(1)
      .optional()
      .meta({ description: 'share of the area, 0 to under 1; or give width and spacing' }),
    width_mm: positive.max(2000).optional().meta({ description: 'width of one, mm' }),
    spacing_mm: positive.max(10_000).optional().meta({ description: 'from centre to centre, mm' }),
    line: named.optional().meta({
      description:
        'bridges with the same word lie behind one another (a rafter through two layers); without it they are taken to cross',
    }),
  })
  .superRefine((value, context) => {
    needsValues(value, context);
    const byWidth = value.width_mm !== undefined && value.spacing_mm !== undefined;
    const anyWidth = value.width_mm !== undefined || value.spacing_mm !== undefined;
    if (value.share === undefined ? !byWidth : anyWidth) {
      context.addIssue({ code: 'custom', message: 'needs either "share", or "width_mm" and "spacing_mm"' });
    } else if (byWidth && value.width_mm! >= value.spacing_mm!) {
      context.addIssue({ code: 'custom', path: ['width_mm'], message: 'must be less than "spacing_mm"' });
    }
  })
  .meta({ description: 'timber or metal through the whole depth of the layer' });

const oldSurface = z.literal(true).optional().meta({
  description:
    'marks the layer of "after" whose room-side face was the ceiling surface; needed only where its name differs from the first layer of "before"',
});
const vapourControl = z.literal(true).optional().meta({
  description: 'the layer, or its facing, is there to hold vapour back; used for the comparison with and without it',
});

const layer = z
  .discriminatedUnion(
    'kind',
    [
      z
        .strictObject({
          kind: z.literal('material'),
          name: named,
          thickness_mm: positive.max(5000).meta({ description: 'mm' }),
          ...ownValues,
          sd_m: sd.optional().meta({
            description: 'vapour resistance declared for the layer with its facings, m of still air; wins over µ',
          }),
          bridge: bridge.optional(),
          vapour_control: vapourControl,
          old_surface: oldSurface,
        })
        .superRefine(needsValues)
        .meta({ description: 'a layer of one material' }),
      z
        .strictObject({
          kind: z.literal('sheet'),
          name: named,
          sheet: z.enum(sheetNames).optional().meta({ description: 'a film or coating of the built-in table' }),
          sd_m: sd.optional().meta({ description: 'declared vapour resistance, m of still air; wins over the table' }),
          vapour_control: vapourControl,
          old_surface: oldSurface,
        })
        .superRefine((value, context) => {
          if (value.sheet !== undefined || value.sd_m !== undefined) return;
          context.addIssue({
            code: 'custom',
            path: ['sd_m'],
            message: `is needed where no "sheet" of the table is named (the table has ${sheetNames.join(', ')})`,
          });
        })
        .meta({ description: 'a film, a membrane or a coat of paint: vapour resistance and no thickness' }),
      z
        .strictObject({
          kind: z.literal('declared'),
          name: named,
          resistance_m2k_per_w: positive.max(100).meta({ description: 'declared thermal resistance, m2K/W' }),
          sd_m: sd.meta({ description: 'declared vapour resistance, m of still air' }),
          old_surface: oldSurface,
        })
        .meta({ description: 'a product whose maker declares resistances' }),
      z
        .strictObject({
          kind: z.literal('air'),
          name: named,
          thickness_mm: positive.max(5000).meta({ description: 'mm; a closed layer at most 300' }),
          ventilation: z
            .union([
              z.enum(['closed', 'well-ventilated']),
              z.strictObject({ openings_mm2: z.number().min(0).max(1e7) }),
            ])
            .meta({
              description:
                'closed; well-ventilated: it and all beyond it count as outdoors; or the area of its openings, mm2 a metre of length (upright) or a square metre (level)',
            }),
          bridge: bridge.optional(),
        })
        .superRefine((value, context) => {
          const closed = value.ventilation === 'closed' || openings(value.ventilation) < WELL_VENTILATED_FROM_MM2;
          if (closed && value.thickness_mm > 300) {
            context.addIssue({
              code: 'custom',
              path: ['thickness_mm'],
              message: 'is over 300 mm: that is a room and not an air layer; is the void well-ventilated?',
            });
          }
        })
        .meta({ description: 'an air layer' }),
    ],
    { error: 'must be "material", "sheet", "declared" or "air"' },
  )
  .meta({ description: 'one layer' });

const layers = z.array(layer).min(1).max(50).meta({ description: 'layers from the room outwards' });

const monthTyped = z.strictObject({
  name: named.meta({ description: 'January' }),
  days: z.int().min(28).max(31),
  outdoor_c: celsius,
  outdoor_humidity_pct: percent,
  room_c: celsius,
  room_humidity_pct: percent.optional().meta({ description: 'or give "humidity_class" for the year' }),
});

/** The file that `coomb lining` reads. */
export const liningFileSchema = z
  .strictObject({
    title: named.optional().meta({ description: 'what to call it' }),
    note: z.string().max(2000).optional().meta({ description: 'anything for a reader; not used' }),
    pitch_deg: z.number().min(0).max(90).meta({ description: 'slope from the horizontal: 0 flat ceiling, 90 wall' }),
    time_zone: z
      .string()
      .refine((zone) => DateTime.utc().setZone(zone).isValid, 'must be an IANA time zone such as Europe/Berlin')
      .default('UTC')
      .meta({ description: 'IANA time zone of the home, for nights and months of a log' }),
    before: z.strictObject({ layers }).meta({ description: 'the ceiling as it is' }),
    after: z.strictObject({ layers }).meta({ description: 'the ceiling with its lining, old layers included' }),
    design: z
      .strictObject({
        room_c: celsius,
        room_humidity_pct: percent.min(1),
        outdoor_c: celsius,
        outdoor_humidity_pct: percent,
      })
      .default({ room_c: 20, room_humidity_pct: 50, outdoor_c: -5, outdoor_humidity_pct: 80 })
      .meta({
        description: 'the state to judge by; left out, 20 °C 50 % inside, -5 °C 80 % outside (as DIN 4108-2 has it)',
      }),
    climate: z
      .strictObject({
        humidity_class: z.int().min(1).max(4).optional().meta({
          description:
            'humidity class of ISO 13788, for months without a room humidity: its upper limit with a tenth added',
        }),
        months: z.array(monthTyped).length(12),
      })
      .superRefine((value, context) => {
        value.months.forEach((month, index) => {
          if (month.room_humidity_pct !== undefined || value.humidity_class !== undefined) return;
          context.addIssue({
            code: 'custom',
            path: ['months', index, 'room_humidity_pct'],
            message: 'is needed where there is no "humidity_class"',
          });
        });
      })
      .optional()
      .meta({ description: 'twelve months in order; left out, taken from the log where it covers them' }),
    air_leak_m3_per_h_m2: z.number().min(0).max(1000).default(0.05).meta({
      description:
        'allowance for room air that passes behind the lining, m3 an hour and square metre. 0.05 is an assumption of ours for careful work; nobody knows it without measuring',
    }),
    old_surface_mould_class: z
      .enum(mouldSensitivities as [string, ...string[]])
      .default(mouldDefaults.sensitivity)
      .meta({ description: 'material class of the old surface in the mould index' }),
    vapour_test: z
      .enum(['dry', 'wet'])
      .default('dry')
      .meta({ description: 'which vapour resistance factor of the table is used: dry-cup or wet-cup test' }),
  })
  .meta({ description: 'a ceiling before and after lining, for the lining command' });

export type LiningFile = z.infer<typeof liningFileSchema>;
type LayerFile = z.infer<typeof layer>;
type BridgeFile = z.infer<typeof bridge>;

/** Something in the file that cannot be used, with its place in it as a JSON Pointer. */
export interface FileProblem {
  readonly at: string;
  readonly message: string;
  /** what is wrong with a single value, for those who say it in their own words */
  readonly fault?: Fault;
}

export type Fault =
  | { readonly kind: 'missing' | 'not-a-number' }
  | { readonly kind: 'too-small' | 'too-big'; readonly limit: number; readonly inclusive: boolean };

function faultOf(issue: z.core.$ZodIssue): Fault | null {
  switch (issue.code) {
    case 'too_small':
      if (issue.origin === 'string') return { kind: 'missing' };
      return issue.origin === 'number'
        ? { kind: 'too-small', limit: Number(issue.minimum), inclusive: issue.inclusive === true }
        : null;
    case 'too_big':
      return issue.origin === 'number'
        ? { kind: 'too-big', limit: Number(issue.maximum), inclusive: issue.inclusive === true }
        : null;
    case 'invalid_type':
      return { kind: issue.message.endsWith('received undefined') ? 'missing' : 'not-a-number' };
    case 'custom':
      return issue.message.startsWith('is needed') ? { kind: 'missing' } : null;
    default:
      return null;
  }
}

/** Faults within a union are told by the branch that comes closest: the one whose faults lie deepest. */
function flat(issue: z.core.$ZodIssue): readonly z.core.$ZodIssue[] {
  if (issue.code !== 'invalid_union') return [issue];
  const branches = issue.errors.filter((branch) => branch.some(({ path }) => path.length > 0));
  const closest = branches[0];
  if (closest === undefined) return [issue];
  return closest.map((inner) => ({ ...inner, path: [...issue.path, ...inner.path] }));
}

export type LiningFileResult =
  | { readonly kind: 'usable'; readonly file: LiningFile; readonly input: Omit<LiningInput, 'logged'> }
  | { readonly kind: 'unusable'; readonly problems: readonly FileProblem[] };

const pointer = (path: readonly PropertyKey[]): string =>
  path.map((step) => `/${String(step).replaceAll('~', '~0').replaceAll('/', '~1')}`).join('') || '/';

/** Reads the parsed JSON of a lining file. Never throws for what a file may hold. */
export function readLiningFile(json: unknown): LiningFileResult {
  const parsed = liningFileSchema.safeParse(json);
  if (!parsed.success) {
    return {
      kind: 'unusable',
      problems: parsed.error.issues.flatMap(flat).map((issue) => {
        const fault = faultOf(issue);
        return { at: pointer(issue.path), message: issue.message, ...(fault === null ? {} : { fault }) };
      }),
    };
  }
  const file = parsed.data;
  const oldSurface = findOldSurface(file);
  if (typeof oldSurface !== 'number') return { kind: 'unusable', problems: [oldSurface] };
  const void_ = file.after.layers.findIndex(isWellVentilated);
  const problems: FileProblem[] = [];
  for (const [when, part] of [
    ['before', file.before],
    ['after', file.after],
  ] as const) {
    if (isWellVentilated(part.layers[0]!)) {
      problems.push({ at: `/${when}/layers/0`, message: 'is a well-ventilated void: nothing would be left to count' });
    }
  }
  if (void_ >= 0 && void_ <= oldSurface) {
    problems.push({
      at: `/after/layers/${void_}`,
      message: 'is well-ventilated and lies on the room side of the old surface',
    });
  }
  const vapourControl = file.after.layers.flatMap((one, index) =>
    'vapour_control' in one && one.vapour_control === true ? [index] : [],
  );
  for (const index of vapourControl) {
    if (index >= oldSurface) {
      problems.push({
        at: `/after/layers/${index}/vapour_control`,
        message: 'lies behind the old surface; vapour control belongs on its room side',
      });
    }
  }
  if (problems.length > 0) return { kind: 'unusable', problems };
  return {
    kind: 'usable',
    file,
    input: {
      before: buildUpOf(file.before.layers, file.pitch_deg),
      after: buildUpOf(file.after.layers, file.pitch_deg),
      oldSurface,
      vapourControl,
      design: {
        roomTemperature: file.design.room_c,
        roomHumidity: file.design.room_humidity_pct,
        outdoorTemperature: file.design.outdoor_c,
        outdoorHumidity: file.design.outdoor_humidity_pct,
      },
      climate: file.climate === undefined ? null : climateOf(file.climate),
      airLeak: file.air_leak_m3_per_h_m2,
      mould: { sensitivity: file.old_surface_mould_class as (typeof mouldSensitivities)[number] },
      cup: file.vapour_test,
    },
  };
}

function findOldSurface({ before, after }: LiningFile): number | FileProblem {
  const marked = after.layers.findIndex((one) => 'old_surface' in one && one.old_surface === true);
  const name = before.layers[0]!.name;
  const found = marked >= 0 ? marked : after.layers.findIndex((one) => one.name === name);
  if (found > 0) return found;
  if (found === 0) {
    return {
      at: '/after/layers/0',
      message: `is the old surface itself: "after" needs the lining's layers before "${after.layers[0]!.name}"`,
    };
  }
  return {
    at: '/after/layers',
    message: `has no layer named "${name}" like the first layer of "before"; keep the name or mark the old ceiling with "old_surface": true`,
  };
}

function openings(ventilation: 'closed' | 'well-ventilated' | { openings_mm2: number }): number {
  if (ventilation === 'closed') return 0;
  // Far above the limit; the method asks only whether it is passed.
  return ventilation === 'well-ventilated' ? 10 * WELL_VENTILATED_FROM_MM2 : ventilation.openings_mm2;
}

const isWellVentilated = (one: LayerFile): boolean =>
  one.kind === 'air' && openings(one.ventilation) >= WELL_VENTILATED_FROM_MM2;

const buildUpOf = (from: readonly LayerFile[], pitch: number): BuildUp => ({ layers: from.map(layerOf), pitch });

function layerOf(from: LayerFile): Layer {
  switch (from.kind) {
    case 'material':
      return {
        kind: 'solid',
        name: from.name,
        thickness: from.thickness_mm / 1000,
        material: materialOf(from, from.name),
        ...(from.sd_m === undefined ? {} : { sd: from.sd_m }),
        ...(from.bridge === undefined ? {} : { bridge: bridgeOf(from.bridge) }),
      };
    case 'sheet':
      return { kind: 'declared', name: from.name, resistance: 0, sd: from.sd_m ?? sheets[from.sheet!].sd };
    case 'declared':
      return { kind: 'declared', name: from.name, resistance: from.resistance_m2k_per_w, sd: from.sd_m };
    case 'air':
      return {
        kind: 'air',
        name: from.name,
        thickness: from.thickness_mm / 1000,
        openingMm2: openings(from.ventilation),
        ...(from.bridge === undefined ? {} : { bridge: bridgeOf(from.bridge) }),
      };
  }
}

function bridgeOf(from: BridgeFile): Bridge {
  return {
    name: from.name,
    material: materialOf(from, from.name),
    share: from.share ?? from.width_mm! / from.spacing_mm!,
    ...(from.line === undefined ? {} : { line: from.line }),
  };
}

/** The table's material with the user's declared values over it; `needsValues` has seen that nothing is missing. */
function materialOf(own: OwnValues, name: string): Material {
  const table = own.material === undefined ? null : materials[own.material];
  const factor = own.vapour_resistance_factor;
  return {
    name: table?.name ?? name,
    conductivity: own.conductivity_w_per_mk ?? table!.conductivity,
    density: own.density_kg_per_m3 ?? table!.density,
    heatCapacity: own.heat_capacity_j_per_kgk ?? table!.heatCapacity,
    vapourResistance:
      factor === undefined
        ? table!.vapourResistance
        : typeof factor === 'number'
          ? { dry: factor, wet: factor }
          : factor,
  };
}

function climateOf({ humidity_class, months }: NonNullable<LiningFile['climate']>): ClimateMonth[] {
  return months.map((month) => {
    const outdoorVapourPressure = vapourPressure(month.outdoor_c, month.outdoor_humidity_pct);
    const roomVapourPressure =
      month.room_humidity_pct === undefined
        ? designVapourPressure(outdoorVapourPressure, humidityClassLimits(month.outdoor_c)[humidity_class! - 1]!)
        : vapourPressure(month.room_c, month.room_humidity_pct);
    return {
      name: month.name,
      days: month.days,
      roomTemperature: month.room_c,
      outdoorTemperature: month.outdoor_c,
      roomVapourPressure,
      outdoorVapourPressure,
    };
  });
}
