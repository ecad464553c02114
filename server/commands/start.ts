import { Command } from 'commander';
import { readConfig } from '../config.ts';
import { createLog } from '../log.ts';
import { type Coomb, startCoomb } from '../main.ts';

export function startCommand(): Command {
  return new Command('start').description('take readings in, keep hour records and serve the page').action(async () => {
    const config = readConfig();
    const coomb = await startCoomb(config, createLog(config));
    // whoever reads the address may ask it to stop at once
    stopOnSignal(coomb);
    announce(coomb);
  });
}

export function announce(coomb: Coomb): void {
  process.stdout.write(`\n  Open ${coomb.address}\n  Sensors publish to ${coomb.mqttAddress}\n\n`);
}

/** Closes in order on the first signal to stop; a second one ends the process at once. */
export function stopOnSignal(coomb: Coomb, before: () => Promise<void> = async () => {}): void {
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.once(signal, () => {
      before()
        .then(() => coomb.close())
        .then(
          () => process.exit(0),
          (error: unknown) => {
            process.stderr.write(`${(error as Error).stack}\n`);
            process.exit(1);
          },
        );
    });
  }
}
