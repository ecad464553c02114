import { z } from 'zod';
import type { HiddenCase, HiddenState } from '../../analysis/hidden-cases.ts';
import type { LiningResult } from '../../analysis/lining.ts';
import type { BuildUpFigures, SurfacePrediction } from '../../analysis/lining-figures.ts';
import type { MeasuredBeside } from '../../analysis/lining-measured.ts';
import type { CondensationYear } from '../../physics/condensation-year.ts';

/** The result for other programs: snake_case names that end in their unit, missing is null, no hour columns. */
export function liningJson(title: string | null, result: LiningResult) {
  const { design, coldestNight, hidden } = result;
  return {
    title,
    design: {
      room_c: design.roomTemperature,
      room_humidity_pct: design.roomHumidity,
      outdoor_c: design.outdoorTemperature,
      outdoor_humidity_pct: design.outdoorHumidity,
    },
    coldest_night: coldestNight && {
      date: coldestNight.date,
      known_hours: coldestNight.knownHours,
      room_c: coldestNight.roomTemperature,
      outdoor_c: coldestNight.outdoorTemperature,
      room_vapour_pressure_pa: coldestNight.roomVapourPressure,
      outdoor_vapour_pressure_pa: coldestNight.outdoorVapourPressure,
    },
    before: figuresJson(result.before),
    after: figuresJson(result.after),
    hidden_layer: {
      surface: hidden.surface,
      before: caseJson(hidden.before),
      after: hidden.after.map(caseJson),
      as_described: caseJson(hidden.asDescribed),
      other_vapour_control: hidden.otherVapourControl,
      drying_of_1_kg_per_m2:
        hidden.drying &&
        (hidden.drying.kind === 'dries'
          ? { result: 'dries', days: hidden.drying.days }
          : { result: 'not-dry-in-time', remaining_kg_per_m2: hidden.drying.remaining }),
      risk_criterion: hidden.riskCriterion,
      mould_options: hidden.mouldOptions,
      limits: hidden.limits,
    },
    climate_from: result.climateFrom,
    climate_months:
      result.climateMonths?.map((month) => ({
        name: month.name,
        days: month.days,
        room_c: month.roomTemperature,
        outdoor_c: month.outdoorTemperature,
        room_vapour_pressure_pa: month.roomVapourPressure,
        outdoor_vapour_pressure_pa: month.outdoorVapourPressure,
      })) ?? null,
    worse_from: {
      humidity_pct: result.worseFrom.humidity,
      risk_hours_a_year: result.worseFrom.riskHours,
      mould_index: result.worseFrom.mouldIndex,
      water_kg_per_m2: result.worseFrom.water,
    },
    lining_mass_kg_per_m2: result.liningMass,
    lining_masses: result.liningMasses.map(({ name, thickness, density, mass }) => ({
      name,
      thickness_m: thickness,
      density_kg_per_m3: density,
      mass_kg_per_m2: mass,
    })),
    notices: result.notices,
    cautions: result.cautions,
  };
}

function figuresJson(figures: BuildUpFigures) {
  return {
    u_value_w_per_m2k: figures.uValue,
    by_surface_resistance: figures.transmittances.map((one) => ({
      rsi_m2k_per_w: one.rsi,
      rse_m2k_per_w: one.rse,
      upper_limit_m2k_per_w: one.upper,
      lower_limit_m2k_per_w: one.lower,
      resistance_m2k_per_w: one.resistance,
      u_value_w_per_m2k: one.uValue,
      temperature_factor: one.temperatureFactor,
      maximum_error_pct: one.maximumError,
    })),
    surface_at_design: figures.design.map(surfaceJson),
    surface_in_coldest_night: figures.coldestNight?.map(surfaceJson) ?? null,
    boundaries_at_design: figures.boundaries.map((boundary) => ({
      name: boundary.name,
      temperature_c: boundary.temperature,
      vapour_pressure_pa: boundary.vapourPressure,
      saturation_pressure_pa: boundary.saturation,
    })),
    profile_at_design: figures.profile.map((point) => ({
      layer: point.layer,
      depth: point.depth,
      temperature_c: point.temperature,
      vapour_pressure_pa: point.vapourPressure,
      saturation_pressure_pa: point.saturation,
      settles_kg_per_m2_s: point.settles,
    })),
    condensation: figures.condensation && condensationJson(figures.condensation),
  };
}

const surfaceJson = (surface: SurfacePrediction) => ({
  rsi_m2k_per_w: surface.rsi,
  mean_temperature_c: surface.meanTemperature,
  lowest_temperature_c: surface.lowestTemperature,
  lowest_through: surface.coldestThrough,
  surface_humidity_pct: surface.surfaceHumidity,
  dew_point_margin_k: surface.margin,
});

function condensationJson(year: CondensationYear) {
  return {
    result: year.kind,
    peak_kg_per_m2: year.kind === 'no-condensation' ? 0 : year.peak,
    peak_month: year.kind === 'no-condensation' ? null : year.peakMonth,
    dry_again: year.kind === 'dries-within-the-year' ? year.dryAgain : null,
    remaining_kg_per_m2: year.kind === 'accumulates' ? year.remaining : 0,
    months: year.months.map((month) => ({
      name: month.name,
      entered_kg_per_m2: month.entered,
      left_kg_per_m2: month.left,
      held_kg_per_m2: month.held,
      wet_surfaces: month.wetSurfaces,
      planes: month.planes.map((plane) => ({
        at: plane.name,
        change_kg_per_m2: plane.change,
        held_kg_per_m2: plane.held,
      })),
    })),
    limits: year.limits,
  };
}

function caseJson(one: HiddenCase) {
  return {
    vapour_control: one.vapourControl,
    air_leak_m3_per_h_m2: one.airLeak,
    resistance_to_room_m2k_per_w: one.layer.resistanceToRoom,
    resistance_to_outdoors_m2k_per_w: one.layer.resistanceToOutdoor,
    sd_to_room_m: one.layer.sdToRoom,
    sd_to_outdoors_m: one.layer.sdToOutdoor,
    at_design: stateJson(one.design),
    months: one.months?.map((month) => ({ name: month.name, ...stateJson(month) })) ?? null,
    logged: one.logged && {
      known_hours: one.logged.knownHours,
      mean_temperature_c: one.logged.meanTemperature,
      mean_humidity_pct: one.logged.meanHumidity,
      highest_humidity_pct: one.logged.highestHumidity,
      risk_hours: one.logged.riskHours,
      growth_hours: one.logged.growthHours,
      wet_hours: one.logged.wetHours,
      most_water_kg_per_m2: one.logged.mostWater,
      mould_index_highest: one.logged.mouldHighest,
      mould_index_at_end: one.logged.mouldAtEnd,
      mould_stage: one.logged.mouldWords,
    },
  };
}

const stateJson = (state: HiddenState) => ({
  temperature_c: state.temperature,
  vapour_pressure_pa: state.vapourPressure,
  humidity_pct: state.humidity,
  growth_limit_pct: state.growthLimit,
  water_settles: state.wet,
});

/** What was measured beside what the build-up leads to, for other programs. */
export const besideJson = (one: MeasuredBeside) => ({
  place: one.place,
  place_kind: one.placeKind,
  phase: one.phase,
  quantity: one.quantity,
  hours: one.hours,
  measured: one.measured,
  predicted: one.predicted,
  difference: one.difference,
  scatter: one.scatter,
});

/** The result of the lining command, and what was measured in the home beside it. */
export type LiningAnswer = ReturnType<typeof liningJson> & {
  /** null: it was not asked for, or the home has no room or outdoor air */
  readonly measured: readonly ReturnType<typeof besideJson>[] | null;
};

export const liningAnswer = z.custom<LiningAnswer>().meta({
  id: 'LiningAnswer',
  description:
    'what the lining command prints as JSON, every name with its unit, and under `measured` what the sensors of the home say beside it',
  override: { type: 'object' },
});
