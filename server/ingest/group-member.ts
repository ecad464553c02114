import { setTimeout } from 'node:timers/promises';
import type { ProcessStore } from '../store/port.ts';

/** One of the processes that share the messages of a broker out among them. */
export interface GroupMember {
  /** To be called when another says that it leaves: takes its place as the one who stays, where nobody has. */
  othersLeave(): Promise<void>;
  /**
   * Whether this one, which stops, may end its subscription, so that all messages go to the others at once. Not when it is
   * the last: then the broker has to keep for it what comes until one of them is back.
   */
  mayLeave(): Promise<boolean>;
}

/** Time for the others to hear that one leaves, and for one of them to be the one who stays, ms. */
const HANDOVER_MS = 500;

/**
 * Of all members one at most is in charge of `listening`, and while it is it does not leave. Whoever leaves has seen that
 * another is in charge, so that of members who stop at the same moment one is left to stay.
 *
 * @param tellLeaving lets the others hear of it
 * @param isListening whether the broker has a subscription of this one
 */
export function createGroupMember(
  store: Pick<ProcessStore, 'takeCharge' | 'giveUpCharge'>,
  tellLeaving: () => void,
  isListening: () => boolean,
): GroupMember {
  let stopping = false;
  return {
    async othersLeave() {
      if (!stopping && isListening()) await store.takeCharge('listening');
    },
    async mayLeave() {
      stopping = true;
      try {
        if (!(await store.takeCharge('listening'))) return true;
        await store.giveUpCharge('listening');
        tellLeaving();
        await setTimeout(HANDOVER_MS);
        return !(await store.takeCharge('listening'));
      } catch {
        // without word of the others the broker keeps its share
        return false;
      }
    },
  };
}
