import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The version in the nearest package.json, for the record of who changed a schema. */
export function programVersion(): string {
  for (let folder = dirname(fileURLToPath(import.meta.url)); ; folder = dirname(folder)) {
    const file = join(folder, 'package.json');
    if (existsSync(file)) return String((JSON.parse(readFileSync(file, 'utf8')) as { version?: unknown }).version);
    if (folder === dirname(folder)) return 'unknown';
  }
}
