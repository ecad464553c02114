import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';
import {
  type DateOrder,
  dateParts,
  hasDecimalComma,
  hasDecimalPoint,
  isMissing,
  looksLikeDate,
  looksLikeEpoch,
  looksLikeNumber,
  looksLikeStamp,
  looksLikeTimeOfDay,
  readNumber,
  readStamp,
} from './logger-cells.ts';
import { CsvProblem, type Encoding, readSample, sampleRows, type TextRow } from './logger-text.ts';
import { quoteText } from './timestamp.ts';

/** What the person importing knows better than a guess. Columns by name or by number from 1. */
export interface CsvOptions {
  readonly columns?: Partial<Readonly<Record<'time' | Quantity, string>>>;
  readonly temperatureUnit?: 'C' | 'F';
  /** IANA zone or offset from UTC of the logger's clock */
  readonly zone?: string;
  readonly delimiter?: string;
  readonly decimal?: '.' | ',';
  readonly dateOrder?: DateOrder;
}

export interface QuantityColumn {
  readonly quantity: Quantity;
  readonly index: number;
  readonly name: string;
  readonly unit: string;
}

export type ZoneGuess =
  /** each cell says it itself, or counts from 1970 */
  | { readonly kind: 'in-cells' }
  | { readonly kind: 'clock'; readonly zone: string; readonly from: 'option' | 'header' }
  /** nothing says it */
  | { readonly kind: 'unknown' };

/** How a file is read. */
export interface CsvGuess {
  readonly encoding: Encoding;
  readonly fileBytes: number;
  readonly delimiter: string;
  readonly decimal: '.' | ',';
  readonly headerRows: number;
  /** the column of the time, or those of the date and of the time of day */
  readonly timeColumns: readonly { readonly index: number; readonly name: string }[];
  readonly dateOrder: DateOrder;
  readonly zone: ZoneGuess;
  /** whether the file runs from old to new or back */
  readonly direction: 'forwards' | 'backwards';
  readonly quantities: readonly QuantityColumn[];
  /** columns that are not read */
  readonly ignored: readonly string[];
  /** what the person importing should look at */
  readonly notes: readonly string[];
}

const DELIMITERS = [',', ';', '\t', '|'];
const SAMPLE_ROWS = 50_000;
const MOST_HEADER_ROWS = 60;

/**
 * Works out how a logger's CSV file is to be read, from its first mebibyte and what is known already.
 *
 * @throws CsvProblem when that cannot be told
 */
export async function guessCsv(path: string, options: CsvOptions = {}): Promise<CsvGuess> {
  const sample = await readSample(path);
  const { delimiter, rows, headerRows } = findTable(path, sample.text, options.delimiter);
  const data = rows.slice(headerRows);
  const names = columnNames(
    rows.slice(0, headerRows),
    Math.max(...data.slice(0, 100).map(({ cells }) => cells.length)),
  );
  const label = (index: number): string => names[index]?.label ?? `column ${index + 1}`;
  const notes: string[] = [];
  if (headerRows === 0) notes.push('the file has no header: columns are taken in order. Check them');

  const timeColumns = findTimeColumns(path, data, names, options.columns?.time);
  const stamps = data.map(({ cells }) => timeColumns.map((index) => cells[index] ?? '').join(' '));
  const dateOrder = options.dateOrder ?? guessDateOrder(path, stamps, notes);
  const decimal = options.decimal ?? guessDecimal(data, timeColumns);
  const chosen = findQuantities(path, names, data, timeColumns, options, notes);
  if (chosen.length === 0) {
    throw new CsvProblem(
      'no-quantity',
      `${path}: no column of temperature or humidity is recognised among ${listed(names)}; name one, e.g. --temperature ${quoteText(names.find((_, index) => !timeColumns.includes(index))?.label ?? '2')}`,
    );
  }
  const columns = chosen.map(({ quantity, index }) => ({
    quantity,
    index,
    name: label(index),
    unit: quantity === 'temperature' ? temperatureUnit(names[index], options, notes) : quantities[quantity].unit,
  }));
  warnOfFahrenheit(columns, data, decimal, options, notes);
  const used = new Set([...timeColumns, ...columns.map(({ index }) => index)]);
  return {
    encoding: sample.encoding,
    fileBytes: sample.fileBytes,
    delimiter,
    decimal,
    headerRows,
    timeColumns: timeColumns.map((index) => ({ index, name: label(index) })),
    dateOrder,
    zone: guessZone(timeColumns.map(label).join(' '), stamps, dateOrder, options),
    direction: guessDirection(stamps, dateOrder),
    quantities: columns,
    ignored: names.flatMap(({ label: name }, index) => (used.has(index) ? [] : [name])),
    notes,
  };
}

interface Table {
  readonly delimiter: string;
  readonly rows: readonly TextRow[];
  readonly headerRows: number;
}

const hasTime = (cell: string): boolean => looksLikeStamp(cell) || looksLikeEpoch(cell);

/** A row of data has a time, or a date and a time of day, and beside it a number, or nothing but gaps. */
function isData({ cells }: TextRow): boolean {
  const numbers = cells.filter(looksLikeNumber).length;
  const gaps = cells.filter(isMissing).length;
  if (cells.some(looksLikeStamp)) return numbers >= 1 || (gaps >= 1 && gaps === cells.length - 1);
  if (cells.some(looksLikeDate) && cells.some(looksLikeTimeOfDay)) return numbers >= 1 || gaps === cells.length - 2;
  return cells.some(looksLikeEpoch) && numbers >= 2;
}

/** The delimiter under which most rows are data. */
function findTable(path: string, text: string, given: string | undefined): Table {
  let best: { readonly delimiter: string; readonly headerRows: number } | null = null;
  let bestScore = 0;
  for (const delimiter of given === undefined ? DELIMITERS : [given]) {
    const rows = sampleRows(text, delimiter, MOST_HEADER_ROWS + 500);
    const headerRows = rows.slice(0, MOST_HEADER_ROWS).findIndex(isData);
    if (headerRows < 0) continue;
    const score = rows.slice(headerRows).filter(isData).length;
    if (score > bestScore) {
      best = { delimiter, headerRows };
      bestScore = score;
    }
  }
  if (best !== null) return { ...best, rows: sampleRows(text, best.delimiter, SAMPLE_ROWS) };
  throw new CsvProblem(
    'no-rows',
    `${path} has no row with a time and a number beside it. Times must carry date and time of day, e.g. 2026-01-31 17:20:00; columns are separated by comma, semicolon or tab`,
  );
}

interface ColumnName {
  readonly label: string;
  readonly parts: readonly string[];
}

/** Names from all header rows: a second row often holds units. Lines of one cell are a preamble. */
function columnNames(header: readonly TextRow[], columns: number): ColumnName[] {
  const rows = columns > 1 ? header.filter(({ cells }) => cells.length > 1) : header;
  return Array.from({ length: columns }, (_, index) => {
    const parts = rows.map(({ cells }) => cells[index] ?? '').filter((part) => part !== '');
    return { label: parts.length === 0 ? `column ${index + 1}` : parts.join(' '), parts };
  });
}

const listed = (names: readonly ColumnName[]): string => names.map(({ label }) => quoteText(label)).join(', ');

function columnGiven(path: string, given: string, names: readonly ColumnName[]): number {
  const wanted = given.trim().toLowerCase();
  const named = names.findIndex(
    ({ label, parts }) => label.toLowerCase() === wanted || parts.some((part) => part.toLowerCase() === wanted),
  );
  if (named >= 0) return named;
  const number = /^\d+$/.test(wanted) ? Number(wanted) : 0;
  if (number >= 1 && number <= names.length) return number - 1;
  throw new CsvProblem('unknown-column', `${path} has no column ${quoteText(given)}; it has ${listed(names)}`);
}

const timeName = /(?:time|date|stamp|epoch|unix|zeit|datum|utc)/i;

function findTimeColumns(
  path: string,
  data: readonly TextRow[],
  names: readonly ColumnName[],
  given: string | undefined,
): number[] {
  const some = data.slice(0, 200);
  const mostly = (index: number, test: (cell: string) => boolean): boolean =>
    some.filter(({ cells }) => test(cells[index] ?? '')).length * 2 > some.length;
  const among = names.map((_, index) => index);
  const timeOfDay = (): number | undefined => among.find((index) => mostly(index, looksLikeTimeOfDay));
  if (given !== undefined) {
    const index = columnGiven(path, given, names);
    if (mostly(index, hasTime)) return [index];
    const beside = mostly(index, looksLikeDate) ? timeOfDay() : undefined;
    if (beside !== undefined) return [index, beside];
    throw new CsvProblem('no-time', `${path}: the column ${quoteText(given)} holds no dates with a time of day`);
  }
  const stamped = among.filter((index) => mostly(index, looksLikeStamp));
  const preferred = stamped.find((index) => timeName.test(names[index]!.label)) ?? stamped[0];
  if (preferred !== undefined) return [preferred];
  const date = among.find((index) => mostly(index, looksLikeDate));
  const beside = timeOfDay();
  if (date !== undefined && beside !== undefined) return [date, beside];
  const epoch = among.find((index) => timeName.test(names[index]!.label) && mostly(index, looksLikeEpoch));
  if (epoch !== undefined) return [epoch];
  throw new CsvProblem(
    'no-time',
    `${path}: no column of times is recognised among ${listed(names)}; name it with --time`,
  );
}

function guessDateOrder(path: string, stamps: readonly string[], notes: string[]): DateOrder {
  const dates = stamps.flatMap((stamp) => {
    const parts = dateParts(stamp);
    return parts === null ? [] : [{ ...parts, stamp }];
  });
  if (dates.length * 2 <= stamps.length) return 'epoch';
  const late = dates.filter(({ order }) => order === 'year-last');
  if (late.length * 2 <= dates.length) return 'ymd';
  const dayFirst = late.some(({ first }) => first > 12);
  const monthFirst = late.some(({ second }) => second > 12);
  if (dayFirst !== monthFirst) return dayFirst ? 'dmy' : 'mdy';
  const steps = (order: DateOrder): number => longestStep(stamps, order);
  const asDay = steps('dmy');
  const asMonth = steps('mdy');
  const DAYS = 86_400_000;
  if (asDay > 0 && asDay <= 3 * DAYS && asMonth > 20 * DAYS) {
    notes.push('dates are read with the day first, for so the log runs on from one day to the next');
    return 'dmy';
  }
  if (asMonth > 0 && asMonth <= 3 * DAYS && asDay > 20 * DAYS) {
    notes.push('dates are read with the month first, for so the log runs on from one day to the next');
    return 'mdy';
  }
  if (late.every(({ stamp }) => /^\d{1,2}\.\d{1,2}\./.test(stamp))) {
    notes.push('dates with dots are read with the day first. Check the span below');
    return 'dmy';
  }
  throw new CsvProblem(
    'ambiguous-dates',
    `${path}: in ${quoteText(late[0]!.stamp)} either number could be the day; say which with --date-order dmy or mdy`,
  );
}

function longestStep(stamps: readonly string[], order: DateOrder): number {
  let longest = 0;
  let before: number | null = null;
  for (const text of stamps) {
    const stamp = readStamp(text, order);
    if (stamp === null) continue;
    if (before !== null) longest = Math.max(longest, Math.abs(stamp.civil - before));
    before = stamp.civil;
  }
  return longest;
}

function guessDirection(stamps: readonly string[], order: DateOrder): CsvGuess['direction'] {
  let up = 0;
  let down = 0;
  let before: number | null = null;
  for (const text of stamps) {
    const stamp = readStamp(text, order);
    if (stamp === null) continue;
    if (before !== null && stamp.civil > before) up++;
    if (before !== null && stamp.civil < before) down++;
    before = stamp.civil;
  }
  return down > up ? 'backwards' : 'forwards';
}

function guessDecimal(data: readonly TextRow[], timeColumns: readonly number[]): '.' | ',' {
  let commas = 0;
  let points = 0;
  for (const { cells } of data.slice(0, 2000)) {
    for (let index = 0; index < cells.length; index++) {
      if (timeColumns.includes(index)) continue;
      if (hasDecimalComma(cells[index]!)) commas++;
      else if (hasDecimalPoint(cells[index]!)) points++;
    }
  }
  return commas > points ? ',' : '.';
}

const bare = (text: string): string =>
  text
    .toLowerCase()
    .replace(/[([].*?[)\]]/g, ' ')
    .replace(/°\s*[cf]?|%|\brh\s*%|\bvolts?\b/g, ' ')
    .replace(/[_\s.]+/g, ' ')
    .trim();

/** Names by which a column gives itself away: the whole name first, then a part of it. */
const synonyms: Readonly<Record<Quantity, { readonly whole: RegExp; readonly part: RegExp; readonly not: RegExp }>> = {
  temperature: {
    whole: /^(?:t|te|ta|temp|temperature|temperatur)(?: [cf]|, [cf])?$/,
    part: /temp/,
    not: /dew|taupunkt|wet bulb|frost/,
  },
  humidity: {
    whole: /^(?:rh|rhe|r h|hum|humidity|relative humidity|rel humidity|luftfeuchte|feuchte)(?: pct)?$/,
    part: /humid|(?:^|[^a-z])rh(?:$|[^a-z])|feuchte/,
    not: /abs|specific|ratio/,
  },
  timberMoisture: { whole: /^(?:timber|wood) moisture(?: pct)?$/, part: /(?:timber|wood) moisture/, not: /(?!)/ },
  co2: { whole: /^(?:co2|co₂)(?: ppm)?$/, part: /co2|co₂/, not: /(?!)/ },
  battery: { whole: /^(?:battery|batt)(?: v)?$/, part: /batt/, not: /low|state|pct|percent|%/ },
};

function findQuantities(
  path: string,
  names: readonly ColumnName[],
  data: readonly TextRow[],
  timeColumns: readonly number[],
  options: CsvOptions,
  notes: string[],
): { readonly quantity: Quantity; readonly index: number }[] {
  const taken = new Set(timeColumns);
  const found: { quantity: Quantity; index: number }[] = [];
  for (const quantity of quantityNames) {
    const given = options.columns?.[quantity];
    if (given === undefined) continue;
    const index = columnGiven(path, given, names);
    taken.add(index);
    found.push({ quantity, index });
  }
  const headed = names.some(({ parts }) => parts.length > 0);
  const numeric = (index: number): boolean =>
    data.slice(0, 500).some(({ cells }) => looksLikeNumber(cells[index] ?? ''));
  const free = (): number[] => names.map((_, index) => index).filter((index) => !taken.has(index) && numeric(index));
  for (const quantity of quantityNames) {
    if (found.some((column) => column.quantity === quantity)) continue;
    if (options.columns !== undefined && !headed) continue;
    const { wire } = quantities[quantity];
    const { whole, part, not } = synonyms[quantity];
    const tests: ((name: ColumnName) => boolean)[] = [
      ({ parts }) => parts.some((text) => text.toLowerCase() === wire),
      ({ label, parts }) => !not.test(label.toLowerCase()) && [label, ...parts].some((text) => whole.test(bare(text))),
      ({ label }) => !not.test(label.toLowerCase()) && part.test(label.toLowerCase()),
    ];
    for (const test of tests) {
      const fitting = free().filter((index) => test(names[index]!));
      const [index, ...others] = fitting;
      if (index === undefined) continue;
      if (others.length > 0) {
        const rest = others.map((other) => quoteText(names[other]!.label)).join(', ');
        notes.push(`${quantity} could also be ${rest}; import those as sensors of their own, naming the column`);
      }
      taken.add(index);
      found.push({ quantity, index });
      break;
    }
  }
  if (!headed && options.columns === undefined) {
    const [first, second] = free();
    if (first !== undefined) found.push({ quantity: 'temperature', index: first });
    if (second !== undefined) found.push({ quantity: 'humidity', index: second });
  }
  return found;
}

const fahrenheit = /°\s*f\b|℉|fahrenheit|[([]\s*f\s*[)\]]|(?:_|,|\s|deg\.?\s*)f$/i;
const celsius = /°\s*c\b|℃|celsius|[([]\s*c\s*[)\]]|(?:_|,|\s|deg\.?\s*)c$/i;

function temperatureUnit(name: ColumnName | undefined, options: CsvOptions, notes: string[]): '°C' | '°F' {
  if (options.temperatureUnit !== undefined) return options.temperatureUnit === 'F' ? '°F' : '°C';
  const texts = name === undefined ? [] : [name.label, ...name.parts];
  if (texts.some((text) => fahrenheit.test(text))) return '°F';
  if (!texts.some((text) => celsius.test(text))) notes.push('the file does not say its temperature unit: taken as °C');
  return '°C';
}

/** Half the readings above 45 C is no home; as Fahrenheit it is 7 C. Common practice, no source. */
function warnOfFahrenheit(
  columns: readonly QuantityColumn[],
  data: readonly TextRow[],
  decimal: '.' | ',',
  options: CsvOptions,
  notes: string[],
): void {
  const column = columns.find(({ quantity }) => quantity === 'temperature');
  if (column === undefined || column.unit === '°F' || options.temperatureUnit !== undefined) return;
  const values = data.flatMap(({ cells }) => readNumber(cells[column.index] ?? '', decimal) ?? []);
  if (values.filter((value) => value > 45).length * 2 > values.length) {
    notes.push('most temperatures are above 45: if they are degrees Fahrenheit, add --unit F');
  }
}

function guessZone(header: string, stamps: readonly string[], order: DateOrder, options: CsvOptions): ZoneGuess {
  const offsets = stamps.filter((text) => typeof readStamp(text, order)?.offset === 'number').length;
  if (offsets * 2 > stamps.length) return { kind: 'in-cells' };
  if (options.zone !== undefined) return { kind: 'clock', zone: options.zone, from: 'option' };
  const named = /(?<![a-z])(?:utc|gmt)\s*([+-]\s*\d{1,2}(?::?\d{2})?)?/i.exec(header);
  if (named === null) return { kind: 'unknown' };
  return { kind: 'clock', zone: (named[1] ?? 'UTC').replaceAll(' ', ''), from: 'header' };
}
