import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Assessment } from '../analysis/assessment.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';
import { endedWords } from '../store/process-ended.ts';
import type { LiningAnswer } from './contract/lining-answer.ts';
import type { LiningWork } from './lining-work.ts';

/**
 * Works out assessments in a process of its own, so that readings and pages do not wait for the resampling and its
 * memory goes back to the machine.
 */
export interface Assessor {
  /** Starts the process, for what is to be asked of it soon. */
  makeReady(): void;
  /** One at a time, in order of asking. */
  assess(input: AssessmentInput): Promise<Assessment>;
  /** Rejects with a RangeError for layers or states that cannot be. */
  checkLining(work: LiningWork): Promise<LiningAnswer>;
  close(): Promise<void>;
}

/** What the process is asked. */
export type AssessmentRequest =
  | { readonly kind: 'assessment'; readonly input: AssessmentInput }
  | { readonly kind: 'lining'; readonly work: LiningWork };

/** What it answers: of the kind that was asked; `refused` is for whoever asked, `error` for the log. */
export type AssessmentReply =
  | { readonly answer: Assessment | LiningAnswer }
  | { readonly refused: string }
  | { readonly error: string };

/** A process that has had nothing to do for this long is ended, ms. */
const IDLE_MS = 20_000;

// run from the sources (development, tests) it needs the loader that this process has
const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './assess-process.ts' : './assess-process.js', import.meta.url));

export function createAssessor(): Assessor {
  let child: ChildProcess | null = null;
  let idle: NodeJS.Timeout | null = null;
  let last: Promise<unknown> = Promise.resolve();
  let closed = false;

  function stop(): void {
    if (idle !== null) clearTimeout(idle);
    child?.kill();
    child = null;
  }

  function stopWhenIdle(): void {
    if (idle !== null) clearTimeout(idle);
    idle = setTimeout(stop, IDLE_MS);
    idle.unref();
  }

  function started(): ChildProcess {
    if (child !== null) return child;
    const begun = fork(script, { serialization: 'advanced', execArgv: fromSource ? ['--import', 'tsx'] : [] });
    child = begun;
    // one that ended is asked nothing more; why it did is told of by whoever had asked
    const forget = (): void => {
      if (child === begun) child = null;
    };
    begun.on('error', forget);
    begun.once('exit', forget);
    return begun;
  }

  function run(request: AssessmentRequest): Promise<Assessment | LiningAnswer> {
    if (idle !== null) clearTimeout(idle);
    if (closed) return Promise.reject(new Error('the assessment was stopped: the program is being closed'));
    const running = started();
    return new Promise((resolve, reject) => {
      const settle = (finish: () => void): void => {
        running.off('message', answered).off('error', failed).off('exit', ended);
        stopWhenIdle();
        finish();
      };
      const answered = (message: unknown): void =>
        settle(() => {
          const reply = message as AssessmentReply;
          if ('answer' in reply) resolve(reply.answer);
          else reject('refused' in reply ? new RangeError(reply.refused) : new Error(reply.error));
        });
      const stopped = (reason: string): void =>
        settle(() => reject(new Error(`the assessment was stopped: ${reason}`)));
      const failed = (error: Error): void => stopped(error.message);
      const ended = (code: number | null, signal: NodeJS.Signals | null): void => stopped(endedWords(code, signal));
      running.on('message', answered).on('error', failed).on('exit', ended);
      running.send(request);
    });
  }

  function inTurn(request: AssessmentRequest): Promise<Assessment | LiningAnswer> {
    const result = last.then(() => run(request));
    last = result.catch(() => undefined);
    return result;
  }

  return {
    makeReady() {
      if (child !== null) return;
      started();
      stopWhenIdle();
    },
    assess: (input) => inTurn({ kind: 'assessment', input }) as Promise<Assessment>,
    checkLining: (work) => inTurn({ kind: 'lining', work }) as Promise<LiningAnswer>,
    async close() {
      closed = true;
      stop();
    },
  };
}
