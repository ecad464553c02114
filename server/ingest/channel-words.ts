import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';

/** Words by which people and devices call a quantity. Common practice, no source. */
const quantityWords: Readonly<Record<Quantity, readonly string[]>> = {
  timberMoisture: ['moisture', 'timber', 'wood', 'wme', 'mc'],
  co2: ['co2'],
  battery: ['battery', 'batt', 'bat', 'vbat', 'vcc', 'vdd', 'supply'],
  humidity: ['humidity', 'hum', 'rh', 'relative'],
  temperature: ['temperature', 'temp', 'tmp'],
};

/** Letters that mean a quantity only where they stand alone. */
const lone: Readonly<Record<string, Quantity>> = { t: 'temperature', h: 'humidity' };

const unitWords = ['c', 'cel', 'celsius', 'f', 'fahrenheit', 'k', 'kelvin', 'pct', 'percent', 'ppm', 'v', 'mv'];

const order = Object.keys(quantityWords) as Quantity[];

/** `surfaceTemperature_c` -> surface, Temperature, c. */
const wordsOf = (name: string): string[] =>
  name.split(/[^\p{L}\p{N}]+|(?<=\p{Ll})(?=\p{Lu})/u).filter((word) => word !== '');

/** What quantity a name speaks of, or null when it says none. */
export function quantityOfName(name: string): Quantity | null {
  const exact = quantityNames.find((quantity) => quantities[quantity].wire === name);
  if (exact !== undefined) return exact;
  const words = wordsOf(name).map((word) => word.toLowerCase());
  const alone = words.length === 1 ? lone[words[0]!] : undefined;
  if (alone !== undefined) return alone;
  return order.find((quantity) => quantityWords[quantity].some((word) => words.includes(word))) ?? null;
}

/** What is left of a name when the words for the quantity and its unit are taken out: `surface_temperature` -> `surface`. */
export function withoutQuantity(name: string, quantity: Quantity): string {
  const words = wordsOf(name);
  const meant = (word: string): boolean =>
    quantityWords[quantity].includes(word.toLowerCase()) ||
    (words.length === 1 && lone[word.toLowerCase()] === quantity);
  if (!words.some(meant)) return name;
  return words.filter((word) => !meant(word) && !unitWords.includes(word.toLowerCase())).join('-');
}

/** Whether one of the words stands in a name. */
export const nameHas = (name: string, words: readonly string[]): boolean =>
  wordsOf(name).some((word) => words.includes(word.toLowerCase()));
