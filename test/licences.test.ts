import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { isAllowed, productionLicences } from './licences.ts';

it('every package that the program needs when it runs has a licence on the list', () => {
  const found = productionLicences();
  const { dependencies } = JSON.parse(readFileSync(new URL('../package.json', import.meta.url), 'utf8')) as {
    dependencies: Record<string, string>;
  };
  const names = found.map(({ name }) => name);
  for (const name of Object.keys(dependencies)) expect(names).toContain(name);
  expect(found.length).toBeGreaterThan(Object.keys(dependencies).length);
  expect(found.filter(({ licence }) => !isAllowed(licence))).toEqual([]);
});

it.each([
  ['MIT', true],
  ['(MIT OR GPL-3.0)', true],
  ['MIT AND GPL-3.0', false],
  ['(MIT AND ISC)', true],
  ['GPL-3.0-only', false],
  ['UNLICENSED', false],
  [null, false],
])('%s is allowed: %s', (licence, allowed) => {
  expect(isAllowed(licence)).toBe(allowed);
});
