import { assess } from '../analysis/assess.ts';
import type { AssessmentInput } from '../analysis/assessment-input.ts';
import type { AssessmentReply } from './assessor.ts';

process.on('message', (input: AssessmentInput) => {
  process.send!(answer(input));
});
// the program that asked has gone
process.on('disconnect', () => process.exit());

function answer(input: AssessmentInput): AssessmentReply {
  try {
    return { assessment: assess(input) };
  } catch (error) {
    return { error: (error as Error).stack ?? String(error) };
  }
}
