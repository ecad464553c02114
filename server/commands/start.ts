import { Command } from 'commander';
import { readConfig } from '../config.ts';
import { createLog } from '../log.ts';
import { type Coomb, startCoomb } from '../main.ts';

export function startCommand(): Command {
  return new Command('start').description('take readings in, keep hour records and serve the page').action(async () => {
    const config = readConfig();
    const log = createLog(config);
    const coomb = await startCoomb(config, log);
    // whoever reads the address may ask it to stop at once
    stopOnSignal(coomb, log);
    announce(coomb);
  });
}

export function announce(coomb: Coomb): void {
  const broker = coomb.mqttAddress === '' ? '' : `  Sensors publish to ${coomb.mqttAddress}\n`;
  process.stdout.write(`\n  Open ${coomb.address}\n${broker}\n`);
}

/** Longest time to close in order, ms. Nothing that was acknowledged depends on it: see the tests that kill. */
const CLOSING_MS = 4_500;

interface Log {
  warn(detail: object, message: string): void;
}

/** Closes in order on the first signal to stop, within a time; a second one ends the process at once. */
export function stopOnSignal(coomb: Coomb, log: Log, before: () => Promise<void> = async () => {}): void {
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.once(signal, () => {
      setTimeout(() => {
        const detail = { afterMs: CLOSING_MS, stillClosing: coomb.closing() };
        log.warn(detail, 'closing took too long and was broken off; nothing that was acknowledged is lost');
        process.exit(0);
      }, CLOSING_MS).unref();
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
