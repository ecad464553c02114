import { quoteText } from './timestamp.ts';

export const TOPIC_ROOT = 'coomb';

/** MQTT topic filter of everything in our own scheme. */
export const TOPIC_FILTER = `${TOPIC_ROOT}/#`;

export type Address =
  | { readonly kind: 'sensor'; readonly dwellingSlug: string; readonly sensorKey: string }
  | { readonly kind: 'unknown-topic'; readonly message: string };

const sensorKey = /^[^/\s\p{Cc}+#][^/\p{Cc}+#]{0,127}$/u;

/** Whether a text may be the key of a sensor: it can stand as one level of a topic. */
export const isSensorKey = (text: string): boolean => sensorKey.test(text);

const ownTopic = /^coomb\/([a-z0-9][a-z0-9-]{0,62})\/([^/\s\p{Cc}+#][^/\p{Cc}+#]{0,127})$/u;

export const topicOf = (dwellingSlug: string, sensorKey: string): string =>
  `${TOPIC_ROOT}/${dwellingSlug}/${sensorKey}`;

/** Sensors' topics that were read lately: they come again and again, and are short. */
const lately = new Map<string, Address>();
const MOST_LATELY = 5000;

/** Which sensor of which dwelling a topic of the form `coomb/<dwelling>/<sensor>` speaks for. */
export function readTopic(topic: string): Address {
  const known = lately.get(topic);
  if (known !== undefined) return known;
  const match = ownTopic.exec(topic);
  if (match === null) {
    const message = `the topic ${quoteText(topic)} is not of the form coomb/<dwelling>/<sensor>, with the dwelling in lower-case letters, digits and hyphens`;
    return { kind: 'unknown-topic', message };
  }
  const address: Address = { kind: 'sensor', dwellingSlug: match[1]!, sensorKey: match[2]! };
  if (lately.size === MOST_LATELY) lately.clear();
  lately.set(topic, address);
  return address;
}
