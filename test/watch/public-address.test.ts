import { describe, expect, test } from 'vitest';
import { allowedRanges, isPublicAddress } from '../../server/watch/channels/public-address.ts';

/** Blocks of the IANA special-purpose address registries (RFC 6890 and later), from memory. */
describe('an address', () => {
  test.each([
    ['this machine', '127.0.0.1', '127.255.255.254', '::1', '0.0.0.0', '::'],
    [
      'this machine, in another notation',
      '::ffff:127.0.0.1',
      '::ffff:7f00:1',
      '0:0:0:0:0:ffff:7f00:0001',
      '::127.0.0.1',
    ],
    ['a private network (RFC 1918)', '10.0.0.1', '172.16.0.1', '172.31.255.255', '192.168.178.1', '::ffff:10.1.2.3'],
    ['a private network (RFC 4193)', 'fc00::1', 'fd12:3456:789a::1'],
    ['shared by customers of a carrier (RFC 6598)', '100.64.0.1', '100.127.255.255'],
    ['a link (RFC 3927, RFC 4291)', '169.254.169.254', 'fe80::1', 'fe80::1%eth0', 'febf::1'],
    ['translated to one that is not public (RFC 6052)', '64:ff9b::7f00:1', '64:ff9b::a00:1', '64:ff9b:1::a00:1'],
    ['a group, or everyone', '224.0.0.1', '239.255.255.255', '255.255.255.255', 'ff02::1'],
    ['documents (RFC 5737, RFC 3849)', '192.0.2.1', '198.51.100.7', '203.0.113.9', '2001:db8::1'],
    ['benchmarks (RFC 2544)', '198.18.0.1', '198.19.255.255'],
    ['tunnels (RFC 3056, RFC 4380)', '2002:7f00:1::', '2001:0:7f00:1::'],
    ['reserved', '240.0.0.1', '192.0.0.1', '100::1', '4000::1', 'fec0::1'],
    ['nothing at all', '', 'localhost', '256.1.1.1', '1.2.3', '12345::'],
  ])('of %s is not public', (_what, ...addresses) => {
    for (const address of addresses) expect(isPublicAddress(address), address).toBe(false);
  });

  test('next to those blocks is public', () => {
    for (const address of [
      '1.1.1.1',
      '9.255.255.255',
      '11.0.0.0',
      '100.63.255.255',
      '100.128.0.0',
      '126.255.255.255',
      '128.0.0.0',
      '169.253.255.255',
      '172.15.255.255',
      '172.32.0.0',
      '192.167.255.255',
      '198.17.255.255',
      '198.20.0.0',
      '223.255.255.255',
      '2600::1',
      '2a00:1450::1',
      '::ffff:8.8.8.8',
      '64:ff9b::808:808',
    ]) {
      expect(isPublicAddress(address), address).toBe(true);
    }
  });
});

describe('ranges the owner allows', () => {
  test('let through what lies in them, and nothing else', () => {
    const { allows } = allowedRanges(['192.168.1.20', '10.0.0.0/8', 'fd00::/8']);
    for (const address of ['192.168.1.20', '10.9.9.9', 'fd00::1', '::ffff:10.0.0.1'])
      expect(allows(address), address).toBe(true);
    for (const address of ['192.168.1.21', '11.0.0.1', 'fe80::1', '127.0.0.1', '::1', '']) {
      expect(allows(address), address).toBe(false);
    }
    expect(allowedRanges([]).allows('127.0.0.1')).toBe(false);
  });

  test('are refused where they are none', () => {
    for (const range of [
      '',
      'home',
      '10.0.0.0/33',
      '10.0.0.0/x',
      '10.0.0.0/8/8',
      '10.0.0.0/',
      'fd00::/129',
      '10.0.0',
    ]) {
      expect(() => allowedRanges([range]), range).toThrow(RangeError);
    }
  });
});
