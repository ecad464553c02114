import type { StoringFault, StoringTrouble } from '../analysis/watch/not-stored.ts';
import type { Writer } from './writer.ts';

/** When readings could not be kept, in this run of the program. */
export interface StoringWatch {
  /** oldest first; the last one may go on */
  troubles(): readonly StoringTrouble[];
  /** null: readings are being kept, as far as is known */
  now(): StoringTrouble | null;
}

/** Times remembered: more than a notice is made of is in the log. */
const MOST = 50;

/** @param changed storing failed, fails for another reason, or goes on */
export function watchStoring(
  writer: Pick<Writer, 'onTrouble'>,
  clock: () => number,
  changed: (fault: StoringFault | null) => void,
): StoringWatch {
  let troubles: StoringTrouble[] = [];
  const now = (): StoringTrouble | null => {
    const last = troubles.at(-1);
    return last === undefined || last.to !== null ? null : last;
  };
  writer.onTrouble((fault) => {
    const at = clock();
    const going = now();
    if (going !== null) troubles[troubles.length - 1] = { ...going, to: Math.max(at, going.from) };
    if (fault !== null) troubles = [...troubles.slice(-MOST), { fault, from: at, to: null }];
    changed(fault);
  });
  return { troubles: () => troubles, now };
}
