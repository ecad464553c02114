import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { materials, sheets } from '../../server/physics/material.ts';
import { publishedFactors } from '../../server/physics/published-factors.ts';
import { byEnglish } from '../../web/src/words/by-english.ts';
import { deFindingRules } from '../../web/src/words/de-finding-rules.ts';
import { deRefusals } from '../../web/src/words/de-refusals.ts';
import { deSentences } from '../../web/src/words/de-sentences.ts';
import { deTerms } from '../../web/src/words/de-terms.ts';
import { deWorkings } from '../../web/src/words/de-workings.ts';

const written = (value: number, places: number): string => value.toFixed(places).replace('.', ',');
const say = byEnglish([...deTerms, ...deWorkings, ...deFindingRules, ...deSentences], written);
const refuse = byEnglish(deRefusals, written);

const wordsIn = (text: string): number => text.match(/(?<![\p{L}\d])\p{L}[\p{L}’'-]+(?![\p{L}\d])/gu)?.length ?? 0;

/** What stands for the figure or name that is put into a sentence. */
const putIn = (i: number): string => `Zz${i}`;

/** Errors of a programmer, what goes to the log, and what stands at a JSON Pointer: nobody reads them on the page. */
const notForReaders = (node: ts.Node): boolean =>
  (ts.isNewExpression(node) && /^(RangeError|TypeError|Error)$/.test(node.expression.getText())) ||
  (ts.isCallExpression(node) && /^require[A-Z]|^log\.|\bprepare$/.test(node.expression.getText())) ||
  (ts.isPropertyAssignment(node) && /^(pointer|detail)$/.test(node.name.getText())) ||
  ts.isImportDeclaration(node) ||
  ts.isExportDeclaration(node) ||
  ts.isLiteralTypeNode(node);

/** Sentences that a file puts together, with what is put in as `Zz0`, `Zz1`. `wanted`: which parts of it are looked at. */
function sentencesOf(path: string, wanted: (node: ts.Node) => boolean = () => true): string[] {
  const file = fileURLToPath(new URL(`../../server/${path}`, import.meta.url));
  const source = ts.createSourceFile(file, readFileSync(file, 'utf8'), ts.ScriptTarget.ESNext, true);
  const found: string[] = [];
  const visit = (node: ts.Node, looking: boolean): void => {
    if (notForReaders(node)) return;
    const look = looking || wanted(node);
    if (look && ts.isStringLiteralLike(node)) found.push(node.text);
    if (look && ts.isTemplateExpression(node)) {
      found.push(node.head.text + node.templateSpans.map(({ literal }, i) => putIn(i) + literal.text).join(''));
      // what is put in may be a sentence of its own
      for (const { expression } of node.templateSpans) visit(expression, looking);
      return;
    }
    ts.forEachChild(node, (child) => visit(child, look));
  };
  visit(source, false);
  return found.filter((text) => !text.startsWith('{"') && wordsIn(text.replace(/Zz\d/g, '')) > 3);
}

const isRefusal = (node: ts.Node): boolean =>
  ts.isNewExpression(node) && /^(RequestProblem|PictureRefused)$/.test(node.expression.getText());

/** Words that German does not have and English cannot do without. */
const english = /\b(the|of|is|are|with|by|which|not|has|have|from|its|this|that)\b/i;

describe('German of the server’s sentences, by their English', () => {
  const spoken = [
    ...['side-by-side', 'salt-check', 'ice-point', 'calibrating', 'sensor-errors', 'matched-nights'].map(
      (name) => `analysis/${name}.ts`,
    ),
    ...['payload', 'timestamp', 'senml', 'mapping', 'topic', 'forecast-receiver', 'outdoor-forecast', 'understand'].map(
      (name) => `ingest/${name}.ts`,
    ),
    ...['csv-guess', 'csv', 'logger-text', 'local-time'].map((name) => `ingest/${name}.ts`),
    'physics/condensation-year.ts',
    'physics/hidden-layer.ts',
  ];
  // faults of a mapping stand beside its fields, which say the same
  const beside = /must (be|not|have)|^needs values|has a brace|is not in the topic pattern|stands there twice/;

  it.each(spoken)('%s: has one for each', (path) => {
    const asked = sentencesOf(path).filter((text) => !beside.test(text) || say(text) !== null);
    expect(asked.filter((text) => say(text) === null)).toEqual([]);
  });

  it('has one for each refusal that a person at the page can meet', () => {
    const files = ['packs', 'example', 'backups', 'comparison', 'imports', 'photos', 'recipients', 'shares', 'exports'];
    const asked = [
      ...files.map((name) => `api/${name}.ts`),
      ...['handlers', 'door', 'limits'].map((name) => `api/access/${name}.ts`),
      'pictures/clean.ts',
    ].flatMap((path) => sentencesOf(path, isRefusal));
    expect(asked.length).toBeGreaterThan(30);
    // what is asked for by a number that the page does not make up is said by its kind
    const byKind = /^There is no \w+ Zz|may not send as|^Sign in/;
    expect(asked.filter((text) => !byKind.test(text) && refuse(text) === null)).toEqual([]);
  });

  it('leaves out nothing that is put in, and no English', () => {
    for (const [text, other] of [...deSentences, ...deRefusals, ...deTerms, ...deWorkings, ...deFindingRules]) {
      const holes = (of: string) => [...new Set(of.match(/\{\d\}/g))].sort();
      const dropped = holes(text).filter((hole) => !holes(other).includes(hole));
      expect(
        holes(other).filter((hole) => !holes(text).includes(hole)),
        text,
      ).toEqual([]);
      // a quantity that the German sentence has no need of may go, a figure or a name may not
      if (!/has sent|reads \{1\} \{2\}|must lie between/.test(text)) expect(dropped, text).toEqual([]);
      expect(other.replace(/--date-order dmy or mdy|add --unit F/, ''), text).not.toMatch(english);
    }
  });

  it('knows every material, film and published target', () => {
    const asked = [
      ...[...Object.values(materials), ...Object.values(sheets)].flatMap(({ name, source }) => [name, source]),
      ...publishedFactors.flatMap(({ where, source }) => [where, `${source}, ${where}`]),
    ];
    expect([...new Set(asked)].filter((text) => say(text) === null)).toEqual([]);
  });

  it('knows the name of every figure that a finding is judged by', () => {
    const keys = new Set<string>();
    for (const path of ['analysis/assess.ts', 'analysis/sufficiency.ts']) {
      const file = fileURLToPath(new URL(`../../server/${path}`, import.meta.url));
      const visit = (node: ts.Node): void => {
        if (
          ts.isPropertyAssignment(node) &&
          node.name.getText() === 'data' &&
          ts.isObjectLiteralExpression(node.initializer)
        )
          for (const { name } of node.initializer.properties) if (name) keys.add(name.getText());
        ts.forEachChild(node, visit);
      };
      visit(ts.createSourceFile(file, readFileSync(file, 'utf8'), ts.ScriptTarget.ESNext, true));
    }
    expect(keys.size).toBeGreaterThan(20);
    const spelt = [...keys].map((key) =>
      (/(Hours|Days)$/.test(key) ? key : key.replace(/(Pct|Pa|K|C)$/, ''))
        .replace(/([a-z])([A-Z])/g, '$1 $2')
        .toLowerCase(),
    );
    expect(spelt.filter((name) => say(name) === null)).toEqual([]);
  });

  it('puts figures and names in again, as the reader writes them, several sentences in one', () => {
    expect(say('Box reads 3.4 K off the others: no sensor that works is so far off.')).toBe(
      'Box weicht um 3,4 K von den anderen ab: So falsch geht kein Sensor, der in Ordnung ist.',
    );
    expect(say('data sheet of BME280, not calibrated (the least sure of 2)')).toBe(
      'Datenblatt von BME280, nicht kalibriert (das unsicherste von 2)',
    );
    expect(say('the message is empty; element 2: the message is empty')).toBe(
      'die Nachricht ist leer; Element 2: die Nachricht ist leer',
    );
    expect(say('a sentence that nobody has written')).toBeNull();
  });
});
