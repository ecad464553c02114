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

  function stop(): void {
    child?.kill();
    child = null;
  }

  function run(request: AssessmentRequest): Promise<Assessment | LiningAnswer> {
    if (idle !== null) clearTimeout(idle);
    child ??= fork(script, { serialization: 'advanced', execArgv: fromSource ? ['--import', 'tsx'] : [] });
    const running = child;
    return new Promise((resolve, reject) => {
      const settle = (finish: () => void): void => {
        running.removeAllListeners();
        idle = setTimeout(stop, IDLE_MS);
        idle.unref();
        finish();
      };
      const ended = (reason: string): void => {
        if (child === running) child = null;
        settle(() => reject(new Error(`the assessment was stopped: ${reason}`)));
      };
      running.once('message', (reply: AssessmentReply) =>
        settle(() => {
          if ('answer' in reply) resolve(reply.answer);
          else reject('refused' in reply ? new RangeError(reply.refused) : new Error(reply.error));
        }),
      );
      running.once('error', (error) => ended(error.message));
      running.once('exit', (code, signal) => ended(endedWords(code, signal)));
      running.send(request);
    });
  }

  function inTurn(request: AssessmentRequest): Promise<Assessment | LiningAnswer> {
    const result = last.then(() => run(request));
    last = result.catch(() => undefined);
    return result;
  }

  return {
    assess: (input) => inTurn({ kind: 'assessment', input }) as Promise<Assessment>,
    checkLining: (work) => inTurn({ kind: 'lining', work }) as Promise<LiningAnswer>,
    async close() {
      if (idle !== null) clearTimeout(idle);
      stop();
    },
  };
}
