import type { Place, Section } from '../../../server/api/contract/dwelling.ts';

/** A point of the drawing: x to the right, y down, in the drawing's own units. */
export interface Point {
  readonly x: number;
  readonly y: number;
}

export type Line = readonly Point[];

/** Where on the paper the section is drawn. */
export interface Frame {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** A measurement with its line: drawn between two witness marks, its words beside `at`. */
export interface Dimension {
  readonly name: 'pitch' | 'slopeLength' | 'roomHeight' | 'lining' | 'loftInsulation' | 'eavesGap';
  readonly from: Point;
  readonly to: Point;
  readonly at: Point;
  readonly anchor: 'start' | 'middle' | 'end';
}

/** A place where it stands: the spot itself, and the point beside it where its mark has room. */
export interface Spot {
  readonly placeId: number;
  readonly at: Point;
  readonly mark: Point;
  readonly side: 'left' | 'right';
}

export interface SectionGeometry {
  readonly scale: number;
  readonly room: Line;
  readonly floor: Line;
  readonly flatCeiling: Line;
  readonly slopeBoard: Line;
  readonly lining: Line | null;
  readonly liningFace: Line | null;
  readonly wool: Line | null;
  readonly rafterLower: Line;
  readonly rafterUpper: Line;
  readonly tiles: Line;
  readonly wall: Line;
  readonly wallInsulation: Line;
  readonly soffit: Line;
  readonly gutter: { readonly from: Point; readonly to: Point; readonly radius: number };
  /** where the drawing is cut off: pairs of short strokes */
  readonly breaks: readonly Line[];
  /** the way of the air from the eaves into the loft */
  readonly draught: readonly Line[];
  readonly dimensions: readonly Dimension[];
  readonly spots: readonly Spot[];
}

/** Sizes that a section has and nobody is asked for, mm. They carry no meaning for any figure. */
const usual = {
  board: 30,
  rafterDepth: 125,
  tileRise: 55,
  wall: 300,
  overhang: 330,
  flatRun: 1500,
  loftAbove: 1080,
  shownWall: 690,
  eavesDrop: 560,
  margin: 200,
} as const;

interface Millimetres {
  readonly x: number;
  readonly y: number;
}

const along = (from: Millimetres, direction: Millimetres, by: number): Millimetres => ({
  x: from.x + direction.x * by,
  y: from.y + direction.y * by,
});

/**
 * The section through room, slope, loft and eaves, to scale from the dwelling's own dimensions. Only the lower part of the
 * room is left out, between break lines, so that the slope is large enough to read.
 */
export function drawSection(
  section: Section,
  places: readonly Place[],
  frame: Frame,
  marks: 'on-spot' | 'beside',
): SectionGeometry {
  const pitch = (section.pitchDeg * Math.PI) / 180;
  const cos = Math.cos(pitch);
  const sin = Math.sin(pitch);
  const tan = Math.tan(pitch);
  // A slope longer than the room is high would end under the floor.
  const slope = Math.min(section.slopeLengthMm, (section.roomHeightMm - 150) / sin);

  // In mm, x from the inner face of the eaves wall to the right, y from the floor up.
  const down: Millimetres = { x: cos, y: -sin };
  const out: Millimetres = { x: sin, y: cos };
  const knee: Millimetres = { x: 0, y: section.roomHeightMm - slope * sin };
  const crown: Millimetres = { x: -slope * cos, y: section.roomHeightMm };
  const leftEdge = crown.x - usual.flatRun;
  const cut = Math.max(0, knee.y - usual.shownWall);
  const floorY = cut;
  const topY = crown.y + Math.max(usual.loftAbove, section.loftInsulationMm + 700);

  const rafterDepth = Math.max(usual.rafterDepth, section.eavesGapMm + 45);
  const boardTop = along(knee, out, usual.board);
  const rafterTop = along(boardTop, out, rafterDepth);
  const tileTop = along(rafterTop, out, usual.tileRise);
  const roofAtX = (through: Millimetres, x: number): Millimetres => ({ x, y: through.y - (x - through.x) * tan });
  const roofAtY = (through: Millimetres, y: number): Millimetres => ({ x: through.x - (y - through.y) / tan, y });
  const upperEnd = (through: Millimetres): Millimetres => {
    const atLeft = roofAtX(through, leftEdge);
    return atLeft.y <= topY ? atLeft : roofAtY(through, topY);
  };
  // A steep roof would reach far down within the depth of a usual wall and overhang: both are drawn shorter.
  const eavesX = Math.min(usual.wall + usual.overhang, usual.eavesDrop / tan);
  const wallDepth = Math.min(usual.wall, eavesX * 0.48);
  const eavesLow = roofAtX(boardTop, eavesX);
  const eavesHigh = section.pitchDeg <= 50 ? roofAtX(rafterTop, eavesX) : along(eavesLow, out, rafterDepth);
  const soffitY = eavesLow.y;
  const tilesEnd = along(along(eavesHigh, out, usual.tileRise), down, 70);
  const outdoorY = crown.y + usual.loftAbove * 0.55;
  const outdoorX = Math.max(eavesX + 60, roofAtY(tileTop, outdoorY).x + 160);

  const extent = {
    left: leftEdge,
    right: Math.max(eavesHigh.x + 150, tilesEnd.x + 20, outdoorX) + usual.margin,
    bottom: Math.min(floorY, soffitY - 150),
    top: topY + 20,
  };
  const scale = Math.min(frame.width / (extent.right - extent.left), frame.height / (extent.top - extent.bottom));
  const shift = {
    x: frame.x + (frame.width - (extent.right - extent.left) * scale) / 2,
    y: frame.y + (frame.height - (extent.top - extent.bottom) * scale) / 2,
  };
  const to = (point: Millimetres): Point => ({
    x: shift.x + (point.x - extent.left) * scale,
    y: shift.y + (extent.top - point.y) * scale,
  });
  const lineOf = (...points: Millimetres[]): Line => points.map(to);

  const flatTop = crown.y + usual.board;
  const boardCrown = { x: boardTop.x - (flatTop - boardTop.y) / tan, y: flatTop };

  const lining = section.liningThicknessMm;
  const liningFrom = along(crown, down, Math.min(40, slope * 0.05));
  const liningTo = along(crown, down, slope - Math.min(40, slope * 0.05));
  const face = (point: Millimetres, depth: number) => along(point, out, -depth);

  const kept = rafterDepth - section.eavesGapMm;
  const wool = section.loftInsulationMm;
  const woolEdge = along(boardCrown, out, kept);
  const woolTop = flatTop + wool;
  // Under a roof of little slope the insulation meets the gap before it is as high as it is thick.
  const woolMeets = roofAtY(woolEdge, woolTop);
  const woolLine: Millimetres[] =
    woolEdge.y >= woolTop
      ? [along(boardCrown, out, wool / cos), { x: leftEdge, y: woolTop }]
      : woolMeets.x >= leftEdge
        ? [woolEdge, woolMeets, { x: leftEdge, y: woolTop }]
        : [woolEdge, roofAtX(woolEdge, leftEdge)];
  const woolTopAt = (x: number) => Math.min(woolTop, roofAtX(woolEdge, x).y);

  const wallTop = (x: number) => roofAtX(boardTop, x);
  const airLine = along(boardTop, out, kept + section.eavesGapMm / 2);
  /** where the air leaves the narrow way over the insulation */
  const loftFrom = Math.max(leftEdge + 540, crown.x - wool / tan - 40);
  const within = ({ x, y }: Millimetres): Millimetres => ({
    x: Math.min(Math.max(x, extent.left + 40), extent.right - 40),
    y: Math.min(Math.max(y, extent.bottom + 40), extent.top - 40),
  });
  const breakY = floorY + (knee.y - floorY) * 0.4;
  const zigzag = (x: number, y: number, reach: number): Millimetres[] => [
    { x: x - reach, y },
    { x: x - reach / 4, y },
    { x: x - reach / 10, y: y + reach / 3 },
    { x: x + reach / 10, y: y - reach / 3 },
    { x: x + reach / 4, y },
    { x: x + reach, y },
  ];

  const dimensions: Dimension[] = [];
  const dimension = (
    name: Dimension['name'],
    from: Millimetres,
    until: Millimetres,
    at: Millimetres,
    anchor: Dimension['anchor'],
  ) => dimensions.push({ name, from: to(from), to: to(until), at: to(at), anchor });
  const heightX = leftEdge + 160;
  dimension(
    'roomHeight',
    { x: heightX, y: floorY },
    { x: heightX, y: crown.y },
    { x: heightX + 45, y: floorY + (crown.y - floorY) * 0.55 },
    'start',
  );
  if (wool > 0) {
    const x = leftEdge + 160;
    dimension(
      'loftInsulation',
      { x, y: flatTop },
      { x, y: flatTop + wool },
      { x: x + 45, y: flatTop + wool + 55 },
      'start',
    );
  }

  return {
    scale,
    room: lineOf({ x: leftEdge, y: floorY }, { x: leftEdge, y: crown.y }, crown, knee, { x: 0, y: floorY }),
    floor: lineOf({ x: leftEdge, y: floorY }, { x: wallDepth + 60, y: floorY }),
    flatCeiling: lineOf({ x: leftEdge, y: crown.y }, crown, boardCrown, { x: leftEdge, y: flatTop }),
    slopeBoard: lineOf(crown, knee, boardTop, boardCrown),
    lining: lining > 0 ? lineOf(liningFrom, liningTo, face(liningTo, lining), face(liningFrom, lining)) : null,
    liningFace: lining > 0 ? lineOf(face(liningFrom, lining), face(liningTo, lining)) : null,
    wool: wool > 0 ? lineOf({ x: leftEdge, y: flatTop }, boardCrown, ...woolLine) : null,
    rafterLower: lineOf(upperEnd(boardTop), eavesLow),
    rafterUpper: lineOf(upperEnd(rafterTop), eavesHigh, eavesLow),
    tiles: lineOf(upperEnd(tileTop), tilesEnd),
    wall: lineOf({ x: 0, y: floorY }, { x: 0, y: knee.y }, wallTop(0), wallTop(wallDepth), {
      x: wallDepth,
      y: Math.min(floorY, wallTop(wallDepth).y),
    }),
    wallInsulation: lineOf(
      { x: wallDepth * 0.35, y: floorY },
      { x: wallDepth * 0.35, y: Math.max(floorY, wallTop(wallDepth * 0.35).y - 30) },
      { x: wallDepth * 0.65, y: Math.max(floorY, wallTop(wallDepth * 0.65).y - 30) },
      { x: wallDepth * 0.65, y: floorY },
    ),
    soffit: lineOf({ x: wallDepth + (eavesX - wallDepth) * 0.35, y: soffitY }, { x: eavesX, y: soffitY }),
    gutter: {
      from: to({ x: eavesHigh.x + 12, y: eavesHigh.y + 10 }),
      to: to({ x: eavesHigh.x + 132, y: eavesHigh.y + 10 }),
      radius: 62 * scale,
    },
    breaks:
      cut > 0
        ? [
            lineOf(...zigzag(wallDepth / 2, breakY, wallDepth / 2 + 60)),
            lineOf(...zigzag(wallDepth / 2, breakY + 40, wallDepth / 2 + 60)),
          ]
        : [],
    draught: [
      [
        { x: wallDepth + (eavesX - wallDepth) * 0.17, y: soffitY - 130 },
        { x: wallDepth + (eavesX - wallDepth) * 0.17, y: soffitY + 10 },
        roofAtX(airLine, wallDepth * 0.9),
        roofAtX(airLine, crown.x * 0.3),
      ],
      [roofAtX(airLine, crown.x * 0.5), roofAtX(airLine, crown.x * 0.94)],
      [
        roofAtX(airLine, loftFrom),
        { x: loftFrom - 220, y: Math.min(roofAtX(airLine, loftFrom - 220).y, woolTop + 330) },
        { x: loftFrom - 520, y: Math.min(roofAtX(airLine, loftFrom - 520).y, woolTop + 360) },
      ],
    ].map((line) => lineOf(...line.map(within))),
    dimensions,
    spots: spotsOf(),
  };

  function spotsOf(): Spot[] {
    const seen = new Map<Place['kind'], number>();
    const counted = new Map<Place['kind'], number>();
    for (const place of places) counted.set(place.kind, (counted.get(place.kind) ?? 0) + 1);
    const roomMiddle = { x: crown.x - usual.flatRun * 0.42, y: floorY + (crown.y - floorY) * 0.42 };

    const standing = (place: Place, nth: number): Spot => {
      const spot = (at: Millimetres, side: Spot['side'], beside: Millimetres = { x: 0, y: 0 }): Spot => {
        const point = to(within(at));
        const mark = marks === 'on-spot' ? point : { x: point.x + beside.x, y: point.y - beside.y };
        return { placeId: place.id, at: point, mark, side };
      };
      switch (place.kind) {
        case 'room-air':
          return spot({ x: roomMiddle.x + nth * 320, y: roomMiddle.y - nth * 220 }, 'left');
        case 'supply-air':
          return spot({ x: leftEdge + 330 + nth * 200, y: crown.y - 420 }, 'left');
        case 'control-surface':
          return spot({ x: crown.x - usual.flatRun * (0.35 + 0.25 * nth), y: crown.y }, 'left', { x: 0, y: -20 });
        case 'ceiling-surface': {
          // The first in the middle of the slope, the next at its lower edge, then its upper edge, then between them.
          const share = counted.get(place.kind) === 1 ? 0.45 : ([0.4, 0.94, 0.06, 0.74, 0.22][nth] ?? 0.5);
          return spot(face(along(crown, down, slope * share), lining), 'right', { x: -out.x * 20, y: -out.y * 20 });
        }
        case 'behind-lining': {
          const share = [0.66, 0.25, 0.85][nth] ?? 0.5;
          return spot(along(crown, down, slope * share), 'right', { x: -out.x * 46, y: -out.y * 46 });
        }
        case 'loft-air': {
          const x = leftEdge + usual.flatRun * (0.32 + 0.2 * nth);
          const above = woolTopAt(x);
          return spot({ x, y: Math.min(above + 210, (above + roofAtX(rafterTop, x).y) / 2) }, 'left');
        }
        case 'loft-timber': {
          const level = roofAtY(boardTop, Math.min(topY - 140, woolTop + 520));
          const from = level.x < leftEdge + 150 ? roofAtX(boardTop, leftEdge + 150) : level;
          return spot(along(from, down, nth * 300), 'left');
        }
        case 'outdoor-air':
          return spot({ x: outdoorX, y: outdoorY - nth * 260 }, 'right');
      }
    };
    return places.map((place) => {
      const nth = seen.get(place.kind) ?? 0;
      seen.set(place.kind, nth + 1);
      return standing(place, nth);
    });
  }
}
