import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import PDFDocument from 'pdfkit';
import QRCode from 'qrcode';

/** What a label says, and where its code leads. It holds no secret. */
export interface SensorLabel {
  readonly home: string;
  readonly sensor: string;
  readonly key: string;
  /** null: not placed yet */
  readonly place: string | null;
  readonly address: string;
}

/** A4 with labels of a common size, mm. No source. */
export const labelSheet = Object.freeze({
  width: 210,
  height: 297,
  columns: 3,
  rows: 8,
  labelWidth: 70,
  labelHeight: 37,
});
const PER_SHEET = labelSheet.columns * labelSheet.rows;
const TOP = (labelSheet.height - labelSheet.rows * labelSheet.labelHeight) / 2;
const MARGIN = 3.5;
const CODE = labelSheet.labelHeight - 2 * MARGIN;
/** quiet zone round the code, modules. @source ISO/IEC 18004:2015, 5.3.8 */
const QUIET = 4;

/** Where the page is opened on which a sensor is placed. */
export function placingAddress(base: string, dwelling: string, sensor: string): string {
  const address = new URL('/sensors/stand', base);
  address.searchParams.set('dwelling', dwelling);
  address.searchParams.set('sensor', sensor);
  return address.href;
}

interface Bar {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Dark runs of a code that fills a square of `CODE` mm, in mm from its corner. */
function barsOf(text: string): Bar[] {
  const { modules } = QRCode.create(text, { errorCorrectionLevel: 'M' });
  const size = CODE / (modules.size + 2 * QUIET);
  const bars: Bar[] = [];
  for (let row = 0; row < modules.size; row++) {
    for (let column = 0; column < modules.size; column++) {
      if (!modules.get(row, column)) continue;
      const begin = column;
      while (column + 1 < modules.size && modules.get(row, column + 1)) column += 1;
      const width = (column - begin + 1) * size;
      bars.push({ x: (begin + QUIET) * size, y: (row + QUIET) * size, width, height: size });
    }
  }
  return bars;
}

const cornerOf = (k: number): { x: number; y: number } => ({
  x: (k % labelSheet.columns) * labelSheet.labelWidth,
  y: TOP + Math.floor(k / labelSheet.columns) * labelSheet.labelHeight,
});

const linesOf = ({ home, sensor, key, place }: SensorLabel): readonly string[] => [
  home,
  sensor,
  ...(key === sensor ? [] : [key]),
  ...(place === null ? [] : [place]),
];

const sheetsOf = (labels: readonly SensorLabel[]): (readonly SensorLabel[])[] =>
  Array.from({ length: Math.ceil(labels.length / PER_SHEET) }, (_, k) =>
    labels.slice(k * PER_SHEET, (k + 1) * PER_SHEET),
  );

const escaped = (text: string): string =>
  text.replace(/[&<>"]/g, (sign) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[sign]!);

/** So many letters of a label's text fit beside its code. */
const FITS = 19;
const cut = (text: string): string => (text.length > FITS ? `${text.slice(0, FITS - 1)}…` : text);
const round = (mm: number): number => Math.round(mm * 1000) / 1000;

/** A page of labels, as a picture: it needs no style that the way it is sent might forbid. */
function sheetSvg(labels: readonly SensorLabel[]): string {
  const drawn = labels.map((label, k) => {
    const { x, y } = cornerOf(k);
    const path = barsOf(label.address)
      .map((bar) => `M${round(bar.x)} ${round(bar.y)}h${round(bar.width)}v${round(bar.height)}h${-round(bar.width)}z`)
      .join('');
    const words = linesOf(label).map(
      (text, line) =>
        `<text x="${CODE + MARGIN}" y="${7 + line * 5}" font-size="${line === 0 ? 3.4 : 3}" font-weight="${line === 1 ? 700 : 400}">${escaped(cut(text))}</text>`,
    );
    return `<g transform="translate(${x + MARGIN} ${y + MARGIN})"><path d="${path}"/>${words.join('')}</g>`;
  });
  const { width, height } = labelSheet;
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${width}mm" height="${height}mm" viewBox="0 0 ${width} ${height}" font-family="sans-serif" fill="#000">${drawn.join('')}</svg>`;
}

export const labelsHtml = (labels: readonly SensorLabel[], title: string): string =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${escaped(title)}</title></head><body>${sheetsOf(labels).map(sheetSvg).join('')}</body></html>`;

const fonts = join(dirname(createRequire(import.meta.url).resolve('dejavu-fonts-ttf/package.json')), 'ttf');
const MM = 72 / 25.4;

export function labelsPdf(labels: readonly SensorLabel[], title: string): Promise<Buffer> {
  const pdf = new PDFDocument({
    size: 'A4',
    margin: 0,
    autoFirstPage: false,
    info: { Title: title, Creator: 'coomb' },
  });
  const chunks: Buffer[] = [];
  const done = new Promise<Buffer>((resolve, reject) => {
    pdf.on('data', (chunk: Buffer) => chunks.push(chunk));
    pdf.on('end', () => resolve(Buffer.concat(chunks)));
    pdf.on('error', reject);
  });
  pdf.registerFont('text', join(fonts, 'DejaVuSans.ttf'));
  pdf.registerFont('bold', join(fonts, 'DejaVuSans-Bold.ttf'));
  for (const sheet of sheetsOf(labels)) {
    pdf.addPage();
    for (const [k, label] of sheet.entries()) {
      const { x, y } = cornerOf(k);
      const left = (x + MARGIN) * MM;
      const top = (y + MARGIN) * MM;
      for (const bar of barsOf(label.address)) {
        pdf.rect(left + bar.x * MM, top + bar.y * MM, bar.width * MM, bar.height * MM);
      }
      pdf.fill('#000');
      for (const [line, text] of linesOf(label).entries()) {
        pdf
          .font(line === 1 ? 'bold' : 'text')
          .fontSize((line === 0 ? 3.2 : 2.8) * MM)
          .text(text, left + (CODE + MARGIN) * MM, top + (4 + line * 5) * MM, {
            width: (labelSheet.labelWidth - CODE - 3 * MARGIN) * MM,
            height: 4.5 * MM,
            ellipsis: true,
            lineBreak: false,
          });
      }
    }
  }
  pdf.end();
  return done;
}
