/** How much one sender may send. */
export interface FlowLimit {
  /** messages a second that may go on for ever */
  readonly perSecond: number;
  /** messages that may come at once after a quiet time, e.g. what a device gathered while it was away */
  readonly burst: number;
  /** a message counts as one for every so many bytes */
  readonly bytesEach: number;
}

/**
 * A thousand sensors that send every second are still let through, and so are weeks of readings at once; a device that
 * sends in a loop is not.
 */
export const flowLimit: FlowLimit = Object.freeze({ perSecond: 1000, burst: 50_000, bytesEach: 4096 });

/** Counts what one sender sends. */
export interface FlowMeter {
  /** Takes a message into account; gives how long it must wait so that the limit is kept, ms. */
  take(bytes: number): number;
}

/** A leaky bucket: it runs out at the rate allowed, and what does not fit waits. */
export function createFlowMeter({ perSecond, burst, bytesEach }: FlowLimit, now = () => performance.now()): FlowMeter {
  let level = 0;
  let at = now();
  return {
    take(bytes) {
      const time = now();
      level = Math.max(0, level - ((time - at) / 1000) * perSecond) + Math.max(1, bytes / bytesEach);
      at = time;
      return Math.max(0, ((level - burst) / perSecond) * 1000);
    },
  };
}
