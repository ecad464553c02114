import type { PaperSize, ReportKind } from '../../analysis/report-vocabulary.ts';
import type { PackMember } from '../bag.ts';
import type { ReportGiven } from '../build.ts';
import { coveringText } from '../covering.ts';
import { type ReportPhoto, readFacts } from './facts.ts';
import { toHtml } from './html.ts';
import { toPdf } from './pdf.ts';
import { reportOf } from './report.ts';

/** What somebody wants of a report. */
export interface ReportChoice {
  readonly kind: ReportKind;
  readonly paper: PaperSize;
}

/** The report as members of a pack: a PDF, and the same as one HTML file. */
export async function reportMembers({ kind, paper }: ReportChoice, given: ReportGiven): Promise<PackMember[]> {
  const { scope, results, figures, store, fingerprint, version, covering } = given;
  const facts = await readFacts(store, {
    kind,
    from: scope.from,
    to: scope.to,
    results,
    figures,
    photos: await photosOf(given),
    fingerprint,
    version,
    covering: coveringText(covering),
  });
  const document = reportOf(facts);
  // the last hour it speaks of, not the time it was made, so that the same contents give the same bytes
  const pdf = await toPdf(document, paper, scope.to);
  return [
    { path: 'report/report.pdf', contents: () => [pdf], compressed: true },
    { path: 'report/report.html', contents: () => [toHtml(document)] },
  ];
}

async function photosOf({ source, scope, results, store }: ReportGiven): Promise<ReportPhoto[]> {
  if (scope.words === 'without-words') return [];
  const { id } = results.dwelling;
  const entries = new Map((await store.diary(id)).map((entry) => [entry.id, entry]));
  const out: ReportPhoto[] = [];
  for (const photo of await source.photos(id)) {
    const entry = photo.entryId === null ? undefined : entries.get(photo.entryId);
    if (entry === undefined) continue;
    out.push({ takenAt: entry.time, alt: photo.alt, jpeg: await source.photoImage(id, photo.id, 'full') });
  }
  return out.sort((a, b) => a.takenAt - b.takenAt);
}
