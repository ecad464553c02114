import { describe, expect, test } from 'vitest';
import { type SaturatedSalt, saltHumidity, saturatedSalts } from '../../server/physics/saturated-salts.ts';
import { filled, number, table } from './table.ts';

const salts: Readonly<Record<string, SaturatedSalt>> = {
  LiCl: 'lithium-chloride',
  MgCl2: 'magnesium-chloride',
  K2CO3: 'potassium-carbonate',
  'Mg(NO3)2': 'magnesium-nitrate',
  NaCl: 'sodium-chloride',
  KCl: 'potassium-chloride',
  K2SO4: 'potassium-sulphate',
};

describe('saturated salts, Greenspan (1977)', () => {
  test.each(table('salts.csv'))('$salt at $T_C °C ($status)', (row) => {
    const point = saltHumidity(salts[row.salt!]!, number(row, 'T_C'));
    expect(point.humidity).toBe(number(row, 'RH_pct_Greenspan1977'));
    expect(point.status).toBe(row.status!.startsWith('published') ? 'read' : 'from memory');
    if (row.uncertainty_pct !== '') expect(point.uncertainty).toBe(number(row, 'uncertainty_pct'));
    // A second table, printed to 0.1 %. Its 75.7 for sodium chloride at 20 °C contradicts its own neighbours (75.6 at 15,
    // 75.3 at 25 °C) and is taken as a misprint.
    if (row.RH_published_padfield_1dp !== '' && !(row.salt === 'NaCl' && row.T_C === '20')) {
      expect(Math.abs(point.humidity - number(row, 'RH_published_padfield_1dp'))).toBeLessThanOrEqual(0.0501);
    }
    // The fit RH = A exp(B / T) of the CRC Handbook states ±2 %; magnesium nitrate at 10 °C is outside its range of use
    // and 4 % off, which is why that salt is not to be trusted from memory alone.
    if (row['RH_CRC_fit_computed(+-2%)'] !== '' && row.salt !== 'Mg(NO3)2') {
      expect(Math.abs(point.humidity / number(row, 'RH_CRC_fit_computed(+-2%)') - 1)).toBeLessThan(0.02);
    }
  });

  test('every row of the table is checked', () => {
    expect(table('salts.csv').length).toBe(Object.values(saturatedSalts).flat().length);
  });

  // Greenspan's polynomials (from memory; they reproduce his table to 0.01). A straight line over 5 K departs from a
  // curve by its second difference / 8: at most 0.08 / 8.
  test.each(
    filled('polynomials', [
      ['sodium-chloride', [75.5164, 0.0398321, -0.00265459, 0.00002848]],
      ['magnesium-chloride', [33.6686, -0.00797397, -0.00108988, 0]],
      ['lithium-chloride', [11.2323, 0.00824245, -0.00021489, 0]],
      ['potassium-chloride', [88.619, -0.19334, 0.000899706, 0]],
      ['potassium-sulphate', [98.7792, -0.0590502, 0, 0]],
    ] as const),
  )('between the points %s follows its polynomial', (salt, [a, b, c, d]) => {
    for (let t = 10; t <= 30; t += 0.5) {
      const polynomial = a + t * (b + t * (c + t * d));
      expect(Math.abs(saltHumidity(salt, t).humidity - polynomial)).toBeLessThan(0.02 + 0.01);
    }
  });

  test('a temperature outside the table, or another salt, is refused', () => {
    expect(() => saltHumidity('sodium-chloride', 9.9)).toThrow(/temperature is 9.9 °C; it must lie between 10 and 30/);
    expect(() => saltHumidity('sodium-chloride', Number.NaN)).toThrow(RangeError);
    expect(() => saltHumidity('sugar' as SaturatedSalt, 20)).toThrow(/salt is sugar; it must be one of/);
  });

  test('between two points the larger uncertainty and the weaker status count', () => {
    expect(saltHumidity('sodium-chloride', 12)).toMatchObject({ uncertainty: 0.22, status: 'from memory' });
    expect(saltHumidity('sodium-chloride', 22)).toMatchObject({ uncertainty: 0.14, status: 'read' });
  });
});
