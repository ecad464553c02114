import type { Working } from '../../../server/api/contract/comparison.ts';
import type { LiningAnswer } from '../../../server/api/contract/lining-answer.ts';
import { mouldClasses } from '../../../server/physics/mould-sensitivity.ts';
import { saturationPressure, saturationPressureOverWater } from '../../../server/physics/saturation.ts';
import { quantity } from '../words/format.ts';
import { liningWords } from '../words/lining.ts';

const t = liningWords.working;

type Figures = LiningAnswer['before'];
type Side = 'before' | 'after';
export type HiddenCase = LiningAnswer['hidden_layer']['before'];
export type HiddenState = HiddenCase['at_design'];
type Input = Working['inputs'][number];

/** Air on both sides of a state, °C and Pa. */
interface Air {
  readonly room_c: number;
  readonly outdoor_c: number;
  readonly room_vapour_pressure_pa: number;
  readonly outdoor_vapour_pressure_pa: number;
}

const input = (name: string, value: number | string | null, unit = ''): Input => ({ name, value, unit });

/** How every figure of an answer was worked out, by its path on the screen. */
export function workingsOf(answer: LiningAnswer): Working[] {
  const { hidden_layer: hidden } = answer;
  const air = designAir(answer.design);
  return [
    ...(['before', 'after'] as const).flatMap((side) => [
      ...heatWorkings(side, answer[side]),
      ...surfaceWorkings(side, answer[side], answer.design, air),
      boundaryWorking(side, air),
    ]),
    massWorking(answer),
    ...monthWorkings('before', hidden.before, answer),
    ...monthWorkings('after', hidden.as_described, answer),
    ...waterWorkings(answer.after),
    ...[hidden.before, ...hidden.after].flatMap((one, i) => caseWorkings(`case.${i}`, one, answer, air)),
    ...besideWorkings(answer.measured ?? []),
  ];
}

/** Thickness and density of every layer of the lining, and what they come to. */
const massWorking = ({ lining_masses: layers }: LiningAnswer): Working => ({
  figure: 'mass',
  formula: t.mass,
  inputs: layers.flatMap((layer) => [
    input(t.names.thicknessOf(layer.name), layer.thickness_m, 'm'),
    input(t.names.densityOf(layer.name), layer.density_kg_per_m3, 'kg/m³'),
    input(t.names.massOf(layer.name), layer.mass_kg_per_m2, 'kg/m²'),
  ]),
  uncertainty: t.layersUncertain,
  source: t.ours,
});

function designAir(design: LiningAnswer['design']): Air {
  const pressure = (c: number, pct: number): number => (pct / 100) * saturationPressureOverWater(c);
  return {
    room_c: design.room_c,
    outdoor_c: design.outdoor_c,
    room_vapour_pressure_pa: pressure(design.room_c, design.room_humidity_pct),
    outdoor_vapour_pressure_pa: pressure(design.outdoor_c, design.outdoor_humidity_pct),
  };
}

const heatWorkings = (side: Side, { by_surface_resistance: rows }: Figures): Working[] =>
  rows.flatMap((row, i) => {
    const common = { uncertainty: t.uncertainty(quantity(row.maximum_error_pct, '%', 1)), source: t.source };
    return [
      {
        figure: `${side}.${i}.f`,
        formula: t.f,
        inputs: [input(t.names.u, row.u_value_w_per_m2k, 'W/(m²K)'), input(t.names.rsi, row.rsi_m2k_per_w, 'm²K/W')],
        ...common,
      },
      {
        figure: `${side}.${i}.u`,
        formula: t.u,
        inputs: [
          input(t.names.upper, row.upper_limit_m2k_per_w, 'm²K/W'),
          input(t.names.lower, row.lower_limit_m2k_per_w, 'm²K/W'),
        ],
        ...common,
      },
    ];
  });

const surfaceWorkings = (side: Side, figures: Figures, design: LiningAnswer['design'], air: Air): Working[] =>
  figures.surface_at_design.flatMap((one, i) => [
    {
      figure: `${side}.${i}.surface`,
      formula: t.surface,
      inputs: [
        input(t.names.room, design.room_c, '°C'),
        input(t.names.outdoors, design.outdoor_c, '°C'),
        input(t.names.rsi, one.rsi_m2k_per_w, 'm²K/W'),
        input(t.names.mean, one.mean_temperature_c, '°C'),
        input(t.names.coldest, one.lowest_through.length === 0 ? t.clear : one.lowest_through.join(', ')),
      ],
      uncertainty: t.layersUncertain,
      source: t.surfaceSource,
    },
    {
      figure: `${side}.${i}.surfaceHumidity`,
      formula: t.surfaceHumidity,
      inputs: [
        input(t.names.pRoom, air.room_vapour_pressure_pa, 'Pa'),
        input(t.names.saturationAt, saturationPressure(one.lowest_temperature_c), 'Pa'),
      ],
      uncertainty: t.layersUncertain,
      source: t.surfaceSource,
    },
  ]);

const boundaryWorking = (side: Side, air: Air): Working => ({
  figure: `${side}.boundaries`,
  formula: t.boundaries,
  inputs: airInputs(air),
  uncertainty: t.layersUncertain,
  source: t.hiddenSource,
});

const airInputs = (air: Air): Input[] => [
  input(t.names.room, air.room_c, '°C'),
  input(t.names.outdoors, air.outdoor_c, '°C'),
  input(t.names.pRoom, air.room_vapour_pressure_pa, 'Pa'),
  input(t.names.pOutdoors, air.outdoor_vapour_pressure_pa, 'Pa'),
];

/** Temperature, humidity and growth limit of the old surface in one state. */
function stateWorkings(figure: string, one: HiddenCase, state: HiddenState, air: Air, answer: LiningAnswer): Working[] {
  const facesRoom = one.sd_to_room_m === 0;
  const { sensitivity } = answer.hidden_layer.mould_options;
  return [
    {
      figure: `${figure}.t`,
      formula: t.hiddenT,
      inputs: [
        input(t.names.room, air.room_c, '°C'),
        input(t.names.outdoors, air.outdoor_c, '°C'),
        input(t.names.r1, one.resistance_to_room_m2k_per_w, 'm²K/W'),
        input(t.names.r2, one.resistance_to_outdoors_m2k_per_w, 'm²K/W'),
      ],
      uncertainty: t.layersUncertain,
      source: t.hiddenSource,
    },
    {
      figure: `${figure}.h`,
      formula: facesRoom ? t.hiddenFacing : t.hiddenH,
      inputs: [
        input(t.names.p, state.vapour_pressure_pa, 'Pa'),
        input(t.names.saturation, saturationPressureOverWater(state.temperature_c), 'Pa'),
        ...(state.temperature_c < 0 ? [input(t.names.overIce, saturationPressure(state.temperature_c), 'Pa')] : []),
        input(t.names.pRoom, air.room_vapour_pressure_pa, 'Pa'),
        ...(facesRoom
          ? []
          : [
              input(t.names.pOutdoors, air.outdoor_vapour_pressure_pa, 'Pa'),
              input(t.names.sd1, one.sd_to_room_m, 'm'),
              input(t.names.sd2, one.sd_to_outdoors_m, 'm'),
              input(t.names.leak, one.air_leak_m3_per_h_m2, 'm³/(h m²)'),
            ]),
      ],
      uncertainty: t.layersUncertain,
      source: t.hiddenSource,
    },
    {
      figure: `${figure}.limit`,
      formula: t.limit,
      inputs: [
        input(t.names.surface, state.temperature_c, '°C'),
        input(t.names.lowest, mouldClasses[sensitivity].lowestHumidity, '%'),
      ],
      uncertainty: t.limitUncertain,
      source: t.limitSource,
    },
  ];
}

function monthWorkings(side: Side, one: HiddenCase, answer: LiningAnswer): Working[] {
  const air = answer.climate_months;
  if (air === null) return [];
  return (one.months ?? []).flatMap((state, i) => stateWorkings(`month.${i}.${side}`, one, state, air[i]!, answer));
}

/** Water held within the layers at the end of each month. */
const waterWorkings = ({ condensation }: Figures): Working[] =>
  (condensation?.months ?? []).map((month) => ({
    figure: `water.${month.name}`,
    formula: t.water,
    inputs: [
      input(t.names.change, 1000 * month.planes.reduce((sum, plane) => sum + plane.change_kg_per_m2, 0), 'g/m²'),
      input(t.names.held, 1000 * month.held_kg_per_m2, 'g/m²'),
    ],
    uncertainty: t.waterUncertain,
    source: t.waterSource,
  }));

/** The month of a case in which the old surface is dampest, and which one it is; null: no months are known. */
export function dampestOf({ months }: HiddenCase): number | null {
  if (months === null || months.length === 0) return null;
  return months.reduce((most, month, i) => (month.humidity_pct > months[most]!.humidity_pct ? i : most), 0);
}

function caseWorkings(figure: string, one: HiddenCase, answer: LiningAnswer, air: Air): Working[] {
  const dampest = dampestOf(one);
  const months = answer.climate_months;
  return [
    ...stateWorkings(`${figure}.design`, one, one.at_design, air, answer),
    ...(dampest === null || months === null
      ? []
      : stateWorkings(`${figure}.dampest`, one, one.months![dampest]!, months[dampest]!, answer)),
    ...(one.logged === null
      ? []
      : [
          {
            figure: `${figure}.mould`,
            formula: t.mould,
            inputs: [
              input(t.names.hours, one.logged.known_hours, 'h'),
              input(t.names.growth, one.logged.growth_hours, 'h'),
              input(t.names.meanT, one.logged.mean_temperature_c, '°C'),
              input(t.names.meanH, one.logged.mean_humidity_pct, '%'),
            ],
            uncertainty: t.mouldUncertain,
            source: t.mouldSource,
          },
        ]),
  ];
}

type MeasuredRow = NonNullable<LiningAnswer['measured']>[number];

/** Measured, predicted, their difference and how far the hours scatter, in that order. */
const besideWorkings = (rows: readonly MeasuredRow[]): Working[] =>
  rows.flatMap((row, i) => {
    const [unit, of] = row.quantity === 'temperature' ? ['°C', 'K'] : ['%', '%'];
    const hours = input(t.names.both, row.hours, 'h');
    const predicted = row.quantity === 'temperature' ? t.predicted : t.predictedHumidity;
    const working = (figure: string, formula: string, inputs: Input[], uncertainty: string): Working => ({
      figure: `beside.${i}.${figure}`,
      formula,
      inputs,
      uncertainty,
      source: t.besideSource,
    });
    return [
      working('hours', t.hours, [hours], t.counted),
      working('measured', t.measured, [hours], t.sensors),
      working('predicted', predicted, [hours], t.layersUncertain),
      working(
        'difference',
        t.difference,
        [input(t.names.measured, row.measured, unit), input(t.names.predicted, row.predicted, unit), hours],
        t.differenceUncertain,
      ),
      working('scatter', t.scatter, [hours, input(t.names.difference, row.difference?.value ?? null, of)], t.sensors),
    ];
  });
