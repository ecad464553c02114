import { Command } from 'commander';
import { type FigureDifference, verifyPack } from '../evidence/verify.ts';
import { openPassingStore } from '../store/sqlite.ts';

interface Options {
  readonly key?: string;
  readonly entry: readonly string[];
}

const help = `
Exit status: 0 the pack is whole and its figures follow from its readings; 1 something is wrong, and named.`;

/** `coomb verify FILE.zip`: whether an evidence pack is what was signed, and its figures follow from its readings. */
export function verifyCommand(): Command {
  return new Command('verify')
    .description('check an evidence pack, and work every figure out again from the readings in it')
    .argument('<file>', 'the pack, a zip')
    .option('--key <fingerprint>', 'fingerprint of the key that should have signed, known from somewhere else')
    .option(
      '--entry <day=digest>',
      'entry of the chain that was received at the time, e.g. 2026-01-14=ab12…; may be given more than once',
      (value: string, earlier: readonly string[]) => [...earlier, value],
      [],
    )
    .addHelpText('after', help)
    .action(run);
}

async function run(file: string, { key, entry }: Options): Promise<void> {
  const entries = new Map(entry.map(dayAndDigest));
  const result = await verifyPack(file, openPassingStore, { fingerprint: key ?? null, entries });
  const out = (line: string): void => {
    process.stdout.write(`${line}\n`);
  };
  for (const { part, member, message } of result.faults) {
    if (part !== 'figures' || member === null) out(`WRONG  ${part}: ${member === null ? '' : `${member}: `}${message}`);
  }
  if (result.differences.length > 0) out(differenceTable(result.differences));
  out(`${result.readings} readings, ${result.hours} hours and ${result.figures} figures worked out again`);
  out(`${result.days} sealed days; ${result.seriesDays} days of a series summed up again from readings`);
  if (result.fingerprint !== null) {
    out(`Signed ${result.signedAt ?? ''} by the key with fingerprint\n  ${result.fingerprint}`);
    if (key === undefined)
      out('Whose key that is, only its owner can tell you: compare the fingerprint, or give it as --key.');
  }
  out(result.faults.length === 0 ? 'Nothing is wrong.' : `${result.faults.length} things are wrong.`);
  process.exitCode = result.faults.length === 0 ? 0 : 1;
}

function differenceTable(differences: readonly FigureDifference[]): string {
  const rows = [{ id: 'figure', stated: 'stated', workedOut: 'from the readings' }, ...differences];
  const width = (of: (row: FigureDifference) => string): number => Math.max(...rows.map((row) => of(row).length));
  const [first, second] = [
    width(({ id }) => id),
    Math.min(
      60,
      width(({ stated }) => stated),
    ),
  ];
  return rows
    .map(({ id, stated, workedOut }) => `${id.padEnd(first)}  ${stated.padEnd(second)}  ${workedOut}`)
    .join('\n');
}

function dayAndDigest(text: string): readonly [string, string] {
  const [, day, digest] = /^(\d{4}-\d\d-\d\d)=([0-9a-fA-F]{64})$/.exec(text) ?? [];
  if (day === undefined || digest === undefined) {
    throw new RangeError(`--entry is "${text}"; it must be a day and 64 hexadecimal digits: 2026-01-14=ab12…`);
  }
  return [day, digest];
}
