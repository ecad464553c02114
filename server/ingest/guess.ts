import { type Quantity, quantities } from '../physics/quantities.ts';
import type { Unit } from '../physics/units.ts';
import type { MappedTime } from '../store/port.ts';
import { nameHas, quantityOfName } from './channel-words.ts';
import { pointerOf } from './json-pointer.ts';
import { readDecimal } from './payload.ts';
import { EARLIEST_TIME, readTimestamp } from './timestamp.ts';

/** A value in a message, where it stands, and what it may be. Guesses are for a person to confirm. */
export interface Leaf {
  readonly pointer: string;
  readonly value: string | number | boolean | null;
  readonly quantity: { readonly quantity: Quantity; readonly unit: Unit } | null;
  readonly time: MappedTime['form'] | null;
}

const MOST_LEAVES = 300;
const DEEPEST = 20;

/**
 * The values in a JSON value with their pointers, in order, at most 300 of them.
 *
 * @param name what the value itself is called when it stands alone: the last level of its topic
 * @param receivedAt UTC ms
 */
export function leavesOf(json: unknown, name: string, receivedAt: number): Leaf[] {
  const leaves: Leaf[] = [];
  const walk = (value: unknown, tokens: readonly string[]): void => {
    if (leaves.length >= MOST_LEAVES || tokens.length > DEEPEST) return;
    if (typeof value === 'object' && value !== null) {
      for (const [key, inner] of Object.entries(value)) walk(inner, [...tokens, key]);
      return;
    }
    const leaf = value as Leaf['value'];
    const called = tokens.findLast((token) => !/^\d+$/.test(token)) ?? name;
    leaves.push({
      pointer: pointerOf(tokens),
      value: leaf,
      quantity: guessQuantity(called, leaf),
      time: guessTime(called, leaf, receivedAt),
    });
  };
  walk(json, []);
  return leaves;
}

function guessQuantity(name: string, value: Leaf['value']): Leaf['quantity'] {
  const number = typeof value === 'number' ? value : typeof value === 'string' ? readDecimal(value) : null;
  const quantity = quantityOfName(name);
  if (number === null || quantity === null) return null;
  const unit = guessUnit(quantity, name, number);
  return unit === null ? null : { quantity, unit };
}

/** Common practice, no source: 150 is no temperature of a home in °C or °F; a battery of 5 to 100 is in percent. */
function guessUnit(quantity: Quantity, name: string, value: number): Unit | null {
  const { low, high } = quantities[quantity];
  switch (quantity) {
    case 'temperature':
      if (nameHas(name, ['f', 'fahrenheit'])) return 'F';
      if (nameHas(name, ['k', 'kelvin']) || (value > 150 && value < 400)) return 'K';
      return value >= low && value <= high ? 'C' : null;
    case 'humidity':
    case 'timberMoisture':
      if (value > 0 && value < 1) return 'ratio';
      return value >= low && value <= high ? '%' : null;
    case 'co2':
      return value >= low && value <= high ? 'ppm' : null;
    case 'battery':
      if (nameHas(name, ['mv']) || value >= 1000) return 'mV';
      return nameHas(name, ['v', 'vbat']) || (value > 0 && value <= 5) ? 'V' : null;
  }
}

const timeNames = ['time', 'timestamp', 'ts', 'at', 'date', 'datetime', 'epoch', 'when', 'utc'];

function guessTime(name: string, value: Leaf['value'], receivedAt: number): Leaf['time'] {
  const near = (time: number): boolean => time >= EARLIEST_TIME && time <= receivedAt + 86_400_000;
  if (typeof value === 'string') {
    const stamp = readTimestamp(value);
    return stamp.kind === 'instant' && near(stamp.time) ? 'iso-8601' : null;
  }
  if (typeof value !== 'number' || !nameHas(name, timeNames)) return null;
  if (near(value)) return 'epoch-ms';
  return near(value * 1000) ? 'epoch-s' : null;
}

/** A pattern for a topic whose last level but a word for what is measured names the sensor: `attic/{sensor}/state`. */
export function suggestPattern(topic: string): { topicPattern: string; sensorKey: string } {
  const levels = topic.split('/');
  const telling = levels.findLastIndex(
    (level) => level !== '' && !plainWords.has(level.toLowerCase()) && !quantityOfName(level),
  );
  const index = telling < 0 ? levels.length - 1 : telling;
  const text = (level: string): string => (/[{}+#]/.test(level) ? '+' : level);
  return {
    topicPattern: levels.map((level, k) => (k === index ? '{sensor}' : text(level))).join('/'),
    sensorKey: '{sensor}',
  };
}

/** Words in topics that name no sensor. Common practice, no source. */
const plainWords = new Set([
  'state',
  'status',
  'data',
  'value',
  'values',
  'reading',
  'readings',
  'sensor',
  'json',
  'up',
]);
