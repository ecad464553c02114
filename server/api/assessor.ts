import { fileURLToPath } from 'node:url';
import type { Assessment } from '../analysis/assessment.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';
import { createAskedProcess } from '../processes/asked-process.ts';
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

const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './assess-process.ts' : './assess-process.js', import.meta.url));

export function createAssessor(): Assessor {
  const child = createAskedProcess<AssessmentRequest, AssessmentReply>({ script, idleMs: IDLE_MS });

  async function ask(request: AssessmentRequest): Promise<Assessment | LiningAnswer> {
    const reply = await child.ask(request).catch((error: unknown) => {
      throw new Error(`the assessment was stopped: ${(error as Error).message}`);
    });
    if ('answer' in reply) return reply.answer;
    throw 'refused' in reply ? new RangeError(reply.refused) : new Error(reply.error);
  }

  return {
    makeReady: child.makeReady,
    assess: (input) => ask({ kind: 'assessment', input }) as Promise<Assessment>,
    checkLining: (work) => ask({ kind: 'lining', work }) as Promise<LiningAnswer>,
    close: child.close,
  };
}
