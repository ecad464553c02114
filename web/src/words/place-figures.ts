import type { SensorFinding } from '../../../server/api/contract/dwelling.ts';
import type { Now, PlaceNow, TrendWire } from '../../../server/api/contract/figures.ts';
import { digits, type FigureParts, number, parts, plusMinus, quantity as withQuantity } from './format.ts';
import { saidFirst } from './say-first.ts';
import { sectionWords } from './section.ts';
import { words } from './words.ts';

/** What a place shows: the figures people look for, and those beside them. */
export function figureLines(place: PlaceNow): {
  readonly main: readonly FigureParts[];
  readonly beside: readonly string[];
} {
  const t = words.section;
  const temperature = place.temperature && parts(place.temperature, '°C', digits.temperature);
  const humidity = place.humidity && parts(place.humidity, '%', digits.percent);
  const beside: string[] = [];
  switch (place.kind) {
    case 'ceiling-surface':
    case 'control-surface':
      if (place.margin) {
        const size = { value: Math.abs(place.margin.value), plusMinus: place.margin.plusMinus };
        const text = plusMinus(size, 'K', digits.kelvin);
        beside.push(place.margin.value >= 0 ? t.margin(text) : t.marginBelow(text));
      }
      if (place.surfaceHumidity) beside.push(t.surfaceHumidity(plusMinus(place.surfaceHumidity, '%', digits.percent)));
      return { main: known(temperature), beside };
    case 'loft-timber':
      if (place.timberMoisture) {
        if (place.temperature) beside.push(plusMinus(place.temperature, '°C', digits.temperature));
        return { main: [parts(place.timberMoisture, '%', 1)], beside };
      }
      return { main: known(temperature, humidity), beside };
    default:
      if (place.dewPoint && (place.kind === 'room-air' || place.kind === 'behind-lining')) {
        beside.push(t.dewPoint(withQuantity(place.dewPoint.value, '°C', digits.temperature)));
      }
      if (place.vapourExcess && (place.kind === 'room-air' || place.kind === 'loft-air')) {
        beside.push(t.excess(plusMinus(place.vapourExcess, 'Pa', digits.pascal)));
      }
      return { main: known(temperature, humidity), beside };
  }
}

const known = (...figures: (FigureParts | null)[]): FigureParts[] => figures.filter((figure) => figure !== null);

/** The state of a place in words, without the figure that stands beside it with its ± anyway. */
export function stateWords(place: PlaceNow): string {
  const { code } = place.state;
  return place.margin !== null && (code === 'clear' || code === 'close') ? words.section[code] : saidFirst.state(place);
}

/** What is found about the sensors behind a figure, in a few words beside it; mere notes are left to the Sensors screen. */
export function findingWords(findings: readonly SensorFinding[]): string {
  const names = findings.filter(({ severity }) => severity !== 'note').map(({ code }) => words.findings.names[code]);
  return names.length === 0 ? '' : words.findings.beside([...new Set(names)].join(', '));
}

const trendUnits = {
  temperature: ['K', digits.temperature],
  margin: ['K', digits.kelvin],
  vapourPressure: ['Pa', digits.pascal],
  surfaceHumidity: ['%', digits.percent],
  timberMoisture: ['%', 1],
} as const satisfies Record<TrendWire['quantity'], readonly [string, number]>;

/** How a trend came about: `margin shrinking: −0.8 ± 0.3 K in 5 h`. */
export function trendFigures({ quantity, kind, change, plusMinus: half, hours }: TrendWire): string {
  const [unit, places] = trendUnits[quantity];
  const size = plusMinus({ value: change, plusMinus: half }, unit, places);
  const signed = change > 0 ? `+${size}` : size;
  return sectionWords.trendFigures(sectionWords.trends[quantity][kind], signed, number(hours));
}

/** The sentence under the headline: the surface nearest to its dew point, in the reader's units. */
export function detailWords(now: Pick<Now, 'detail' | 'headlineAbout' | 'places'>): string {
  const coldest = now.places
    .filter(({ kind, margin }) => (kind === 'ceiling-surface' || kind === 'control-surface') && margin !== null)
    .sort((a, b) => a.margin!.value - b.margin!.value)[0];
  if (coldest === undefined || coldest.temperature === null || coldest.margin === null) return saidFirst.detail(now);
  const { value, plusMinus: give } = coldest.margin;
  const margin = plusMinus({ value: Math.abs(value), plusMinus: give }, 'K', digits.kelvin);
  const temperature = withQuantity(coldest.temperature.value, '°C', digits.temperature);
  return words.section[value > 0 ? 'nearestAbove' : 'nearestBelow'](coldest.name, temperature, margin);
}
