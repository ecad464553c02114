export interface GoodnessOfFit {
  /** mean bias and scatter as shares of the mean measured, %; 0 where that mean is 0 */
  readonly nmbePct: number;
  readonly cvRmsePct: number;
  /** root mean square error, in the unit of the measured */
  readonly rmse: number;
}

/**
 * Normalised mean bias error and coefficient of variation of the root mean square error.
 *
 * @param errors measured less modelled
 * @param measured the same entries
 * @param parameters of the model, taken off the number of entries
 * @source ASHRAE Guideline 14-2014, 5.2.11
 */
export function goodnessOfFit(
  errors: readonly number[],
  measured: readonly number[],
  parameters: number,
): GoodnessOfFit {
  const freedom = Math.max(1, errors.length - parameters);
  let sum = 0;
  let squares = 0;
  let total = 0;
  for (let i = 0; i < errors.length; i++) {
    sum += errors[i]!;
    squares += errors[i]! * errors[i]!;
    total += measured[i]!;
  }
  const mean = errors.length === 0 ? 0 : total / errors.length;
  const rmse = Math.sqrt(squares / freedom);
  const share = (value: number): number => (Math.abs(mean) < 1e-9 ? 0 : (100 * value) / mean);
  return { nmbePct: share(sum / freedom), cvRmsePct: Math.abs(share(rmse)), rmse };
}
