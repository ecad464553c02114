import { once } from 'node:events';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import PDFDocument from 'pdfkit';
import type { PaperSize } from '../../analysis/report-vocabulary.ts';
import { type Block, type Document, type Heading, listed, type Table } from './blocks.ts';
import { inks, runs, type Scene, type Shape } from './scene.ts';

const require = createRequire(import.meta.url);
const fontFolder = join(dirname(require.resolve('dejavu-fonts-ttf/package.json')), 'ttf');
const faces = {
  text: 'DejaVuSans.ttf',
  bold: 'DejaVuSans-Bold.ttf',
  title: 'DejaVuSerif.ttf',
} as const;
type Face = keyof typeof faces;

const margin = { top: 56, bottom: 64, left: 56, right: 56 } as const;
const headings = {
  1: { size: 21, before: 0, after: 8 },
  2: { size: 15, before: 18, after: 6 },
  3: { size: 11.5, before: 12, after: 4 },
} as const;
const sizes = { text: 9.5, lead: 11.5, small: 8, cell: 7.5, foot: 7.5 } as const;

type Pdf = PDFKit.PDFDocument;
type Element = PDFKit.PDFStructureElement;

/**
 * The report as a PDF: vector drawings, embedded fonts, contents with links, bookmarks and page numbers, tagged for screen
 * readers (PDF/UA-1, ISO 14289-1: structure, language, title, text for every picture).
 *
 * @param made when it is made, UTC milliseconds; the same report made at the same time gives the same bytes
 */
export async function toPdf(document: Document, size: PaperSize, made: number): Promise<Buffer> {
  const at = new Date(made);
  const pdf = new PDFDocument({
    size: size === 'A4' ? 'A4' : 'LETTER',
    margins: margin,
    bufferPages: true,
    pdfVersion: '1.7',
    subset: 'PDF/UA',
    tagged: true,
    lang: document.language,
    displayTitle: true,
    info: { Title: document.title, Creator: 'coomb', Producer: 'coomb', CreationDate: at, ModDate: at },
  } as unknown as PDFKit.PDFDocumentOptions);
  for (const [face, file] of Object.entries(faces)) pdf.registerFont(face, join(fontFolder, file));
  const chunks: Buffer[] = [];
  pdf.on('data', (chunk: Buffer) => chunks.push(chunk));
  const ended = once(pdf, 'end');

  const root = pdf.struct('Document', { title: document.title });
  pdf.addStructure(root);
  const setter = createSetter(pdf, root, document);
  for (const [k, block] of document.blocks.entries()) setter.set(block, document.blocks.slice(k + 1, k + 4));
  setter.numberContents();
  root.end();
  setFeet(pdf, document);
  pdf.end();
  await ended;
  return Buffer.concat(chunks);
}

const widthOf = (pdf: Pdf): number => pdf.page.width - margin.left - margin.right;
const bottomOf = (pdf: Pdf): number => pdf.page.height - margin.bottom;

/** Control characters, and those that turn the direction of the text round. */
const unsettable = /[\p{Cc}\p{Bidi_Control}]/gu;
/** What the fonts have no letter for would be an empty box: control characters go, tabs and line ends become spaces. */
const clean = (text: string): string => text.replace(/[\t\r\n]+/g, ' ').replace(unsettable, '');

function createSetter(pdf: Pdf, root: Element, document: Document) {
  /** the page of each heading, counted from 1 */
  const pages = new Map<string, number>();
  /** lines of the contents that still want their number: the pages of headings are known only after setting */
  const unnumbered: { line: Element; heading: string; page: number; y: number }[] = [];
  const pageNumber = (): number => pdf.bufferedPageRange().count;
  const font = (face: Face, points: number, ink: string = inks.ink): Pdf =>
    pdf.font(face).fontSize(points).fillColor(ink);
  const room = (height: number): void => {
    if (pdf.y + height > bottomOf(pdf) && pdf.y > margin.top + 1) pdf.addPage();
  };
  const tag = (type: string, work: () => void, options: Record<string, unknown> = {}, parent = root): void => {
    parent.add(pdf.struct(type, options, work));
  };

  function text(
    type: string,
    words: string,
    face: Face,
    points: number,
    rest: { ink?: string; after?: number; indent?: number } = {},
  ) {
    const indent = rest.indent ?? 0;
    const options = { width: widthOf(pdf) - indent, lineGap: points * 0.25 };
    font(face, points, rest.ink);
    const height = pdf.heightOfString(clean(words), options);
    room(Math.min(height, 3 * points));
    tag(type, () => {
      font(face, points, rest.ink);
      pdf.text(clean(words), margin.left + indent, pdf.y, options);
    });
    pdf.y += rest.after ?? 5;
    pdf.x = margin.left;
  }

  /** What must stand on the same page as a heading: other headings after it, and the beginning of what they head. */
  function keptWith(following: readonly Block[]): number {
    const [next, ...rest] = following;
    if (next === undefined) return 0;
    if (next.kind === 'heading') return headings[next.level].size * 2.6 + keptWith(rest);
    if (next.kind === 'drawing') return next.scene.height + 30;
    if (next.kind === 'photo') return 300;
    return next.kind === 'table' ? 80 : 40 + (next.kind === 'paragraph' ? Math.min(keptWith(rest), 260) : 0);
  }

  function setHeading(block: Heading, following: readonly Block[]): void {
    const { size, before, after } = block.weight === 'minor' ? headings[3] : headings[block.level];
    if (pdf.y > margin.top + 1) pdf.y += before;
    room(size * 1.4 + after + keptWith(following));
    pages.set(block.id, pageNumber());
    pdf.addNamedDestination(block.id, 'XYZ', margin.left, pdf.y - 4, null);
    if (block.level < 3 && block.weight === 'major') pdf.outline.addItem(clean(block.text));
    text(`H${block.level}`, block.text, 'title', size, { after });
  }

  function setContents(title: string): void {
    text('H2', title, 'title', headings[2].size, { after: headings[2].after });
    const toc = pdf.struct('TOC');
    root.add(toc);
    for (const block of listed(document.blocks)) {
      const { y } = pdf;
      const line = pdf.struct('TOCI');
      toc.add(line);
      line.add(() => {
        font('text', sizes.text);
        pdf.text(clean(block.text), margin.left, y, { goTo: block.id, width: widthOf(pdf) - 40, lineBreak: false });
      });
      unnumbered.push({ line, heading: block.id, page: pageNumber(), y });
      pdf.y = y + pdf.currentLineHeight(true) + 3;
    }
    pdf.x = margin.left;
    pdf.y += 6;
  }

  function numberContents(): void {
    const { start } = pdf.bufferedPageRange();
    for (const { line, heading, page, y } of unnumbered) {
      pdf.switchToPage(start + page - 1);
      line.add(() => {
        font('text', sizes.text);
        pdf.text(String(pages.get(heading)!), margin.left, y, { width: widthOf(pdf), align: 'right' });
      });
      line.end();
    }
  }

  function setTable({ caption, columns, rows }: Table): void {
    const width = widthOf(pdf);
    const whole = columns.reduce((sum, { share }) => sum + share, 0);
    const widths = columns.map(({ share }) => (share / whole) * width);
    const lefts = widths.map((_, k) => margin.left + widths.slice(0, k).reduce((sum, w) => sum + w, 0));
    const padding = 8;
    const heightOf = (row: readonly string[], face: Face): number => {
      font(face, sizes.cell);
      return (
        Math.max(...row.map((cell, k) => pdf.heightOfString(clean(cell) || ' ', { width: widths[k]! - padding }))) + 5
      );
    };
    const element = pdf.struct('Table');
    root.add(element);
    room(
      14 +
        heightOf(
          columns.map(({ title }) => title),
          'bold',
        ) +
        24,
    );
    tag(
      'Caption',
      () => {
        font('text', sizes.small, inks.soft);
        pdf.text(clean(caption), margin.left, pdf.y, { width });
      },
      {},
      element,
    );
    pdf.y += 3;
    const setRow = (
      row: readonly string[],
      face: Face,
      cellType: (k: number) => 'TH' | 'TD',
      isArtifact: boolean,
    ): void => {
      const height = heightOf(row, face);
      const y = pdf.y;
      const cell = (k: number): void => {
        font(face, sizes.cell, face === 'bold' ? inks.soft : inks.ink);
        pdf.text(clean(row[k]!), lefts[k]!, y, {
          width: widths[k]! - padding,
          align: columns[k]!.align ?? 'left',
        });
      };
      if (isArtifact) {
        pdf.markContent('Artifact', { type: 'Pagination' });
        row.forEach((_, k) => {
          cell(k);
        });
        pdf.endMarkedContent();
      } else {
        const line = pdf.struct('TR');
        element.add(line);
        row.forEach((_, k) => {
          tag(cellType(k), () => cell(k), {}, line);
        });
        line.end();
      }
      rule(y + height - 3, face === 'bold' ? inks.ink : inks.hair);
      pdf.y = y + height;
    };
    const titles = columns.map(({ title }) => title);
    setRow(titles, 'bold', () => 'TH', false);
    for (const row of rows) {
      const height = heightOf(row, 'text');
      if (pdf.y + height > bottomOf(pdf)) {
        pdf.addPage();
        setRow(titles, 'bold', () => 'TH', true);
      }
      setRow(row, 'text', (k) => (k === 0 ? 'TH' : 'TD'), false);
    }
    element.end();
    pdf.x = margin.left;
    pdf.y += 8;
  }

  function rule(y: number, ink: string): void {
    pdf.markContent('Artifact', { type: 'Layout' });
    pdf
      .save()
      .moveTo(margin.left, y)
      .lineTo(margin.left + widthOf(pdf), y)
      .lineWidth(0.5)
      .strokeColor(ink)
      .stroke()
      .restore();
    pdf.endMarkedContent();
  }

  function setDrawing(scene: Scene, caption: string): void {
    const scale = Math.min(1, widthOf(pdf) / scene.width);
    room(scene.height * scale + 26);
    const { y } = pdf;
    tag(
      'Figure',
      () => {
        pdf.save().translate(margin.left, y).scale(scale);
        for (const shape of scene.shapes) draw(pdf, shape);
        pdf.restore();
      },
      { alt: clean(scene.alt) },
    );
    pdf.y = y + scene.height * scale + 4;
    pdf.x = margin.left;
    text('Caption', caption, 'text', sizes.small, { ink: inks.soft, after: 10 });
  }

  function setPhoto(jpeg: Uint8Array, caption: string, alt: string): void {
    const fit: [number, number] = [widthOf(pdf), 260];
    room(fit[1] + 26);
    const { y } = pdf;
    tag('Figure', () => pdf.image(Buffer.from(jpeg), margin.left, y, { fit }), { alt: clean(alt) });
    pdf.y = y + fit[1] + 4;
    text('Caption', caption, 'text', sizes.small, { ink: inks.soft, after: 10 });
  }

  function setList(items: readonly string[]): void {
    const element = pdf.struct('L');
    root.add(element);
    for (const item of items) {
      font('text', sizes.text);
      const options = { width: widthOf(pdf) - 14, lineGap: 2.4 };
      room(Math.min(pdf.heightOfString(clean(item), options), 30));
      tag(
        'LI',
        () => {
          const { y } = pdf;
          font('text', sizes.text);
          pdf.text('–', margin.left, y, { width: 12, lineBreak: false });
          pdf.text(clean(item), margin.left + 14, y, options);
        },
        {},
        element,
      );
      pdf.y += 3;
    }
    element.end();
    pdf.x = margin.left;
    pdf.y += 4;
  }

  function setNotice(title: string, words: string): void {
    const whole = `${title} ${words}`;
    font('text', sizes.text);
    const height = pdf.heightOfString(clean(whole), { width: widthOf(pdf) - 20, lineGap: 2.4 }) + 16;
    room(height);
    const { y } = pdf;
    pdf.markContent('Artifact', { type: 'Layout' });
    pdf.save().rect(margin.left, y, widthOf(pdf), height).lineWidth(0.7).strokeColor(inks.accent).stroke().restore();
    pdf.endMarkedContent();
    tag('P', () => {
      font('bold', sizes.text);
      pdf.text(`${clean(title)} `, margin.left + 10, y + 8, {
        width: widthOf(pdf) - 20,
        lineGap: 2.4,
        continued: true,
      });
      font('text', sizes.text);
      pdf.text(clean(words), { width: widthOf(pdf) - 20, lineGap: 2.4 });
    });
    pdf.x = margin.left;
    pdf.y = y + height + 8;
  }

  const setters: {
    readonly [K in Block['kind']]: (block: Extract<Block, { kind: K }>, following: readonly Block[]) => void;
  } = {
    heading: setHeading,
    paragraph: ({ text: words, tone }) =>
      text('P', words, 'text', sizes[tone ?? 'text'], tone === 'small' ? { ink: inks.soft } : {}),
    list: ({ items }) => setList(items),
    notice: ({ title, text: words }) => setNotice(title, words),
    table: setTable,
    drawing: ({ scene, caption }) => setDrawing(scene, caption),
    photo: ({ jpeg, caption, alt }) => setPhoto(jpeg, caption, alt),
    page: () => {
      if (pdf.y > margin.top + 1) pdf.addPage();
    },
    contents: ({ title }) => setContents(title),
  };
  return {
    /** Prints the page of each heading into the contents, after everything was set. */
    numberContents,
    set<K extends Block['kind']>(block: Extract<Block, { kind: K }>, following: readonly Block[]): void {
      (setters[block.kind as K] as (block: Extract<Block, { kind: K }>, following: readonly Block[]) => void)(
        block,
        following,
      );
    },
  };
}

function draw(pdf: Pdf, shape: Shape): void {
  const trace = (run: readonly number[]): void => {
    pdf.moveTo(run[0]!, run[1]!);
    for (let i = 2; i < run.length; i += 2) pdf.lineTo(run[i]!, run[i + 1]!);
  };
  switch (shape.kind) {
    case 'line':
      pdf
        .lineWidth(shape.width ?? 1)
        .strokeColor(inks[shape.ink])
        .lineJoin('round');
      if (shape.dash) pdf.dash(shape.dash[0]!, { space: shape.dash[1] ?? shape.dash[0]! });
      else pdf.undash();
      for (const run of runs(shape.points)) trace(run);
      pdf.stroke().undash();
      return;
    case 'area':
      for (const run of runs(shape.points)) {
        trace(run);
        pdf.closePath();
      }
      if (shape.edge === undefined) pdf.fill(inks[shape.ink]);
      else pdf.lineWidth(0.5).fillAndStroke(inks[shape.ink], inks[shape.edge]);
      return;
    case 'dot':
      pdf.circle(shape.x, shape.y, shape.radius).fill(inks[shape.ink]);
      return;
    case 'text': {
      const size = shape.size ?? 8;
      pdf
        .font(shape.bold ? 'bold' : 'text')
        .fontSize(size)
        .fillColor(inks[shape.ink ?? 'ink']);
      const words = clean(shape.text);
      const width = pdf.widthOfString(words);
      const left = shape.anchor === 'end' ? shape.x - width : shape.anchor === 'middle' ? shape.x - width / 2 : shape.x;
      pdf.text(words, left, shape.y - size * 0.76, { lineBreak: false });
      return;
    }
  }
}

/** Page numbers, once it is known how many there are; they are no part of the text. */
function setFeet(pdf: Pdf, { foot }: Document): void {
  const { start, count } = pdf.bufferedPageRange();
  for (let k = 0; k < count; k++) {
    pdf.switchToPage(start + k);
    // below the margin, where pdfkit would begin a page of its own
    pdf.page.margins.bottom = 0;
    pdf.markContent('Artifact', { type: 'Pagination' });
    pdf.font('text').fontSize(sizes.foot).fillColor(inks.soft);
    const y = pdf.page.height - margin.bottom + 22;
    pdf.text(clean(foot), margin.left, y, { width: widthOf(pdf) - 70, height: sizes.foot * 1.3, ellipsis: true });
    pdf.text(`${k + 1} / ${count}`, margin.left, y, { width: widthOf(pdf), align: 'right', lineBreak: false });
    pdf.endMarkedContent();
    pdf.page.margins.bottom = margin.bottom;
  }
}
