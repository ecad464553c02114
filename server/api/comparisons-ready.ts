import { setImmediate } from 'node:timers/promises';
import type { Store } from '../store/port.ts';
import { createRounds, type Rounds } from '../watch/rounds.ts';
import type { Comparer } from './comparison.ts';

/** With no more homes than this all of them are looked at, with more those whose comparisons are asked for. */
const FEW_HOMES = 3;
/** Most homes kept ready. */
const MOST_HOMES = 8;
/** A home nobody has asked about for so long is not kept ready, ms. */
const ASKED_WITHIN_MS = 7 * 86_400_000;

/**
 * Works comparisons out before they are asked for, at the start and once an hour is over: it takes a second or more, and a
 * page should not wait for that.
 */
export function keepComparisonsReady(
  store: Pick<Store, 'dwellings'>,
  comparer: Pick<Comparer, 'ceilings' | 'lastAsked'>,
  clock: () => number,
  everyMs: number,
): Rounds {
  return createRounds(everyMs, async (isClosing) => {
    const dwellings = await store.dwellings();
    const wanted =
      dwellings.length <= FEW_HOMES
        ? dwellings
        : dwellings
            .filter(({ id }) => clock() - (comparer.lastAsked.get(id) ?? Number.NEGATIVE_INFINITY) < ASKED_WITHIN_MS)
            .sort((a, b) => comparer.lastAsked.get(b.id)! - comparer.lastAsked.get(a.id)!)
            .slice(0, MOST_HOMES);
    for (const dwelling of wanted) {
      if (isClosing()) return;
      await comparer.ceilings(dwelling);
      await setImmediate();
    }
  });
}
