import type { Arrival } from './port-provenance.ts';

/**
 * Lays arrivals over each other, later ones on top, and gives what can be seen of them: in order of time, none over
 * another. The common case, each after the one before, costs nothing.
 *
 * @param recorded in the order in which they were recorded
 */
export function visibleArrivals(recorded: readonly Arrival[]): Arrival[] {
  const seen: Arrival[] = [];
  for (const arrival of recorded) {
    const last = seen.at(-1);
    if (last === undefined || last.to < arrival.from) {
      seen.push(arrival);
      continue;
    }
    const first = firstEndingFrom(seen, arrival.from);
    let end = first;
    const pieces: Arrival[] = [];
    for (; end < seen.length && seen[end]!.from <= arrival.to; end++) {
      const under = seen[end]!;
      if (under.from < arrival.from) pieces.push({ ...under, to: arrival.from - 1 });
      if (under.to > arrival.to) pieces.push({ ...under, from: arrival.to + 1 });
    }
    pieces.push(arrival);
    pieces.sort((a, b) => a.from - b.from);
    seen.splice(first, end - first, ...pieces);
  }
  return seen;
}

/** Cuts our times out of all times of the same span, both ascending, wherever a time that is not ours lies between. */
export function unbrokenRuns(ours: readonly number[], all: Iterable<number>): { from: number; to: number }[] {
  const runs: { from: number; to: number }[] = [];
  let next = 0;
  let open = false;
  for (const time of all) {
    const isOurs = time === ours[next];
    if (isOurs && open) runs[runs.length - 1] = { from: runs.at(-1)!.from, to: time };
    else if (isOurs) runs.push({ from: time, to: time });
    open = isOurs;
    if (isOurs) next++;
  }
  return runs;
}

/** Index of the first that ends at or after a time. */
function firstEndingFrom(seen: readonly Arrival[], time: number): number {
  let low = 0;
  let high = seen.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (seen[middle]!.to < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The spans, ends included, of readings that arrived in a day: those of its own hours, and those recorded as arrived then. */
export function spansOfDay(
  visible: readonly Arrival[],
  own: { readonly from: number; readonly to: number },
  day: number,
): { from: number; to: number }[] {
  const spans: { from: number; to: number }[] = [];
  let at = own.from;
  for (const arrival of visible) {
    if (arrival.from > at && at <= own.to && arrival.from > own.from) {
      spans.push({ from: at, to: Math.min(arrival.from - 1, own.to) });
    }
    if (arrival.day === day) spans.push({ from: arrival.from, to: arrival.to });
    at = Math.max(at, arrival.to + 1);
  }
  if (at <= own.to) spans.push({ from: at, to: own.to });
  return spans.sort((a, b) => a.from - b.from);
}
