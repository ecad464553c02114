import { countedBuildUp, type Layer } from '../physics/build-up.ts';
import type { ClimateMonth } from '../physics/condensation-year.ts';
import { coldestNight, type NightMeans } from './coldest-night.ts';
import { type HiddenResult, hiddenResult } from './hidden-cases.ts';
import { type LiningCaution, liningCautions } from './lining-cautions.ts';
import { type BuildUpFigures, buildUpFigures } from './lining-figures.ts';
import type { DesignState, LiningInput } from './lining-input.ts';
import { type LiningNotice, liningNotices, worseFrom } from './lining-notices.ts';
import { monthlyClimate } from './monthly-climate.ts';

export interface LiningResult {
  readonly design: DesignState;
  readonly coldestNight: NightMeans | null;
  readonly before: BuildUpFigures;
  readonly after: BuildUpFigures;
  readonly hidden: HiddenResult;
  readonly climateFrom: 'typed in' | 'the log' | null;
  /** air on both sides, month by month; null: no twelve months known */
  readonly climateMonths: readonly ClimateMonth[] | null;
  /** what counted as worse */
  readonly worseFrom: typeof worseFrom;
  /** what each of its layers adds, from the room outwards */
  readonly liningMasses: readonly LayerMass[];
  /** what the lining adds, kg/m2, films not counted */
  readonly liningMass: number;
  readonly notices: readonly LiningNotice[];
  readonly cautions: readonly LiningCaution[];
}

/** What one layer weighs. */
export interface LayerMass {
  readonly name: string;
  /** m */
  readonly thickness: number;
  /** kg/m3; of layer and bridges by their shares of the area */
  readonly density: number;
  /** kg/m2 */
  readonly mass: number;
}

/**
 * What a lining does to a ceiling: heat through it, the surface people see, and the surface nobody sees any more.
 *
 * @throws RangeError for layers, states or columns that cannot be
 * @source ISO 6946 and ISO 13788 through the functions called; comparison before and after is ours
 */
export function assessLining(input: LiningInput): LiningResult {
  const { after, oldSurface } = input;
  if (!(Number.isInteger(oldSurface) && oldSurface >= 1 && oldSurface < countedBuildUp(after).layers.length)) {
    throw new RangeError(
      `oldSurface is ${oldSurface}; it must be the index of a counted layer of after, with at least one layer on its room side`,
    );
  }
  const climate = climateOf(input);
  const night = input.logged && coldestNight(input.logged.air, input.logged.start, input.logged.zone);
  const before = buildUpFigures(input.before, input, climate.months, night);
  const afterwards = buildUpFigures(after, input, climate.months, night);
  const hidden = hiddenResult(input, climate.months);
  const liningMasses = after.layers.slice(0, oldSurface).flatMap(massOf);
  return {
    design: input.design,
    coldestNight: night,
    before,
    after: afterwards,
    hidden,
    climateFrom: climate.from,
    climateMonths: climate.months,
    worseFrom,
    liningMasses,
    liningMass: liningMasses.reduce((sum, { mass }) => sum + mass, 0),
    notices: liningNotices({ input, monthsMissing: climate.missing, before, after: afterwards, hidden }),
    cautions: liningCautions,
  };
}

interface Climate {
  readonly months: readonly ClimateMonth[] | null;
  readonly from: LiningResult['climateFrom'];
  readonly missing: readonly string[];
}

function climateOf({ climate, logged }: LiningInput): Climate {
  if (climate !== null) return { months: climate, from: 'typed in', missing: [] };
  if (logged === null) return { months: null, from: null, missing: [] };
  const year = monthlyClimate(logged.air, logged.start, logged.zone);
  return year.kind === 'year'
    ? { months: year.months, from: 'the log', missing: [] }
    : { months: null, from: null, missing: year.missing };
}

/** Films and voids weigh nothing that counts. */
function massOf(layer: Layer): LayerMass[] {
  if (layer.kind !== 'solid') return [];
  const { name, thickness, material, bridge } = layer;
  const share = bridge?.share ?? 0;
  const density = (1 - share) * material.density + share * (bridge?.material.density ?? 0);
  return [{ name, thickness, density, mass: thickness * density }];
}
