/** MQTT 3.1.1 packets written by hand, so that a client is not what is timed. */

const text = (value: string): Buffer => {
  const bytes = Buffer.from(value);
  return Buffer.concat([word(bytes.length), bytes]);
};

const word = (value: number): Buffer => Buffer.from([value >> 8, value & 255]);

/** @source MQTT 3.1.1, 2.2.3 */
function packet(type: number, ...parts: Buffer[]): Buffer {
  let length = parts.reduce((sum, part) => sum + part.length, 0);
  const header = [type];
  do {
    header.push((length & 127) | (length > 127 ? 128 : 0));
    length >>= 7;
  } while (length > 0);
  return Buffer.concat([Buffer.from(header), ...parts]);
}

/** CONNECT with a clean session and without pings. */
export const hello = (id: string): Buffer => packet(0x10, text('MQTT'), Buffer.from([4, 2, 0, 0]), text(id));

/** PUBLISH at QoS 1; `n` counts the messages of a connection. */
export const publication = (n: number, topic: string, payload: string): Buffer =>
  packet(0x32, text(topic), word((n % 65_535) + 1), Buffer.from(payload));
