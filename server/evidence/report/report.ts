import type { Document } from './blocks.ts';
import { working } from './chapters.ts';
import { type ReportFacts, sayIn } from './facts.ts';
import { front } from './front.ts';
import { titles } from './texts.ts';

/** A whole report: page one for a lay reader, then contents and the working for a surveyor. */
export function reportOf(facts: ReportFacts): Document {
  const say = sayIn(facts);
  const title = `${titles[facts.kind]}: ${facts.dwelling.name}`;
  return {
    title,
    language: 'en',
    foot: `${title}. Key ${facts.fingerprint.slice(0, 16)}`,
    blocks: [...front(facts, say), { kind: 'page' }, { kind: 'contents', title: 'Contents' }, ...working(facts, say)],
  };
}
