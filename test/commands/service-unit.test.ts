import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { describeSettings } from '../../server/config.ts';

const unit = readFileSync(fileURLToPath(new URL('../../server/coomb.service', import.meta.url)), 'utf8');

const systemdIsHere: boolean = (() => {
  try {
    execFileSync('systemd-analyze', ['--version'], { stdio: 'ignore' });
    return true;
  } catch {
    console.warn('LEFT OUT: the check of the service unit, for there is no systemd-analyze on the PATH');
    return false;
  }
})();

test.skipIf(!systemdIsHere)('systemd finds nothing wrong with the service unit', () => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-unit-'));
  // the node of this machine, wherever it is: systemd looks whether the program is there
  writeFileSync(join(folder, 'coomb.service'), unit.replace('/usr/bin/node', process.execPath));
  const { status, stderr } = spawnSync('systemd-analyze', ['verify', '--man=no', join(folder, 'coomb.service')], {
    encoding: 'utf8',
  });
  rmSync(folder, { recursive: true });
  expect([status, stderr.split('\n').filter((line) => line.includes('coomb.service'))]).toEqual([0, []]);
});

/** `security --offline` came with version 250. */
const systemdRates: boolean =
  systemdIsHere &&
  Number(/systemd (\d+)/.exec(execFileSync('systemd-analyze', ['--version'], { encoding: 'utf8' }))?.[1]) >= 250;
if (systemdIsHere && !systemdRates)
  console.warn('LEFT OUT: how shut the service unit is, for systemd is older than 250');

test.skipIf(!systemdRates)('systemd rates the service unit as well shut: exposure of at most 2 of 10', () => {
  const folder = mkdtempSync(join(tmpdir(), 'coomb-unit-'));
  const file = join(folder, 'coomb.service');
  writeFileSync(file, unit.replace('/usr/bin/node', process.execPath));
  // in tenths; no source for the limit: what is left is the network, and what Node.js needs to compile as it runs
  const rated = spawnSync('systemd-analyze', ['security', '--offline=true', '--no-pager', '--threshold=20', file], {
    encoding: 'utf8',
  });
  rmSync(folder, { recursive: true });
  expect([rated.status, rated.stdout.split('\n').filter((line) => line.includes('Overall'))]).toEqual([
    0,
    [expect.stringMatching(/exposure level for coomb\.service: [01]\.\d/)],
  ]);
});

test('the service unit sets only settings that there are', () => {
  const known = describeSettings().map(({ env }) => env);
  const used = unit.match(/COOMB_\w+/g) ?? [];
  expect(used.length).toBeGreaterThan(0);
  for (const name of used) expect(known).toContain(name);
});
