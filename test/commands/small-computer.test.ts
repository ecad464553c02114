import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { describeSettings } from '../../server/config.ts';
import { brokerOptions } from '../../server/ingest/broker.ts';
import { flowLimit } from '../../server/ingest/flow-limit.ts';
import { quarantineLimit } from '../../server/ingest/quarantine-limit.ts';

const guide = readFileSync(new URL('../../firmware-notes/small-computer.md', import.meta.url), 'utf8').replaceAll(
  /\s+/g,
  ' ',
);
const model = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');

it('the guide for a small computer names settings that there are, and limits as they are', () => {
  const known = describeSettings().map(({ env }) => env);
  const named = guide.match(/COOMB_\w+/g) ?? [];
  expect(named.length).toBeGreaterThan(8);
  for (const name of named) expect(known).toContain(name);
  const mebibytes = (bytes: number): string => `${bytes >> 20} MiB`;
  expect(guide).toContain(
    `${brokerOptions.maxConnections} connections, ${brokerOptions.maxConnectionsEach} of one account`,
  );
  expect(guide).toContain(`messages of up to ${mebibytes(brokerOptions.maxPacketBytes)}`);
  expect(guide).toContain(`${flowLimit.perSecond} messages a second`);
  expect(guide).toContain(`${flowLimit.burst.toLocaleString('en-GB')} may come at once`);
  expect(guide).toContain(`${mebibytes(quarantineLimit.senderBytes)} of one home`);
  expect(guide).toContain(`${mebibytes(quarantineLimit.totalBytes)} in all`);
});

it('every test that the threat model calls on is there', () => {
  const called = [
    ...model.matchAll(
      /`((?:api|browser|commands|evidence|ingest|pictures|watch)\/[\w-]+\.test\.ts|[\w-]+\.test\.ts)`/g,
    ),
  ];
  expect(called.length).toBeGreaterThan(15);
  for (const [, file] of called) expect(() => readFileSync(new URL(`../${file}`, import.meta.url))).not.toThrow();
});
