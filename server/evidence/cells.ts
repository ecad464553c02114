/**
 * Cells of the tables in a pack. A text that a spreadsheet would take for a formula, or that would not stay on its line, is
 * written as a JSON string, which begins with a quotation mark; a text that begins with one is always such a string. So
 * nothing is changed on the way, and nothing is ever run: a leading apostrophe would do the second but not the first.
 *
 * @source RFC 4180 for the quoting of cells; the rule for risky texts is our own
 */
export function textCell(text: string): string {
  return risky.test(text) ? JSON.stringify(text).replaceAll('\u2028', '\\u2028').replaceAll('\u2029', '\\u2029') : text;
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const risky = /^[\s=+\-@"'|%＝＋－＠]|[\u0000-\u001f\u007f-\u009f\u2028\u2029]/;

/** @throws RangeError where it begins like a JSON string and is none */
export function textOfCell(cell: string): string {
  if (!cell.startsWith('"')) return cell;
  try {
    const text: unknown = JSON.parse(cell);
    if (typeof text === 'string') return text;
  } catch {
    // said below
  }
  throw new RangeError(`${cell.slice(0, 40)} begins like a JSON string and is none`);
}

/** One line of a table, RFC 4180 but for the line feed alone at its end, which common tools expect. */
export const csvLine = (cells: readonly string[]): string =>
  `${cells.map((cell) => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell)).join(',')}\n`;

/**
 * Cells of one line. No cell of ours holds a line break, so a line is a row.
 *
 * @throws RangeError where the quoting is broken
 */
export function cellsOfLine(line: string): string[] {
  if (!line.includes('"')) return line.split(',');
  const cells: string[] = [];
  let at = 0;
  for (;;) {
    if (line[at] === '"') {
      let text = '';
      let end = at + 1;
      for (;;) {
        const quote = line.indexOf('"', end);
        if (quote < 0) throw new RangeError('a quotation mark is not closed');
        text += line.slice(end, quote);
        end = quote + 1;
        if (line[end] !== '"') break;
        text += '"';
        end++;
      }
      cells.push(text);
      at = end;
    } else {
      const comma = line.indexOf(',', at);
      const end = comma < 0 ? line.length : comma;
      const text = line.slice(at, end);
      if (text.includes('"')) throw new RangeError('a quotation mark stands inside a cell that is not quoted');
      cells.push(text);
      at = end;
    }
    if (at === line.length) return cells;
    if (line[at] !== ',') throw new RangeError('text stands behind a quoted cell');
    at++;
  }
}
