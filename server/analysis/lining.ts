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
  /** what the lining adds, kg/m2, films not counted */
  readonly liningMass: number;
  readonly notices: readonly LiningNotice[];
  readonly cautions: readonly LiningCaution[];
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
  const lining = after.layers.slice(0, oldSurface);
  return {
    design: input.design,
    coldestNight: night,
    before,
    after: afterwards,
    hidden,
    climateFrom: climate.from,
    climateMonths: climate.months,
    worseFrom,
    liningMass: lining.reduce((sum, layer) => sum + massOf(layer), 0),
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

const massOf = (layer: Layer): number => {
  if (layer.kind !== 'solid') return 0;
  const share = layer.bridge?.share ?? 0;
  return layer.thickness * ((1 - share) * layer.material.density + share * (layer.bridge?.material.density ?? 0));
};
