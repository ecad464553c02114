import type { QuarantineStore } from '../store/port.ts';
import type { ClockMemory, ClockRecord } from './clock-memory.ts';
import type { Rereader } from './reread.ts';

type PastStretch = ClockRecord['past'][number];

/** A time in which the clock ran on without a step. */
interface Stretch {
  /** what the clock says less how long the computer runs, ms: changes when the clock is set and at no other time */
  readonly offset: number;
  /** quarantine's last id before it began */
  readonly afterId: number;
}

/** What a clock is set by when it runs a little fast or slow is no step: devices may be ten minutes ahead. */
const STEP_MS = 60_000;
/** Stretches remembered; a clock that steps more often than that is beyond help. */
const MOST_STRETCHES = 50;

/**
 * Sees when the clock of this computer is set forward, and then looks again at what was set aside as coming from the
 * future. It is the one proof there is that the computer was wrong and not the device; so it must be watched for. A step
 * while the program was off is seen by what it remembered, as long as the computer was not started anew in between: with
 * each boot the time for which it runs begins at nothing, and what was set aside before stays where it is.
 *
 * @param uptime ms that the computer has been running, sleep included
 * @returns a round, to be made every few seconds
 */
export async function watchClockSteps(
  store: Pick<QuarantineStore, 'lastQuarantinedId'>,
  rereader: Pick<Rereader, 'runStoodBack'>,
  clock: () => number,
  uptime: () => number,
  memory: ClockMemory,
  onReadIn: (messages: number, behindMs: number) => void,
): Promise<() => Promise<void>> {
  let lastId = await store.lastQuarantinedId();
  let current: Stretch = { offset: clock() - uptime(), afterId: lastId };
  let past: readonly PastStretch[] = [];

  const remember = (): void => {
    if (memory.boot !== null) memory.save({ boot: memory.boot, uptime: uptime(), current, past });
  };

  /** Begins a new stretch if the clock was set since the last look. */
  function look(id: number): void {
    const offset = clock() - uptime();
    if (Math.abs(offset - current.offset) <= STEP_MS) return;
    past = [...past, { ...current, untilId: id, triedWith: current.offset }]
      .filter(({ afterId, untilId }) => untilId > afterId)
      .slice(-MOST_STRETCHES);
    // what came between the step and this look counts to both
    current = { offset, afterId: Math.min(lastId, id) };
    remember();
  }

  const known = memory.boot === null ? null : memory.load();
  if (known !== null && known.boot === memory.boot && known.uptime <= uptime() && known.current.afterId <= lastId) {
    ({ current, past } = known);
    look(lastId);
  } else remember();

  return async () => {
    const id = await store.lastQuarantinedId();
    if (id < lastId) {
      // emptied: ids may begin anew
      past = [];
      current = { ...current, afterId: 0 };
      remember();
    }
    look(id);
    lastId = id;
    for (const stretch of past) {
      const behindMs = current.offset - stretch.offset;
      if (behindMs <= STEP_MS || stretch.triedWith === current.offset) continue;
      const { messages } = await rereader.runStoodBack({ ...stretch, behindMs });
      if (messages > 0) onReadIn(messages, behindMs);
      past = past.map((one) => (one === stretch ? { ...one, triedWith: current.offset } : one));
      remember();
    }
  };
}
