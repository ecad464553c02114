import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type PaperSize, type ReportKind, reportKinds } from '../../server/analysis/report-vocabulary.ts';
import { buildPack, type ReportGiven } from '../../server/evidence/build.ts';
import { heading, list, paragraph, table } from '../../server/evidence/report/blocks.ts';
import { toHtml } from '../../server/evidence/report/html.ts';
import { reportMembers } from '../../server/evidence/report/members.ts';
import type { Store } from '../../server/store/port.ts';
import { openSqliteStore } from '../../server/store/sqlite.ts';
import { chromiumPath, openBrowser } from '../browser/demo-home.ts';
import { readMembers } from './bag.ts';
import { FROM, givenSealedHome, hostile, TO } from './home.ts';

const folder = mkdtempSync(join(tmpdir(), 'coomb-report-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const poppler = (() => {
  try {
    execFileSync('pdfinfo', ['-v'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
})();
if (!poppler) console.warn('LEFT OUT: looking into the PDF, for there is no pdfinfo (apt-get install poppler-utils)');

let store: Store;
let members: Map<string, Buffer>;
let given: ReportGiven;

const bytesOf = async (kind: ReportKind, paper: PaperSize): Promise<{ pdf: Buffer; html: string }> => {
  const [pdf, html] = await reportMembers({ kind, paper }, given);
  const whole = async (member: NonNullable<typeof pdf>): Promise<Buffer> => {
    const parts: Buffer[] = [];
    for await (const part of member.contents()) parts.push(Buffer.from(part));
    return Buffer.concat(parts);
  };
  return { pdf: await whole(pdf!), html: (await whole(html!)).toString() };
};

beforeAll(async () => {
  store = await openSqliteStore(join(folder, 'coomb.db'));
  const home = await givenSealedHome(store);
  const { keepHours } = await import('../../server/store/hour-keeper.ts');
  await keepHours(store);
  const kept: { given?: ReportGiven; rebuilt?: Store } = {};
  const file = join(folder, 'pack.zip');
  await buildPack(
    {
      store,
      openStore: openSqliteStore,
      dataFolder: folder,
      version: '0.0.0',
      now: TO + 3_600_000,
      report: async (one) => {
        kept.given = one;
        return reportMembers({ kind: 'works', paper: 'A4' }, one);
      },
    },
    { dwellingId: home.id, from: FROM, to: TO, placeIds: null, words: 'with-words' },
    file,
  );
  members = await readMembers(file);
  // the store that a pack is made of is closed with it: the home's own has the same hours
  given = { ...kept.given!, store };
}, 120_000);
afterAll(() => store.close());

const text = (pdf: Buffer, ...options: string[]): string => {
  const file = join(folder, 'one.pdf');
  writeFileSync(file, pdf);
  return execFileSync('pdftotext', [...options, file, '-'], { encoding: 'utf8' });
};
const info = (tool: string, pdf: Buffer, ...options: string[]): string => {
  const file = join(folder, 'one.pdf');
  writeFileSync(file, pdf);
  return execFileSync(tool, [...options, file], { encoding: 'utf8' });
};
const plain = (words: string): string => words.replace(/\s+/g, ' ');

describe('a report in its pack', () => {
  it('is there as a PDF and as one page that needs nothing from elsewhere', () => {
    expect(members.get('data/report/report.pdf')!.subarray(0, 5).toString()).toBe('%PDF-');
    const html = members.get('data/report/report.html')!.toString();
    // nothing to fetch: no script, no address in an attribute that loads
    expect(html).not.toMatch(/<script|<link|<iframe|<object|@import|url\(/i);
    expect(
      [...html.matchAll(/(?:src|href)="([^"]*)"/g)]
        .map(([, to]) => to!)
        .filter((to) => !/^(#|data:image\/jpeg)/.test(to)),
    ).toEqual([]);
  });

  it('prints the figures of figures.csv and no others beside them', async () => {
    const { html } = await bytesOf('works', 'A4');
    const { assessment } = given.results.surfaces[0]!;
    const { value, low, high } = assessment.before!.f!;
    const printed = `${value.toFixed(2)} (${low.toFixed(2)} to ${high.toFixed(2)})`;
    expect(html).toContain(printed);
    for (const figure of given.figures) {
      if (figure.value !== null)
        expect(html).toContain(
          figure.label.replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`).replace(/[\r\n]/g, (sign) => sign),
        );
    }
    expect(plain(html)).toContain(
      assessment.verdict.kind === 'not-enough-evidence' ? 'Not enough evidence' : value.toFixed(2),
    );
  });
});

describe.skipIf(!poppler)('the PDF', () => {
  it.each(reportKinds.flatMap((kind) => (['A4', 'Letter'] as const).map((paper) => ({ kind, paper }))))(
    'of $kind on $paper is tagged, titled, in its language, with every font embedded and page one on one page',
    async ({ kind, paper }) => {
      const { pdf } = await bytesOf(kind, paper);
      const about = info('pdfinfo', pdf);
      expect(about).toMatch(/Tagged: +yes/);
      expect(about).toMatch(/Title: +\S/);
      expect(about).toMatch(/JavaScript: +no/);
      expect(about).toMatch(paper === 'A4' ? /595\.28 x 841\.89/ : /612 x 792/);
      const fonts = info('pdffonts', pdf)
        .split('\n')
        .slice(2)
        .filter((line) => line !== '');
      expect(fonts.length).toBeGreaterThanOrEqual(3);
      // columns from the right: object, generation, unicode map, subset, embedded
      for (const font of fonts) expect(font, font).toMatch(/yes\s+yes\s+yes\s+\d+\s+\d+\s*$/);
      const first = plain(text(pdf, '-f', '1', '-l', '1'));
      for (const part of [
        'What was asked',
        'What was found',
        'How sure that is',
        'What was not shown',
        'Please note',
      ]) {
        expect(first).toContain(part);
      }
      expect(plain(text(pdf, '-f', '2', '-l', '2'))).toContain('Contents');
      // ISO 14289-1: the structure names headings, tables and figures with words in the place of pictures
      const structure = info('pdfinfo', pdf, '-struct');
      for (const tag of ['H1', 'H2', 'Table', 'TH', 'TD', 'Figure', 'TOC']) expect(structure).toContain(`${tag}`);
    },
    60_000,
  );

  it('numbers its pages, and its contents lead to the page they name', async () => {
    const { pdf } = await bytesOf('works', 'A4');
    const pages = Number(/Pages: +(\d+)/.exec(info('pdfinfo', pdf))![1]);
    for (const page of [1, pages]) {
      expect(text(pdf, '-f', String(page), '-l', String(page))).toContain(`${page} / ${pages}`);
    }
    const contents = text(pdf, '-f', '2', '-l', '2', '-layout');
    const [, title, on] = /^\s*(How complete the readings are)\s+(\d+)\s*$/m.exec(contents)!;
    expect(plain(text(pdf, '-f', on!, '-l', on!))).toContain(title);
    const links = info('pdfinfo', pdf, '-dests');
    expect(links).toContain('"how-complete-the-readings-are"');
    expect(links).toMatch(new RegExp(`^ +${on} .*"how-complete-the-readings-are"`, 'm'));
  });

  it('is the same to the byte when it is made again', async () => {
    const [one, other] = [await bytesOf('works', 'A4'), await bytesOf('works', 'A4')];
    expect(one.pdf.equals(other.pdf)).toBe(true);
    expect(one.html).toBe(other.html);
  });
});

describe.skipIf(chromiumPath === null)('the page', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterAll(() => browser.close());

  it('keeps hostile names as text, runs nothing, fetches nothing, fits 360 px, and is clean by axe', async () => {
    const { html } = await bytesOf('works', 'A4');
    const file = join(folder, 'report.html');
    writeFileSync(file, html);
    const page = await (await browser.newContext({ viewport: { width: 360, height: 740 } })).newPage();
    const asked: string[] = [];
    page.on('request', (request) => asked.push(request.url()));
    await page.goto(`file://${file}`);
    expect(asked.filter((url) => !url.startsWith('file:') && !url.startsWith('data:'))).toEqual([]);
    expect(await page.getByText(hostile.home).first().count()).toBe(1);
    expect(await page.title()).toContain(hostile.home);
    expect(await page.evaluate<number>('document.documentElement.scrollWidth - innerWidth')).toBeLessThanOrEqual(0);
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(violations.map(({ id, nodes }) => [id, nodes.map(({ html: at }) => at)])).toEqual([]);
    await page.context().close();
  });

  it('shows markup in words of people as the letters it is made of', async () => {
    const attack = '</title><img src=x onerror="document.title=1"><script>document.title=2</script>\u202e';
    const words = toHtml({
      title: attack,
      language: '"><script>',
      foot: attack,
      blocks: [
        heading(1, attack),
        paragraph(attack),
        list([attack], ''),
        table(attack, [{ title: attack, share: 1 }], [[attack]]),
      ],
    });
    const file = join(folder, 'attack.html');
    writeFileSync(file, words);
    const page = await browser.newPage();
    await page.goto(`file://${file}`);
    expect(await page.title()).toContain('<img src=x');
    expect(await page.locator('img, script').count()).toBe(0);
    expect(words).not.toContain('\u202e');
    await page.close();
  });
});
