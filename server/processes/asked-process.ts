import { type ChildProcess, fork } from 'node:child_process';
import { endedWords } from './ended-words.ts';

/** Why a process of ours gave no answer. */
export class NoAnswer extends Error {
  readonly reason: 'too-slow' | 'broken-off' | 'closed';
  constructor(reason: NoAnswer['reason'], message: string) {
    super(message);
    this.name = 'NoAnswer';
    this.reason = reason;
  }
}

/** A process of its own that is asked one thing at a time, in order of asking, and answers each with one message. */
export interface AskedProcess<Question, Answer> {
  /** Starts it, for what is to be asked of it soon. */
  makeReady(): void;
  /** @throws NoAnswer */
  ask(question: Question): Promise<Answer>;
  /** Ends it, whatever it is at; nothing is asked of it any more. */
  close(): Promise<void>;
}

export interface AskedProcessOptions {
  /** file of the module it runs */
  readonly script: string;
  /** it is ended when it has had nothing to do for this long, and started again when it is asked, ms */
  readonly idleMs: number;
  /** it is ended when one answer takes longer, ms */
  readonly longestMs?: number;
}

export function createAskedProcess<Question extends object, Answer>({
  script,
  idleMs,
  longestMs,
}: AskedProcessOptions): AskedProcess<Question, Answer> {
  let child: ChildProcess | null = null;
  let idle: NodeJS.Timeout | undefined;
  let last: Promise<unknown> = Promise.resolve();
  let closed = false;

  function stop(): void {
    clearTimeout(idle);
    child?.kill('SIGKILL');
    child = null;
  }

  function stopWhenIdle(): void {
    clearTimeout(idle);
    idle = setTimeout(stop, idleMs);
    idle.unref();
  }

  function started(): ChildProcess {
    if (child !== null) return child;
    // run from the sources (development, tests) it needs the loader that this process has
    const execArgv = script.endsWith('.ts') ? ['--import', 'tsx'] : [];
    const begun = fork(script, { serialization: 'advanced', execArgv });
    child = begun;
    // one that ended, be it while it had nothing to do, is asked nothing more; why it did is told to whoever had asked
    const forget = (): void => {
      if (child === begun) child = null;
    };
    begun.on('error', forget);
    begun.once('exit', forget);
    return begun;
  }

  function run(question: Question): Promise<Answer> {
    clearTimeout(idle);
    if (closed) return Promise.reject(new NoAnswer('closed', 'the program is being closed'));
    const running = started();
    return new Promise((resolve, reject) => {
      const settle = (finish: () => void): void => {
        clearTimeout(limit);
        running.off('message', answered).off('error', failed).off('exit', ended);
        stopWhenIdle();
        finish();
      };
      const answered = (message: unknown): void => settle(() => resolve(message as Answer));
      const without = (reason: NoAnswer['reason'], message: string): void =>
        settle(() => reject(new NoAnswer(reason, message)));
      const failed = (error: Error): void => without('broken-off', error.message);
      const ended = (code: number | null, signal: NodeJS.Signals | null): void =>
        closed ? without('closed', 'the program is being closed') : without('broken-off', endedWords(code, signal));
      const tooSlow = (): void => {
        without('too-slow', `it took longer than ${longestMs} ms`);
        stop();
      };
      const limit = longestMs === undefined ? undefined : setTimeout(tooSlow, longestMs);
      running.on('message', answered).on('error', failed).on('exit', ended);
      running.send(question);
    });
  }

  return {
    makeReady() {
      if (child !== null || closed) return;
      started();
      stopWhenIdle();
    },
    ask(question) {
      const answer = last.then(() => run(question));
      last = answer.catch(() => undefined);
      return answer;
    },
    async close() {
      closed = true;
      stop();
    },
  };
}
