import type { Scene } from './scene.ts';

/**
 * A report as what it says, apart from how it looks: the same blocks become a page for the browser and a PDF. Text is plain
 * text; whoever sets it escapes it.
 */
export type Block =
  | Heading
  | { readonly kind: 'paragraph'; readonly text: string; readonly tone?: 'lead' | 'small' }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'notice'; readonly title: string; readonly text: string }
  | Table
  | { readonly kind: 'drawing'; readonly scene: Scene; readonly caption: string }
  | { readonly kind: 'photo'; readonly jpeg: Uint8Array; readonly caption: string; readonly alt: string }
  /** what follows begins a page of its own, where there are pages */
  | { readonly kind: 'page' }
  /** the major headings of level 2, with their pages where there are pages */
  | { readonly kind: 'contents'; readonly title: string };

export interface Heading {
  readonly kind: 'heading';
  readonly level: 1 | 2 | 3;
  readonly text: string;
  readonly id: string;
  /** minor: set smaller, and left out of the contents */
  readonly weight: 'major' | 'minor';
}

export interface Table {
  readonly kind: 'table';
  readonly caption: string;
  readonly columns: readonly Column[];
  readonly rows: readonly (readonly string[])[];
}

export interface Column {
  readonly title: string;
  /** share of the width */
  readonly share: number;
  readonly align?: 'right';
}

export interface Document {
  readonly title: string;
  /** BCP 47 */
  readonly language: string;
  /** at the foot of every page */
  readonly foot: string;
  readonly blocks: readonly Block[];
}

export const heading = (level: Heading['level'], text: string, weight: Heading['weight'] = 'major'): Heading => ({
  weight,
  kind: 'heading',
  level,
  text,
  id: text
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, ''),
});
export const paragraph = (text: string, tone?: 'lead' | 'small'): Block =>
  tone === undefined ? { kind: 'paragraph', text } : { kind: 'paragraph', text, tone };
/** A list, or what to say where there is nothing to list. */
export const list = (items: readonly string[], none: string): Block =>
  items.length === 0 ? paragraph(none) : { kind: 'list', items };
export const table = (caption: string, columns: readonly Column[], rows: Table['rows']): Table => ({
  kind: 'table',
  caption,
  columns,
  rows,
});

/** What the contents list. */
export const listed = (blocks: readonly Block[]): Heading[] =>
  blocks.flatMap((block) => (block.kind === 'heading' && block.level === 2 && block.weight === 'major' ? [block] : []));
