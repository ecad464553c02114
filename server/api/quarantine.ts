import { type ClockDoubt, findClockDoubts } from '../ingest/clock-doubts.ts';
import type { MessageReceiver } from '../ingest/forecast-receiver.ts';
import type { Rereader } from '../ingest/reread.ts';
import type { QuarantineStore } from '../store/port.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

const MOST_GROUPS = 200;
const MOST_PAYLOAD_SHOWN = 4096;
/** Messages removed in one transaction: readings that come in meanwhile hardly wait. */
const REMOVED_AT_ONCE = 1000;

export interface QuarantineParts {
  readonly store: QuarantineStore;
  readonly receiver: Pick<MessageReceiver, 'read'>;
  readonly rereader: Pick<Rereader, 'runStoodBack'>;
  readonly clock: () => number;
}

const clockDoubtView = ({ firstAt, lastAt, behindMs, topics, messages }: ClockDoubt) => ({
  from: toInstant(firstAt),
  to: toInstant(lastAt),
  behindMs,
  topics: [...topics],
  messages,
});

/** Messages that were not understood: looked at, and thrown away or believed by the owner alone. */
export function quarantineHandlers({
  store,
  receiver,
  rereader,
  clock,
}: QuarantineParts): Pick<Handlers, 'listQuarantine' | 'emptyQuarantine' | 'listClockDoubts' | 'settleClockDoubt'> {
  return {
    async listClockDoubts() {
      return (await findClockDoubts(store, receiver, clock())).map(clockDoubtView);
    },

    async settleClockDoubt({ body }) {
      const doubts = await findClockDoubts(store, receiver, clock());
      const found = doubts.find((doubt) => {
        const { from, to, behindMs } = clockDoubtView(doubt);
        return from === body.from && to === body.to && behindMs === body.behindMs;
      });
      if (found === undefined) {
        throw new RequestProblem(
          'not-found',
          'What was set aside has changed meanwhile. Look again at what there is now.',
        );
      }
      return rereader.runStoodBack(found);
    },

    async listQuarantine() {
      const [total, groups, notKept] = await Promise.all([
        store.countQuarantined(),
        store.quarantineGroups(MOST_GROUPS),
        store.quarantineNotKept(),
      ]);
      return {
        total,
        groups: groups.map(({ firstAt, lastAt, lastPayload, ...group }) => ({
          ...group,
          firstAt: toInstant(firstAt),
          lastAt: toInstant(lastAt),
          lastPayload: new TextDecoder().decode(lastPayload.subarray(0, MOST_PAYLOAD_SHOWN)),
        })),
        notKept: notKept.map(({ firstAt, lastAt, ...counted }) => ({
          ...counted,
          firstAt: toInstant(firstAt),
          lastAt: toInstant(lastAt),
        })),
      };
    },

    async emptyQuarantine() {
      let removed = 0;
      for (let last = REMOVED_AT_ONCE; last === REMOVED_AT_ONCE; ) {
        last = await store.removeQuarantined(REMOVED_AT_ONCE);
        removed += last;
      }
      return { removed };
    },
  };
}
