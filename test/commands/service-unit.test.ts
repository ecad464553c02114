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

test('the service unit sets only settings that there are', () => {
  const known = describeSettings().map(({ env }) => env);
  const used = unit.match(/COOMB_\w+/g) ?? [];
  expect(used.length).toBeGreaterThan(0);
  for (const name of used) expect(known).toContain(name);
});
