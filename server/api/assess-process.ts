import { assess } from '../analysis/assess.ts';
import type { AssessmentReply, AssessmentRequest } from './assessor.ts';
import { liningAnswerOf } from './lining-work.ts';

process.on('message', (request: AssessmentRequest) => {
  process.send!(answer(request));
});
// the program that asked has gone
process.on('disconnect', () => process.exit());

function answer(request: AssessmentRequest): AssessmentReply {
  try {
    return {
      answer: request.kind === 'assessment' ? assess(request.input) : liningAnswerOf(request.work),
    };
  } catch (error) {
    if (error instanceof RangeError) return { refused: error.message };
    return { error: (error as Error).stack ?? String(error) };
  }
}
