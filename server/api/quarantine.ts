import type { QuarantineStore } from '../store/port.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

const MOST_GROUPS = 200;
const MOST_PAYLOAD_SHOWN = 4096;
/** Messages removed in one transaction: readings that come in meanwhile hardly wait. */
const REMOVED_AT_ONCE = 1000;

/** Messages that were not understood: looked at, and thrown away by the owner alone. */
export function quarantineHandlers(store: QuarantineStore): Pick<Handlers, 'listQuarantine' | 'emptyQuarantine'> {
  return {
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
