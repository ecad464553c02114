/**
 * Holds the code to the table of who may import whom in .dependency-cruiser.cjs, and fails when the tool saw fewer
 * modules than there are files: a checker that sees nothing also complains of nothing.
 */
import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folders = ['server', 'web', 'test'].filter((folder) => existsSync(`${root}/${folder}`));
const onDisk = folders.flatMap((folder) =>
  readdirSync(`${root}/${folder}`, { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.tsx?$/.test(file) && !file.endsWith('.d.ts') && !file.includes('node_modules'))
    .map((file) => `${folder}/${file}`),
);

const run = (type: string): string =>
  execFileSync('npx', ['depcruise', ...folders, '--config', '.dependency-cruiser.cjs', '--output-type', type], {
    cwd: root,
    encoding: 'utf8',
    maxBuffer: 256 << 20,
  });

let report: {
  modules: { source: string }[];
  summary: { violations: { rule: { name: string }; from: string; to: string }[] };
};
try {
  report = JSON.parse(run('json'));
} catch (error) {
  report = JSON.parse((error as { stdout: string }).stdout);
}
const seen = new Set(report.modules.map((module) => module.source));
const unseen = onDisk.filter((file) => !seen.has(file));
for (const { rule, from, to } of report.summary.violations) console.error(`${rule.name}: ${from} -> ${to}`);
for (const file of unseen) console.error(`not seen by the dependency rule: ${file}`);
if (unseen.length > 0 || report.summary.violations.length > 0) process.exit(1);
console.log(`arrows: ${onDisk.length} files, all within the table`);
