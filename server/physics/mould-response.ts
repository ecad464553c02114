import { above, inRange } from './range.ts';

/**
 * The two regressions of the growth of mould on wood: natural logarithm of weeks, from ln T (°C), ln RH (%), the timber
 * term W (0 pine, 1 spruce) and the surface term SQ (0 sawn after drying, 1 the surface as it was dried).
 *
 * @source Hukka & Viitanen, Wood Science and Technology 33 (1999) 475-485
 */
export const responseRegression = Object.freeze({
  /** to index 1, the first growth seen under a microscope */
  first: { temperature: -0.68, humidity: -13.9, timber: 0.14, surface: -0.33, constant: 66.02 },
  /** to index 3, growth the eye can see */
  visible: { temperature: -0.74, humidity: -12.72, timber: 0.06, surface: 0, constant: 61.5 },
});

/**
 * Weeks of a constant state until mould on timber reaches index 1 (`first`) or 3 (`visible`).
 * It says how fast, not whether: below the growth limit nothing grows however long it lasts.
 *
 * @param temperature °C, above 0 and at most 50
 * @param humidity %, 50 to 100
 * @param timberTerm W, 0 to 1
 * @param surfaceTerm SQ, 0 to 1
 * @throws RangeError outside those ranges
 * @source Hukka & Viitanen (1999)
 */
export function weeksUntil(
  stage: keyof typeof responseRegression,
  temperature: number,
  humidity: number,
  timberTerm = 0,
  surfaceTerm = 0,
): number {
  above('temperature', temperature, '°C', 0, 50);
  inRange('humidity', humidity, '%', 50, 100);
  inRange('timberTerm', timberTerm, '', 0, 1);
  inRange('surfaceTerm', surfaceTerm, '', 0, 1);
  const by = responseRegression[stage];
  return Math.exp(
    by.temperature * Math.log(temperature) +
      by.humidity * Math.log(humidity) +
      by.timber * timberTerm +
      by.surface * surfaceTerm +
      by.constant,
  );
}
