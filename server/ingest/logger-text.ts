import { isUtf8 } from 'node:buffer';
import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { CsvError, parse } from 'csv-parse';
import { parse as parseNow } from 'csv-parse/sync';

/** The file cannot be read as a log at all; the message says what to do. */
export class CsvProblem extends Error {
  readonly code: CsvProblemCode;
  constructor(code: CsvProblemCode, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = 'CsvProblem';
    this.code = code;
  }
}

export type CsvProblemCode =
  | 'unreadable'
  | 'empty'
  | 'no-rows'
  | 'broken-quotes'
  | 'unknown-column'
  | 'no-time'
  | 'no-quantity'
  | 'ambiguous-dates';

export type Encoding = 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';

export interface TextRow {
  /** line of the file on which the row ends, from 1 */
  readonly line: number;
  readonly cells: readonly string[];
}

/** Enough for three years of hours: formats, units and the order of day and month are guessed from it. */
const SAMPLE_BYTES = 1 << 20;
const LONGEST_ROW = 128 << 10;

const parserOptions = (delimiter: string) => ({
  delimiter,
  bom: true,
  info: true as const,
  trim: true,
  relax_column_count: true,
  relax_quotes: true,
  skip_empty_lines: true,
  record_delimiter: ['\r\n', '\n', '\r'],
  max_record_size: LONGEST_ROW,
});

export interface Sample {
  readonly text: string;
  readonly encoding: Encoding;
  readonly fileBytes: number;
}

/** The beginning of a file, in whole lines, and how its characters are written. */
export async function readSample(path: string): Promise<Sample> {
  let file: Awaited<ReturnType<typeof open>>;
  try {
    file = await open(path);
  } catch (cause) {
    throw new CsvProblem('unreadable', `${path} cannot be read: ${(cause as Error).message}`, cause);
  }
  try {
    const { size } = await file.stat();
    const buffer = Buffer.alloc(SAMPLE_BYTES);
    const { bytesRead } = await file.read(buffer, 0, SAMPLE_BYTES, 0);
    const bytes = buffer.subarray(0, bytesRead);
    const encoding = encodingOf(bytes);
    const text = new TextDecoder(encoding).decode(bytes);
    const whole = bytesRead < size ? text.slice(0, Math.max(text.lastIndexOf('\n'), text.lastIndexOf('\r')) + 1) : text;
    if (whole.trim() === '') throw new CsvProblem('empty', `${path} is empty: export the log again`);
    return { text: whole, encoding, fileBytes: size };
  } catch (cause) {
    if (cause instanceof CsvProblem) throw cause;
    throw new CsvProblem('unreadable', `${path} cannot be read: ${(cause as Error).message}`, cause);
  } finally {
    await file.close();
  }
}

function encodingOf(bytes: Buffer): Encoding {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return 'utf-16le';
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return 'utf-16be';
  // the sample may end within a character
  const ends = [0, 1, 2, 3].some((cut) => cut <= bytes.length && isUtf8(bytes.subarray(0, bytes.length - cut)));
  return ends ? 'utf-8' : 'windows-1252';
}

/** Rows of a sample; what cannot be parsed to its end gives the rows before that. */
export function sampleRows(text: string, delimiter: string, most: number): TextRow[] {
  const rows: TextRow[] = [];
  try {
    parseNow(text, {
      ...parserOptions(delimiter),
      to: most,
      on_record: (parsed: unknown) => {
        rows.push(toRow(parsed as Parsed));
        return null;
      },
    });
  } catch {
    // a broken quote: what was read before it tells the shape of the file, and reading all of it tells the fault
  }
  return rows;
}

/**
 * Rows of a whole file in order, a bounded number of them in memory at a time.
 *
 * @throws CsvProblem `broken-quotes` when a quote is opened and never closed, `unreadable` when the disk says no
 */
export async function* fileRows(
  path: string,
  encoding: Encoding,
  delimiter: string,
  onBytes: (bytes: number) => void = () => {},
): AsyncGenerator<TextRow> {
  const parser = parse(parserOptions(delimiter));
  let line = 1;
  const source = Readable.from(decoded(path, encoding, onBytes), { objectMode: true });
  source.on('error', (error) => parser.destroy(error));
  source.pipe(parser);
  try {
    for await (const parsed of parser) {
      const row = toRow(parsed as Parsed);
      line = row.line;
      yield row;
    }
  } catch (cause) {
    if (cause instanceof CsvError) {
      const message = `${path}: a quote opened after line ${line} is never closed; correct it in a copy of the file`;
      throw new CsvProblem('broken-quotes', message, cause);
    }
    throw new CsvProblem('unreadable', `${path} cannot be read: ${(cause as Error).message}`, cause);
  } finally {
    source.destroy();
  }
}

interface Parsed {
  readonly record: string[];
  readonly info: { readonly lines: number };
}

const toRow = ({ record, info }: Parsed): TextRow => ({ line: info.lines, cells: record });

async function* decoded(path: string, encoding: Encoding, onBytes: (bytes: number) => void): AsyncGenerator<string> {
  const decoder = new TextDecoder(encoding);
  let bytes = 0;
  for await (const chunk of createReadStream(path)) {
    bytes += (chunk as Buffer).length;
    const text = decoder.decode(chunk as Buffer, { stream: true });
    if (text !== '') yield text;
    onBytes(bytes);
  }
  const rest = decoder.decode();
  if (rest !== '') yield rest;
}
