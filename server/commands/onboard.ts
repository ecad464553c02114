import { closeSync, fsyncSync, openSync, readFileSync, writeFileSync, writeSync } from 'node:fs';
import { Command } from 'commander';
import { newToken } from '../api/access/token.ts';
import { labelsOf } from '../api/onboarding.ts';
import { readConfig } from '../config.ts';
import { csvLine, textCell } from '../evidence/cells.ts';
import { labelsPdf } from '../evidence/labels.ts';
import { passwordHash } from '../ingest/account.ts';
import { addHomes, type DevicePassword, lookThrough, type Onboarding } from '../ingest/onboarding.ts';
import { onboardingColumns } from '../ingest/onboarding-file.ts';
import { openStore } from '../main.ts';

interface Options {
  readonly file: string;
  readonly dryRun?: true;
  readonly passwords?: string;
  readonly labels?: string;
  readonly address?: string;
  readonly data?: string;
}

/** Homes, places, sensors and what devices sign in with, from one file. */
export function onboardCommand(): Command {
  const columns = Object.entries(onboardingColumns)
    .map(([name, meaning]) => `  ${name.padEnd(12)} ${meaning}`)
    .join('\n');
  return new Command('onboard')
    .description('add many homes from one CSV file, a row for each sensor; doing it again adds nothing twice')
    .requiredOption('--file <file>', 'the CSV file')
    .option('--dry-run', 'look it through and change nothing')
    .option('--passwords <file>', 'new CSV file for the passwords of the sensors; needed where accounts are made')
    .option('--labels <file>', 'PDF of labels to print, for all sensors of the homes in the file')
    .option('--address <address>', 'where phones open the page, for the labels; else COOMB_PUBLIC_ADDRESS')
    .option('--data <folder>', 'folder of the database')
    .addHelpText(
      'after',
      `\nColumns:\n${columns}\n\nHomes with something wrong are left out whole. Restart a running coomb afterwards.`,
    )
    .action(async (options: Options) => {
      const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
      const text = readText(options.file);
      const store = await openStore(config);
      try {
        const found = await lookThrough(store, text);
        for (const fault of found.faults) process.stderr.write(`${faultLine(fault)}\n`);
        process.stdout.write(`${options.dryRun ? 'Would add' : 'To add'}: ${countsSaid(found.lacking)}.\n`);
        if (found.faults.length > 0) process.exitCode = 1;
        if (options.dryRun) return;
        if (found.lacking.accounts > 0 && options.passwords === undefined) {
          throw new RangeError(
            'Accounts are to be made: name a new file for their passwords with --passwords. Nothing was changed.',
          );
        }
        const kept = options.passwords === undefined ? null : passwordFile(options.passwords);
        const { added, passwords } = await addHomes(
          { store, clock: Date.now, makePassword, ...(kept === null ? {} : { keepPasswords: kept.keep }) },
          found.homes,
        );
        kept?.finish(passwords);
        const detail = { name: options.file, ...added };
        await store.recordTrail({ at: Date.now(), personName: null, dwellingId: null, action: 'onboardHomes', detail });
        process.stdout.write(`Added: ${countsSaid(added)}.\n`);
        if (options.labels !== undefined) {
          const base = options.address ?? config.publicAddress;
          if (base === undefined) throw new RangeError('Labels need the address of the page: --address https://…');
          writeFileSync(options.labels, await labelsPdf(await labelsOf(store, found.named, base), 'coomb'));
          process.stdout.write(`Labels: ${options.labels}\n`);
        }
      } finally {
        await store.close();
      }
    });
}

/** A random password is as long as a token, and kept by its digest. */
function makePassword(): { password: string; hash: string } {
  const password = newToken().slice(0, 24);
  return { password, hash: passwordHash(password) };
}

function readText(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (cause) {
    throw new RangeError(`${file} cannot be read: ${(cause as Error).message}`);
  }
}

const faultLine = ({ row, column, message, whatToDo }: Onboarding['faults'][number]): string =>
  `${row === null ? 'file' : `row ${row}`}${column === null ? '' : `, ${column}`}: ${message}. ${whatToDo}`;

const countsSaid = ({ dwellings, places, sensors, mappings, accounts }: Onboarding['lacking']): string =>
  `homes ${dwellings}, places ${places}, sensors ${sensors}, mappings ${mappings}, accounts ${accounts}`;

const header = ['dwelling', 'sensor', 'username', 'password'];
const lineOf = ({ dwelling, sensor, username, password }: DevicePassword): string =>
  csvLine([dwelling, sensor, username, password].map(textCell));

/** Passwords are on disk before their accounts are made; at the end the file holds those that count. */
function passwordFile(path: string) {
  let file: number;
  try {
    file = openSync(path, 'wx', 0o600);
  } catch (cause) {
    throw new RangeError(`${path} cannot be made as a new file: ${(cause as Error).message}. Nothing was changed.`);
  }
  writeSync(file, csvLine(header));
  return {
    keep(passwords: readonly DevicePassword[]) {
      for (const one of passwords) writeSync(file, lineOf(one));
      fsyncSync(file);
    },
    finish(passwords: readonly DevicePassword[]) {
      closeSync(file);
      writeFileSync(path, csvLine(header) + passwords.map(lineOf).join(''), { mode: 0o600 });
    },
  };
}
