import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { endedWords } from '../processes/ended-words.ts';
import type { StorePlace } from './engine.ts';
import type { InspectReply } from './inspect-process.ts';

/** The look through the store at a start: it does not keep the program from serving, and takes as long as it takes. */
export interface StartInspection {
  /** what is damaged, in words; empty: nothing, or it is still being looked */
  reasons(): string[];
  /** Resolves when it is through. */
  finished(): Promise<void>;
  close(): Promise<void>;
}

interface Log {
  info(detail: object, message: string): void;
  error(detail: object, message: string): void;
}

const TOLD = 3;

const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './inspect-process.ts' : './inspect-process.js', import.meta.url));

export function inspectAtStart(place: StorePlace, log: Log): StartInspection {
  let reasons: string[] = [];
  let closing = false;
  const child = fork(script, { execArgv: fromSource ? ['--import', 'tsx'] : [] });
  const finished = new Promise<void>((resolve) => {
    child.once('message', (reply: InspectReply) => {
      if (reply.kind === 'failed') {
        reasons = [`the database could not be looked through: ${reply.message}`];
        log.error({ reason: reply.message }, 'the database could not be looked through');
      } else if (reply.damage.length === 0) {
        log.info({}, 'the database was looked through: nothing is damaged');
      } else {
        const told = reply.damage.slice(0, TOLD).join('; ');
        reasons = [`the database is damaged: ${told}. Stop coomb, keep a copy of the file, and restore a backup`];
        log.error({ damage: reply.damage }, 'the database is damaged: restore a backup');
      }
    });
    child.once('error', () => resolve());
    child.once('exit', (code, signal) => {
      if (code !== 0 && !closing) log.error({}, `the database was not looked through: ${endedWords(code, signal)}`);
      resolve();
    });
  });
  child.send(place);
  // a program that ends before it is through does not wait for it
  child.unref();
  child.channel?.unref();
  return {
    reasons: () => reasons,
    finished: () => finished,
    async close() {
      closing = true;
      child.kill('SIGKILL');
      await finished;
    },
  };
}
