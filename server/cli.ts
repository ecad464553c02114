#!/usr/bin/env node
import { Command } from 'commander';
import { assessCommand } from './commands/assess.ts';
import { backupCommand } from './commands/backup.ts';
import { demoCommand, demoLoadCommand } from './commands/demo.ts';
import { doctorCommand } from './commands/doctor.ts';
import { evidenceCommand } from './commands/evidence.ts';
import { exportCommand } from './commands/export.ts';
import { importCommand } from './commands/import.ts';
import { liningCommand } from './commands/lining.ts';
import { migrateCommand } from './commands/migrate.ts';
import { onboardCommand } from './commands/onboard.ts';
import { passphraseCommand } from './commands/passphrase.ts';
import { replayCommand } from './commands/replay.ts';
import { restoreCommand } from './commands/restore.ts';
import { startCommand } from './commands/start.ts';
import { verifyCommand } from './commands/verify.ts';
import { ConfigError, describeSettings } from './config.ts';
import { version } from './main.ts';
import { StoreError } from './store/port.ts';

const settings = describeSettings()
  .map(({ env, description }) => `  ${env.padEnd(20)} ${description}`)
  .join('\n');

const program = new Command('coomb')
  .description('Did lining a cold sloping ceiling cure the damp? Readings in, hour records, comparison, evidence.')
  .version(version)
  .addHelpText('after', `\nSettings (environment variables; COOMB_CONFIG may name a JSON file of them):\n${settings}`)
  .addCommand(startCommand())
  .addCommand(demoCommand())
  .addCommand(demoLoadCommand(), { hidden: true })
  .addCommand(importCommand())
  .addCommand(assessCommand())
  .addCommand(liningCommand())
  .addCommand(onboardCommand())
  .addCommand(passphraseCommand())
  .addCommand(replayCommand())
  .addCommand(doctorCommand())
  .addCommand(backupCommand())
  .addCommand(restoreCommand())
  .addCommand(migrateCommand())
  .addCommand(evidenceCommand())
  .addCommand(exportCommand())
  .addCommand(verifyCommand());

try {
  await program.parseAsync();
} catch (error) {
  if (!(error instanceof ConfigError || error instanceof StoreError || error instanceof RangeError)) throw error;
  process.stderr.write(`${error.message}\n`);
  process.exitCode = 1;
}
