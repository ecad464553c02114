/**
 * How a value is kept: most sensors report at most three decimals, and a whole number of thousandths takes one to four
 * bytes where a floating-point number takes eight. A value that thousandths cannot give back exactly is kept as it is.
 */
export const isThousandths = (value: number): boolean => {
  const thousandths = Math.round(value * 1000);
  return thousandths / 1000 === value && Number.isSafeInteger(thousandths);
};

/** SQL that gives a stored value back in the unit of its series. */
export const unitValue = (column: string): string =>
  `CASE typeof(${column}) WHEN 'integer' THEN ${column} / 1000.0 ELSE ${column} END`;
