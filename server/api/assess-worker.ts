import { parentPort } from 'node:worker_threads';
import { assess } from '../analysis/assess.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';
import type { AssessmentReply } from './assessor.ts';

parentPort!.on('message', (input: AssessmentInput) => {
  parentPort!.postMessage(answer(input));
});

function answer(input: AssessmentInput): AssessmentReply {
  try {
    return { assessment: assess(input) };
  } catch (error) {
    return { error: (error as Error).stack ?? String(error) };
  }
}
