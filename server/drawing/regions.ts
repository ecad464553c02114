import type { Place, SectionPosition } from '../api/contract/dwelling.ts';

/** A point of the building: mm, x from the inner face of the eaves wall to the right, y from the floor up. */
export interface Millimetres {
  readonly x: number;
  readonly y: number;
}

/** Where a place of a kind can be: shares of the room there is turned into a point of the building, and back. */
export interface Region {
  readonly at: (position: SectionPosition) => Millimetres;
  readonly of: (point: Millimetres) => SectionPosition;
  /** whether a place can be moved up and down as well as along */
  readonly hasHeight: boolean;
}

export type Regions = Readonly<Record<Place['kind'], Region>>;

const share = (value: number): number => Math.min(1, Math.max(0, Number.isFinite(value) ? value : 0));

/** A straight surface from its ridge end to its eaves end. */
export function onLine(from: Millimetres, to: Millimetres): Region {
  const run = { x: to.x - from.x, y: to.y - from.y };
  const square = run.x ** 2 + run.y ** 2;
  return {
    at: ({ along }) => ({ x: from.x + run.x * along, y: from.y + run.y * along }),
    of: ({ x, y }) => ({ along: share(((x - from.x) * run.x + (y - from.y) * run.y) / square), up: 0 }),
    hasHeight: false,
  };
}

/** A room between two x whose lowest and highest y depend on x. */
export function within(
  left: number,
  right: number,
  lowest: (x: number) => number,
  highest: (x: number) => number,
): Region {
  const between = (x: number, up: number) => {
    const low = lowest(x);
    return low + up * Math.max(0, highest(x) - low);
  };
  return {
    at({ along, up }) {
      const x = left + along * (right - left);
      return { x, y: between(x, up) };
    },
    of(point) {
      const along = share((point.x - left) / (right - left));
      const x = left + along * (right - left);
      const low = lowest(x);
      return { along, up: share((point.y - low) / (highest(x) - low)) };
    },
    hasHeight: true,
  };
}

/**
 * Where the nth of `count` places of a kind stands when nobody has said: spread evenly over its surface, or in a row of
 * its room.
 */
export function usualPosition(kind: Place['kind'], nth: number, count: number): SectionPosition {
  const even = (from: number, to: number): number =>
    count === 1 ? (from + to) / 2 : from + ((to - from) * nth) / (count - 1);
  switch (kind) {
    case 'ceiling-surface':
      return { along: count === 1 ? 0.5 : even(0.25, 0.75), up: 0 };
    case 'behind-lining':
      // between the surfaces, so that the two can be told apart
      return { along: count === 1 ? 0.62 : even(0.38, 0.88), up: 0 };
    case 'control-surface':
      return { along: even(0.35, 0.75), up: 0 };
    case 'room-air':
      return { along: even(0.3, 0.55), up: count === 1 ? 0.35 : even(0.2, 0.6) };
    case 'supply-air':
      return { along: even(0.08, 0.3), up: 0.75 };
    case 'loft-air':
      return { along: even(0.25, 0.5), up: 0.35 };
    case 'loft-timber':
      return { along: even(0.3, 0.5), up: 0 };
    case 'outdoor-air':
      return { along: 0.75, up: even(0.5, 0.7) };
  }
}
