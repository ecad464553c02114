import { describe, expect, test } from 'vitest';
import { equilibriumMoisture } from '../../server/physics/timber.ts';
import { filled, number, table } from './table.ts';

describe('equilibrium moisture content, USDA Wood Handbook', () => {
  // Table 4-2, from memory, printed to 0.1 %; equation 4-5 in °C, independently computed to 0.001 %. Table and equation
  // were seen to differ by up to 0.054: half a unit of the print and the fit's own residual.
  test.each(table('emc-wood.csv'))('$T_C °C, $RH_pct %', (row) => {
    const moisture = equilibriumMoisture(number(row, 'T_C'), number(row, 'RH_pct'));
    // T_C is a rounded °F in the last place: 0.05 K is worth under 0.005 %.
    expect(Math.abs(moisture - number(row, 'EMC_eq_Celsius_pct(computed)'))).toBeLessThan(0.0055);
    expect(Math.abs(moisture - number(row, 'EMC_table4-2_pct(from memory)'))).toBeLessThan(0.06);
    // the handbook's Fahrenheit form is another fit of the same data; the two are known to agree within 0.02
    expect(Math.abs(moisture - number(row, 'EMC_eq_Fahrenheit_pct(computed)'))).toBeLessThan(0.02 + 0.005);
  });

  // Table 4-2 at 70 °F (from memory) and the same points by the equation (computed).
  test.each(
    filled('70 °F', [
      [30, 6.2, 6.17],
      [50, 9.2, 9.24],
      [65, 12.0, 11.96],
      [80, 16.0, 15.99],
      [90, 20.5, 20.48],
      [95, 23.9, 23.89],
    ] as const),
  )('70 °F, %d %%: table %d, equation %d', (humidity, printed, computed) => {
    const moisture = equilibriumMoisture((70 - 32) / 1.8, humidity);
    expect(Math.abs(moisture - printed)).toBeLessThan(0.06);
    expect(Math.abs(moisture - computed)).toBeLessThan(0.0051);
  });

  test('140 °F and 55 %: 8.4 % by the equation, as an encyclopedia prints it beside the table value 8.0', () => {
    expect(Math.abs(equilibriumMoisture(60, 55) - 8.4)).toBeLessThanOrEqual(0.05);
  });

  // Computed independently from equation 4-5.
  test.each(
    filled('equation', [
      [20, 65, 11.996],
      [20, 80, 16.037],
      [10, 80, 16.382],
      [5, 85, 18.47],
      [5, 90, 20.993],
      [10, 90, 20.894],
      [10, 95, 24.272],
      [20, 50, 9.271],
    ] as const),
  )('%d °C, %d %%: %d %%', (t, h, wanted) => {
    expect(Math.abs(equilibriumMoisture(t, h) - wanted)).toBeLessThan(0.00051);
  });

  // Humidity at which timber reaches 20 %, computed independently to 0.1 %; 1 % of humidity is about 0.5 % of moisture.
  test.each(
    filled('20 %', [
      [0, 88.1],
      [5, 88.2],
      [10, 88.4],
      [20, 89.1],
    ] as const),
  )('at %d °C timber reaches 20 %% in air of %d %%', (t, h) => {
    expect(equilibriumMoisture(t, h - 0.05)).toBeLessThan(20);
    expect(equilibriumMoisture(t, h + 0.06)).toBeGreaterThan(20);
  });
});
