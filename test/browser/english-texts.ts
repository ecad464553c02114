import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** Words of letters alone: an abbreviation, a number or a symbol is none. */
const wordsIn = (text: string): number => text.match(/(?<![\p{L}\d])\p{L}[\p{L}’'-]+(?![\p{L}\d])/gu)?.length ?? 0;

const tidy = (text: string): string => text.replace(/[\s\u00a0]+/g, ' ').trim();

function filesUnder(folder: string, wanted: (name: string) => boolean): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter(wanted)
    .map((name) => join(root, folder, name));
}

/** Literals of a file, a template in its pieces between the figures; neither comments nor names of modules. */
function literalsOf(file: string): string[] {
  const found: string[] = [];
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) return;
    if (ts.isStringLiteralLike(node) || ts.isTemplateHead(node) || ts.isTemplateMiddle(node) || ts.isTemplateTail(node))
      found.push(node.text);
    ts.forEachChild(node, visit);
  };
  visit(ts.createSourceFile(file, readFileSync(file, 'utf8'), ts.ScriptTarget.ESNext));
  return found;
}

/**
 * Every text of more than three words that the English catalogue and the program can put together, from their sources:
 * none of them has any business on a page in another language.
 */
export function englishTexts(): readonly string[] {
  const files = [
    ...filesUnder('web/src/words', (name) => /^en(-.*)?\.ts$/.test(name)),
    ...['analysis', 'api', 'watch', 'ingest', 'store', 'evidence', 'physics', 'pictures'].flatMap((folder) =>
      filesUnder(`server/${folder}`, (name) => name.endsWith('.ts')),
    ),
  ];
  return [...new Set(files.flatMap(literalsOf).map(tidy))].filter((text) => wordsIn(text) > 3);
}
