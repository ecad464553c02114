import type { Client } from 'aedes';

/**
 * Whether a client of the embedded broker is sending a packet longer than `maxBytes`. aedes has no limit of its own:
 * it would gather up to 256 MiB. This reads two private fields of aedes 1.2 (the parser, and the length its header
 * announced), which is why aedes is pinned and a test holds it to this.
 */
export function oversized(client: Client, maxBytes: number): boolean {
  const { _parser: parser } = client as Client & { _parser?: { packet?: { length?: number } } };
  return (parser?.packet?.length ?? 0) > maxBytes;
}
