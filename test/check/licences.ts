/** Prints the licence of every package that the program needs when it runs; exits with 1 when one is not on the list. */
import { isAllowed, productionLicences } from '../licences.ts';

const found = productionLicences();
const byLicence = new Map<string, string[]>();
for (const { name, version, licence } of found) {
  const key = `${licence ?? 'none said'}${isAllowed(licence) ? '' : '  NOT ON THE LIST'}`;
  byLicence.set(key, [...(byLicence.get(key) ?? []), `${name} ${version}`]);
}
for (const [licence, names] of [...byLicence].sort(([, a], [, b]) => b.length - a.length)) {
  console.log(`${licence}: ${names.length}\n  ${names.join(', ')}`);
}
process.exitCode = found.every(({ licence }) => isAllowed(licence)) ? 0 : 1;
