#!/usr/bin/env node
import { Command } from 'commander';
import { ConfigError, describeSettings } from './config.ts';
import { version } from './main.ts';
import { StoreError } from './store/port.ts';

const settings = describeSettings()
  .map(({ env, description }) => `  ${env.padEnd(20)} ${description}`)
  .join('\n');

/** What each command brings with it is read in for that command alone: a server need not wait for what draws a report. */
const commands: Readonly<Record<string, () => Promise<Command>>> = {
  start: async () => (await import('./commands/start.ts')).startCommand(),
  demo: async () => (await import('./commands/demo.ts')).demoCommand(),
  import: async () => (await import('./commands/import.ts')).importCommand(),
  assess: async () => (await import('./commands/assess.ts')).assessCommand(),
  lining: async () => (await import('./commands/lining.ts')).liningCommand(),
  onboard: async () => (await import('./commands/onboard.ts')).onboardCommand(),
  passphrase: async () => (await import('./commands/passphrase.ts')).passphraseCommand(),
  replay: async () => (await import('./commands/replay.ts')).replayCommand(),
  doctor: async () => (await import('./commands/doctor.ts')).doctorCommand(),
  backup: async () => (await import('./commands/backup.ts')).backupCommand(),
  restore: async () => (await import('./commands/restore.ts')).restoreCommand(),
  migrate: async () => (await import('./commands/migrate.ts')).migrateCommand(),
  evidence: async () => (await import('./commands/evidence.ts')).evidenceCommand(),
  export: async () => (await import('./commands/export.ts')).exportCommand(),
  verify: async () => (await import('./commands/verify.ts')).verifyCommand(),
};
const hidden: typeof commands = {
  'demo-load': async () => (await import('./commands/demo.ts')).demoLoadCommand(),
};

const program = new Command('coomb')
  .description('Did lining a cold sloping ceiling cure the damp? Readings in, hour records, comparison, evidence.')
  .version(version)
  .addHelpText('after', `\nSettings (environment variables; COOMB_CONFIG may name a JSON file of them):\n${settings}`);

const [wanted = ''] = process.argv.slice(2);
if (Object.hasOwn(hidden, wanted)) program.addCommand(await hidden[wanted]!(), { hidden: true });
else if (Object.hasOwn(commands, wanted)) program.addCommand(await commands[wanted]!());
else for (const command of Object.values(commands)) program.addCommand(await command());

try {
  await program.parseAsync();
} catch (error) {
  if (!(error instanceof ConfigError || error instanceof StoreError || error instanceof RangeError)) throw error;
  process.stderr.write(`${error.message}\n`);
  // a start that failed half-way may hold connections, and would go on as a part of itself that nobody starts anew
  process.exit(1);
}
