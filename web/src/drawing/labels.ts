import type { Point, Spot } from '../../../server/drawing/section-geometry.ts';

/** A label beside the drawing, and the line that leads to it. */
export interface Label {
  readonly placeId: number;
  readonly side: 'left' | 'right';
  /** middle of the label's first figure, in the drawing's units */
  readonly y: number;
  readonly leader: readonly Point[];
}

export interface LabelColumns {
  /** where leaders end: the inner edge of the left and of the right column */
  readonly leftEdge: number;
  readonly rightEdge: number;
  /** between these the drawing lies: a leader stays level there, so that it crosses nothing its spot is not level with */
  readonly drawnFrom: number;
  readonly drawnTo: number;
  readonly top: number;
  readonly bottom: number;
  /** the least distance between two labels of one column */
  readonly spacing: number;
}

/**
 * Puts each label level with its spot, then pushes labels of one column apart until none overlap, keeping their order
 * and staying between top and bottom.
 */
export function layOutLabels(spots: readonly Spot[], columns: LabelColumns): Label[] {
  return (['left', 'right'] as const).flatMap((side) => {
    const column = spots.filter((spot) => spot.side === side).sort((a, b) => a.at.y - b.at.y || a.at.x - b.at.x);
    const spacing = Math.min(columns.spacing, (columns.bottom - columns.top) / Math.max(1, column.length - 1));
    const ys: number[] = [];
    for (const spot of column) {
      ys.push(Math.max(spot.at.y, columns.top, ys.length === 0 ? columns.top : ys.at(-1)! + spacing));
    }
    let limit = columns.bottom;
    for (let i = ys.length - 1; i >= 0; i--) {
      ys[i] = Math.min(ys[i]!, limit);
      limit = ys[i]! - spacing;
    }
    return column.map((spot, i) => ({
      placeId: spot.placeId,
      side,
      y: ys[i]!,
      leader: leaderOf(spot, ys[i]!, columns),
    }));
  });
}

/** From the spot level to the drawing's edge, then slanting to the label's height. */
function leaderOf(spot: Spot, y: number, columns: LabelColumns): Point[] {
  const edge = spot.side === 'left' ? columns.leftEdge : columns.rightEdge;
  const drawn =
    spot.side === 'left' ? Math.min(columns.drawnFrom, spot.leave.x) : Math.max(columns.drawnTo, spot.leave.x);
  const start = spot.leave === spot.mark ? [spot.mark] : [spot.mark, spot.leave];
  return [...start, { x: drawn, y: spot.leave.y }, { x: edge, y }];
}
