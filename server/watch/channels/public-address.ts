import { BlockList, isIP, isIPv6 } from 'node:net';

/**
 * Addresses that are not of the public internet: of this machine, of a home or office network, of links, of groups, set
 * aside for documents or for translating.
 *
 * @source IANA IPv4 and IPv6 Special-Purpose Address Registries (RFC 6890), blocks from memory
 */
const special = new BlockList();
for (const [network, prefix] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.0.2.0', 24],
  ['192.88.99.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['198.51.100.0', 24],
  ['203.0.113.0', 24],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
] as const) {
  special.addSubnet(network, prefix, 'ipv4');
}
for (const [network, prefix] of [
  ['2001::', 23],
  ['2001:db8::', 32],
  ['2002::', 16],
  ['3fff::', 20],
] as const) {
  special.addSubnet(network, prefix, 'ipv6');
}

/** All of IPv6 that is given out as public (RFC 4291, 2.4); everything outside is special. */
const globalUnicast = new BlockList();
globalUnicast.addSubnet('2000::', 3, 'ipv6');

/** Whether an address, IPv4 or IPv6 in any notation, is one of the public internet. */
export function isPublicAddress(address: string): boolean {
  const plain = address.replace(/%.*$/, '');
  if (isIP(plain) === 0) return false;
  if (!isIPv6(plain)) return !special.check(plain, 'ipv4');
  const inside = embeddedIpv4(plain);
  if (inside !== null) return isPublicAddress(inside);
  return globalUnicast.check(plain, 'ipv6') && !special.check(plain, 'ipv6');
}

/** The IPv4 address that an IPv4-mapped (::ffff:0:0/96) or translated (64:ff9b::/96, RFC 6052) address stands for. */
function embeddedIpv4(address: string): string | null {
  const match = /^\[(?:::ffff:|64:ff9b::)(?:([\da-f]{1,4}):)?([\da-f]{1,4})\]$/.exec(
    new URL(`http://[${address}]`).hostname,
  );
  if (match === null) return null;
  const [high, low] = [Number.parseInt(match[1] ?? '0', 16), Number.parseInt(match[2]!, 16)];
  return [high >> 8, high & 255, low >> 8, low & 255].join('.');
}

/** Ranges that the owner lets webhooks reach though they are not public. */
export interface AllowedRanges {
  allows(address: string): boolean;
}

/**
 * @param ranges addresses, or ranges in CIDR notation such as 192.168.1.0/24
 * @throws RangeError naming the one that is neither
 */
export function allowedRanges(ranges: readonly string[]): AllowedRanges {
  const list = new BlockList();
  for (const range of ranges) {
    const [network = '', prefix] = range.split('/');
    const family = isIP(network);
    const longest = family === 6 ? 128 : 32;
    const bits = prefix === undefined ? longest : /^\d{1,3}$/.test(prefix) ? Number(prefix) : Number.NaN;
    if (family === 0 || !(bits <= longest) || range.split('/').length > 2) {
      throw new RangeError(`'${range}' is no address or range; one is 192.168.1.20, another 192.168.1.0/24`);
    }
    list.addSubnet(network, bits, family === 6 ? 'ipv6' : 'ipv4');
  }
  return {
    allows(address) {
      const plain = address.replace(/%.*$/, '');
      if (isIP(plain) === 0) return false;
      const inside = isIPv6(plain) ? embeddedIpv4(plain) : null;
      return inside === null ? list.check(plain, isIPv6(plain) ? 'ipv6' : 'ipv4') : list.check(inside, 'ipv4');
    },
  };
}
