import type { Phase, Place } from '../../../server/api/contract/dwelling.ts';
import { type MouldSensitivity, mouldSensitivities } from '../../../server/physics/mould-sensitivity.ts';

/** What the reader chose to compare; what the address does not say is the usual. */
export interface Chosen {
  readonly surface: Place;
  readonly before: Phase | null;
  readonly after: Phase | null;
  readonly target: number;
  /** % */
  readonly riskLimit: number;
  readonly mouldClass: MouldSensitivity;
}

const DWELLINGS_TARGET = 0.75;
const USUAL_LIMIT = 80;

/** Reads the choices out of the address; null where there is no surface to compare. */
export function chosenBy(query: URLSearchParams, surfaces: readonly Place[], phases: readonly Phase[]): Chosen | null {
  const number = (name: string): number => Number(query.get(name) ?? Number.NaN);
  const within = (value: number, low: number, high: number, usual: number): number =>
    value >= low && value <= high ? value : usual;
  const surface = surfaces.find(({ id }) => id === number('surface')) ?? surfaces[0];
  if (surface === undefined) return null;
  const phase = (name: 'before' | 'after'): Phase | null =>
    phases.find(({ id }) => id === number(name)) ??
    (name === 'before'
      ? phases.find(({ kind }) => kind === 'before')
      : phases.findLast(({ kind }) => kind === 'after')) ??
    null;
  return {
    surface,
    before: phase('before'),
    after: phase('after'),
    target: within(number('target'), 0.1, 0.99, DWELLINGS_TARGET),
    riskLimit: within(number('riskLimit'), 50, 100, USUAL_LIMIT),
    mouldClass: mouldSensitivities.find((name) => name === query.get('mouldClass')) ?? 'sensitive',
  };
}
