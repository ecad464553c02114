import { Worker } from 'node:worker_threads';
import type { Assessment } from '../analysis/assessment.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';

/** Works out assessments beside the main thread, so that readings and pages do not wait for the resampling. */
export interface Assessor {
  /** One at a time, in order of asking. */
  assess(input: AssessmentInput): Promise<Assessment>;
  close(): Promise<void>;
}

/** What the worker answers. */
export type AssessmentReply = { readonly assessment: Assessment } | { readonly error: string };

/** A worker that has had nothing to do for this long gives its memory back, ms. */
const IDLE_MS = 20_000;

/** Run from the sources (development, tests) a worker first needs the loader that the main thread has. */
function openWorker(): Worker {
  if (!import.meta.url.endsWith('.ts')) return new Worker(new URL('./assess-worker.js', import.meta.url));
  const script = JSON.stringify(new URL('./assess-worker.ts', import.meta.url).href);
  const load = `import('tsx/esm/api').then(({ register }) => { register(); return import(${script}); })`;
  return new Worker(load, { eval: true });
}

export function createAssessor(): Assessor {
  let worker: Worker | null = null;
  let idle: NodeJS.Timeout | null = null;
  let last: Promise<unknown> = Promise.resolve();

  async function stop(): Promise<void> {
    const stopped = worker;
    worker = null;
    await stopped?.terminate();
  }

  function run(input: AssessmentInput): Promise<Assessment> {
    if (idle !== null) clearTimeout(idle);
    worker ??= openWorker();
    const running = worker;
    return new Promise((resolve, reject) => {
      const settle = (finish: () => void): void => {
        running.removeAllListeners();
        idle = setTimeout(() => void stop(), IDLE_MS);
        idle.unref();
        finish();
      };
      running.once('message', (reply: AssessmentReply) =>
        settle(() => ('error' in reply ? reject(new Error(reply.error)) : resolve(reply.assessment))),
      );
      running.once('error', (error) => {
        if (worker === running) worker = null;
        settle(() => reject(error));
      });
      running.once('exit', () => {
        if (worker === running) worker = null;
        settle(() => reject(new Error('the assessment was stopped')));
      });
      running.postMessage(input);
    });
  }

  return {
    assess(input) {
      const result = last.then(() => run(input));
      last = result.catch(() => undefined);
      return result;
    },
    async close() {
      if (idle !== null) clearTimeout(idle);
      await stop();
    },
  };
}
