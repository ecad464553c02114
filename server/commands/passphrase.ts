import { createInterface } from 'node:readline/promises';
import { Command } from 'commander';
import { hashPassphrase } from '../api/access/passphrase.ts';
import { passphraseLength } from '../api/contract/access.ts';
import { readConfig } from '../config.ts';
import { openStore } from '../main.ts';

/** Whoever can run this on the machine may set a passphrase: the way back in for an owner who has lost theirs. */
export function passphraseCommand(): Command {
  return new Command('passphrase')
    .description('set the passphrase of the owner, or of somebody else; also the way back in when it is lost')
    .option('--name <name>', 'whose; somebody new becomes an owner', 'owner')
    .option('--data <folder>', 'folder of the database')
    .addHelpText(
      'after',
      '\nThe passphrase is asked for, or read from standard input. Restart a running coomb afterwards.',
    )
    .action(async ({ name, data }: { name: string; data?: string }) => {
      const passphrase = await readPassphrase();
      const { least, most } = passphraseLength;
      if (passphrase.length < least || passphrase.length > most) {
        throw new RangeError(`The passphrase has ${passphrase.length} characters; it must have ${least} to ${most}.`);
      }
      const store = await openStore(readConfig(process.env, data === undefined ? {} : { dataFolder: data }));
      try {
        const passphraseHash = await hashPassphrase(passphrase);
        const person = (await store.people()).find((one) => one.name.toLowerCase() === name.toLowerCase());
        if (person) await store.changePassphrase(person.id, passphraseHash, null);
        else await store.addPerson({ name, role: 'owner', passphraseHash, createdAt: Date.now() });
        await store.recordTrail({
          at: Date.now(),
          personName: null,
          dwellingId: null,
          action: 'passphrase-set-at-the-machine',
          detail: { name },
        });
        process.stdout.write(`${person ? 'Changed' : 'Set'}: sign in as ${person?.name ?? name}.\n`);
      } finally {
        await store.close();
      }
    });
}

async function readPassphrase(): Promise<string> {
  if (process.stdin.isTTY) process.stderr.write('New passphrase (several words are good; it is shown as you type): ');
  const lines = createInterface({ input: process.stdin, terminal: false });
  for await (const line of lines) {
    lines.close();
    return line;
  }
  return '';
}
