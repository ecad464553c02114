import type { Place, Section, SectionPosition } from '../api/contract/dwelling.ts';
import { type Millimetres, onLine, type Regions, usualPosition, within } from './regions.ts';

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
  readonly name: 'slopeLength' | 'roomHeight' | 'lining' | 'loftInsulation' | 'eavesGap';
  readonly from: Point;
  readonly to: Point;
  readonly at: Point;
  readonly anchor: 'start' | 'middle' | 'end';
  /** degrees that its words are turned, clockwise */
  readonly turn: number;
}

/** The angle of the roof: a level line over the tiles, and the arc from it down to them. */
export interface PitchMark {
  readonly level: Line;
  readonly arc: { readonly from: Point; readonly to: Point; readonly radius: number };
  readonly at: Point;
}

/** What the drawing needs to know of a place. */
export type DrawnPlace = Pick<Place, 'id' | 'kind' | 'position'>;

/** A place where it stands: the spot itself, and the point beside it where its mark has room. */
export interface Spot {
  readonly placeId: number;
  readonly at: Point;
  readonly mark: Point;
  /** where its leader leaves it: beside the line of a level ceiling, so that the two can be told apart */
  readonly leave: Point;
  readonly side: 'left' | 'right';
  /** where it stands as shares of the room for its kind, said or usual */
  readonly position: SectionPosition;
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
  readonly pitch: PitchMark;
  readonly spots: readonly Spot[];
  /** the point of the drawing for a position of a kind, and the position that is nearest to a point of the drawing */
  readonly pointOf: (kind: Place['kind'], position: SectionPosition) => Point;
  readonly positionAt: (kind: Place['kind'], point: Point) => SectionPosition;
  /** whether a place of a kind can be moved up and down as well as along */
  readonly hasHeight: (kind: Place['kind']) => boolean;
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
  places: readonly DrawnPlace[],
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
  const from = (point: Point): Millimetres => ({
    x: extent.left + (point.x - shift.x) / scale,
    y: extent.top - (point.y - shift.y) / scale,
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
  const onPaper = ({ x, y }: Millimetres): Millimetres => ({
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

  const roofUnder = (x: number) => roofAtX(boardTop, x).y;
  const faceAt = (x: number) => (x <= crown.x ? crown.y : crown.y - (x - crown.x) * tan) - lining / cos;
  // as far as there is height to stand in over the insulation
  const loftRight = Math.max(leftEdge + 400, roofAtY(boardTop, woolTop + 220).x);
  const sky = { left: Math.min(eavesX + 20, extent.right - 120), right: extent.right - 60 };
  const slopeFace = onLine(
    face(along(crown, down, slope * 0.03), lining),
    face(along(crown, down, slope * 0.97), lining),
  );
  const air = within(
    leftEdge + 120,
    Math.max(leftEdge + 240, -90),
    () => floorY + 110,
    (x) => faceAt(x) - 110,
  );
  const rafter = upperEnd(boardTop);
  const regions: Regions = {
    'room-air': air,
    'supply-air': air,
    'control-surface': onLine({ x: leftEdge + 60, y: crown.y }, { x: crown.x - 40, y: crown.y }),
    'ceiling-surface': slopeFace,
    'behind-lining': onLine(along(crown, down, slope * 0.03), along(crown, down, slope * 0.97)),
    'loft-air': within(
      leftEdge + 100,
      loftRight,
      (x) => woolTopAt(x) + 70,
      (x) => Math.min(roofUnder(x), topY) - 70,
    ),
    'loft-timber': onLine(
      { x: Math.max(rafter.x, leftEdge + 60), y: roofUnder(Math.max(rafter.x, leftEdge + 60)) },
      boardCrown,
    ),
    'outdoor-air': within(
      sky.left,
      sky.right,
      (x) => Math.max(extent.bottom + 80, roofAtX(tileTop, x).y + 160),
      () => extent.top - 60,
    ),
  };
  // In the narrow drawing a mark stands beside its spot, where it hides nothing; in the drawing's own units.
  const besideOf: Readonly<Record<Place['kind'], Millimetres>> = {
    'room-air': { x: 0, y: 0 },
    'supply-air': { x: 0, y: 0 },
    'control-surface': { x: 0, y: -20 },
    'ceiling-surface': { x: -out.x * 20, y: -out.y * 20 },
    'behind-lining': { x: -out.x * 46, y: -out.y * 46 },
    'loft-air': { x: 0, y: 0 },
    'loft-timber': { x: 0, y: 0 },
    'outdoor-air': { x: 0, y: 0 },
  };

  const dimensions: Dimension[] = [];
  const dimension = (
    name: Dimension['name'],
    from: Millimetres,
    until: Millimetres,
    at: Millimetres,
    anchor: Dimension['anchor'],
    turn = 0,
  ) => dimensions.push({ name, from: to(from), to: to(until), at: to(at), anchor, turn });
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

  const beside = lining + 250;
  dimension(
    'slopeLength',
    onPaper(face(crown, beside)),
    onPaper(face(knee, beside)),
    onPaper(face(along(crown, down, slope * 0.28), beside + 45)),
    'middle',
    section.pitchDeg,
  );
  if (lining > 0) {
    const across = along(crown, down, Math.min(110, slope * 0.12));
    dimension('lining', across, face(across, lining), face(across, lining + 70), 'end');
  }
  if (section.eavesGapMm > 0) {
    const through = roofAtX(boardTop, crown.x * 0.2);
    const outer = along(through, out, rafterDepth);
    const words = onPaper(along(outer, out, usual.tileRise + 70));
    dimension('eavesGap', along(through, out, kept), outer, words, 'start');
  }
  const corner = roofAtX(tileTop, Math.max(leftEdge + 200, crown.x * 0.75));
  const pitchReach = 300;
  const pitchMark: PitchMark = {
    level: lineOf(onPaper(corner), onPaper({ x: corner.x + pitchReach, y: corner.y })),
    arc: {
      from: to(onPaper({ x: corner.x + pitchReach * 0.75, y: corner.y })),
      to: to(onPaper(along(corner, down, pitchReach * 0.75))),
      radius: pitchReach * 0.75 * scale,
    },
    at: to(onPaper({ x: corner.x + pitchReach + 25, y: corner.y - 30 })),
  };

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
    ].map((line) => lineOf(...line.map(onPaper))),
    dimensions,
    pitch: pitchMark,
    spots: spotsOf(),
    pointOf: (kind, position) => to(onPaper(regions[kind].at(position))),
    positionAt: (kind, point) => regions[kind].of(from(point)),
    hasHeight: (kind) => regions[kind].hasHeight,
  };

  function spotsOf(): Spot[] {
    const seen = new Map<Place['kind'], number>();
    const counted = new Map<Place['kind'], number>();
    for (const { kind } of places) counted.set(kind, (counted.get(kind) ?? 0) + 1);
    return places.map((place) => {
      const nth = seen.get(place.kind) ?? 0;
      seen.set(place.kind, nth + 1);
      const position = place.position ?? usualPosition(place.kind, nth, counted.get(place.kind)!);
      const at = to(onPaper(regions[place.kind].at(position)));
      const beside = besideOf[place.kind];
      const mark = marks === 'on-spot' ? at : { x: at.x + beside.x, y: at.y - beside.y };
      const leave = place.kind === 'control-surface' ? { x: mark.x, y: mark.y + 18 } : mark;
      return { placeId: place.id, at, mark, leave, side: sideOf[place.kind], position };
    });
  }
}

/** The column in which a kind's label stands: what is under or in the roof's left, or towards the eaves. */
const sideOf: Readonly<Record<Place['kind'], Spot['side']>> = {
  'room-air': 'left',
  'supply-air': 'left',
  'control-surface': 'left',
  'loft-air': 'left',
  'loft-timber': 'left',
  'ceiling-surface': 'right',
  'behind-lining': 'right',
  'outdoor-air': 'right',
};
