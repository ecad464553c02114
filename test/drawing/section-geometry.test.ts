import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Place, Section } from '../../server/api/contract/dwelling.ts';
import {
  type DrawnPlace,
  drawSection,
  type Line,
  type Point,
  type SectionGeometry,
} from '../../server/drawing/section-geometry.ts';
import { layOutLabels } from '../../web/src/drawing/labels.ts';

const section: Section = {
  pitchDeg: 35,
  slopeLengthMm: 1300,
  roomHeightMm: 2400,
  liningThicknessMm: 76,
  loftInsulationMm: 300,
  eavesGapMm: 50,
};
const kinds: Place['kind'][] = [
  'room-air',
  'ceiling-surface',
  'ceiling-surface',
  'control-surface',
  'behind-lining',
  'loft-air',
  'loft-timber',
  'outdoor-air',
  'supply-air',
];
const places: DrawnPlace[] = kinds.map((kind, i) => ({ id: i + 1, kind, position: null }));
const frame = { x: 0, y: 0, width: 800, height: 600 };
const drawn = drawSection(section, places, frame, 'on-spot');

// Any section the contract lets in.
const sections: fc.Arbitrary<Section> = fc.record({
  pitchDeg: fc.double({ min: 5, max: 85, noNaN: true }),
  slopeLengthMm: fc.integer({ min: 200, max: 10_000 }),
  roomHeightMm: fc.integer({ min: 1500, max: 6000 }),
  liningThicknessMm: fc.integer({ min: 0, max: 400 }),
  loftInsulationMm: fc.integer({ min: 0, max: 1000 }),
  eavesGapMm: fc.integer({ min: 0, max: 500 }),
});

const length = (a: Point, b: Point) => Math.hypot(a.x - b.x, a.y - b.y);
const isPoint = (value: unknown): value is Point => typeof value === 'object' && value !== null && 'x' in value;
const allPoints = (g: SectionGeometry): Point[] => {
  const found: Point[] = [];
  const walk = (value: unknown): void => {
    if (isPoint(value)) found.push(value);
    else if (typeof value === 'object' && value !== null) for (const part of Object.values(value)) walk(part);
  };
  walk(g);
  return found;
};
const spot = (kind: Place['kind'], nth = 0) => {
  const place = places.filter((each) => each.kind === kind)[nth]!;
  return drawn.spots.find(({ placeId }) => placeId === place.id)!.at;
};
/** distance from a point to the line through the first two points of a drawn line */
const distance = (point: Point, line: Line) => {
  const [a, b] = [line[0]!, line[1]!];
  return Math.abs((b.x - a.x) * (a.y - point.y) - (a.x - point.x) * (b.y - a.y)) / length(a, b);
};

describe('the drawn section', () => {
  // Floating point only: nothing here is rounded before it is drawn.
  const exact = 6;

  it('slopes as the roof of the dwelling does', () => {
    const [high, low] = [drawn.rafterLower[0]!, drawn.rafterLower[1]!];
    expect((Math.atan2(low.y - high.y, low.x - high.x) * 180) / Math.PI).toBeCloseTo(35, exact);
  });

  it('shows slope, lining and loft insulation to one scale', () => {
    const [crown, knee] = [drawn.slopeBoard[0]!, drawn.slopeBoard[1]!];
    expect(length(crown, knee)).toBeCloseTo(1300 * drawn.scale, exact);
    const [faceTop, oldTop] = [drawn.liningFace![0]!, drawn.lining![0]!];
    expect(length(faceTop, oldTop)).toBeCloseTo(76 * drawn.scale, exact);
    const ys = drawn.wool!.map(({ y }) => y);
    expect(Math.max(...ys) - Math.min(...ys)).toBeCloseTo(300 * drawn.scale, exact);
  });

  it('keeps the eaves gap open between the insulation and the roof', () => {
    const roof = drawn.rafterUpper;
    const nearest = Math.min(...drawn.wool!.map((point) => distance(point, roof)));
    expect(nearest).toBeCloseTo(50 * drawn.scale, exact);
  });

  it('stands a surface sensor on the face of the lining and the hidden one on the old board', () => {
    expect(distance(spot('ceiling-surface'), drawn.liningFace!)).toBeCloseTo(0, exact);
    expect(distance(spot('behind-lining'), [drawn.lining![0]!, drawn.lining![1]!])).toBeCloseTo(0, exact);
  });

  it('stands the room below the ceiling, the loft above its insulation, and outdoors beyond the roof', () => {
    const ceiling = drawn.flatCeiling[0]!.y;
    expect(spot('room-air').y).toBeGreaterThan(ceiling);
    expect(spot('loft-air').y).toBeLessThan(Math.min(...drawn.wool!.map(({ y }) => y)));
    const [a, b] = [drawn.tiles[0]!, drawn.tiles[1]!];
    const tilesAt = (x: number) => a.y + ((x - a.x) * (b.y - a.y)) / (b.x - a.x);
    expect(spot('outdoor-air').y).toBeLessThan(tilesAt(spot('outdoor-air').x));
    expect(spot('loft-air').y).toBeGreaterThan(tilesAt(spot('loft-air').x));
  });

  it('has dimension lines as long as what they measure', () => {
    const lengthOf = (name: SectionGeometry['dimensions'][number]['name']) => {
      const { from, to } = drawn.dimensions.find((dimension) => dimension.name === name)!;
      return length(from, to) / drawn.scale;
    };
    expect(lengthOf('slopeLength')).toBeCloseTo(1300, 3);
    expect(lengthOf('lining')).toBeCloseTo(76, 3);
    expect(lengthOf('loftInsulation')).toBeCloseTo(300, 3);
    expect(lengthOf('eavesGap')).toBeCloseTo(50, 3);
    const { level, arc } = drawn.pitch;
    const [corner] = level as [Point];
    const angle = (point: Point) => (Math.atan2(point.y - corner.y, point.x - corner.x) * 180) / Math.PI;
    expect(angle(arc.to) - angle(arc.from)).toBeCloseTo(35, exact);
  });

  it('stands a second ceiling surface on the slope and not at its lower edge', () => {
    const [crown, knee] = [drawn.slopeBoard[0]!, drawn.slopeBoard[1]!];
    const shares = [0, 1].map((nth) => {
      const at = spot('ceiling-surface', nth);
      return ((at.x - crown.x) * (knee.x - crown.x) + (at.y - crown.y) * (knee.y - crown.y)) / length(crown, knee) ** 2;
    });
    for (const share of shares) {
      expect(share).toBeGreaterThan(0.1);
      expect(share).toBeLessThan(0.85);
    }
    expect(Math.abs(shares[1]! - shares[0]!)).toBeGreaterThan(0.3);
  });

  it('stands a place where it was put, and finds the same position from the point', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...kinds),
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        (kind, along, up) => {
          const position = { along, up: drawn.hasHeight(kind) ? up : 0 };
          const one = drawSection(section, [{ id: 1, kind, position }], frame, 'on-spot');
          const found = one.positionAt(kind, one.spots[0]!.at);
          expect(found.along).toBeCloseTo(along, 6);
          expect(found.up).toBeCloseTo(position.up, 6);
        },
      ),
    );
  });

  it('takes any point of the paper for the nearest position there is', () => {
    fc.assert(
      fc.property(
        sections,
        fc.constantFrom(...kinds),
        fc.double({ min: -100, max: 900, noNaN: true }),
        fc.double({ min: -100, max: 700, noNaN: true }),
        (any, kind, x, y) => {
          const { along, up } = drawSection(any, [], frame, 'on-spot').positionAt(kind, { x, y });
          for (const share of [along, up]) {
            expect(share).toBeGreaterThanOrEqual(0);
            expect(share).toBeLessThanOrEqual(1);
          }
        },
      ),
    );
  });

  it('draws no lining where there is none', () => {
    const bare = drawSection({ ...section, liningThicknessMm: 0 }, places, frame, 'on-spot');
    expect(bare.lining).toBeNull();
    expect(bare.liningFace).toBeNull();
  });

  it('stays on its paper whatever dimensions a home has', () => {
    fc.assert(
      fc.property(sections, (any) => {
        const points = allPoints(drawSection(any, places, frame, 'on-spot'));
        expect(points.length).toBeGreaterThan(40);
        for (const { x, y } of points) {
          expect(x).toBeGreaterThanOrEqual(-1);
          expect(x).toBeLessThanOrEqual(frame.width + 1);
          expect(y).toBeGreaterThanOrEqual(-1);
          expect(y).toBeLessThanOrEqual(frame.height + 1);
        }
      }),
    );
  });
});

describe('labels beside the drawing', () => {
  const columns = { leftEdge: 200, rightEdge: 1000, drawnFrom: 210, drawnTo: 990, top: 40, bottom: 560, spacing: 100 };

  it('never lie on each other, keep the order of their spots and stay on the sheet', () => {
    const spots = fc.array(
      fc.record({
        x: fc.double({ min: 210, max: 990, noNaN: true }),
        y: fc.double({ min: 0, max: 600, noNaN: true }),
        side: fc.constantFrom('left' as const, 'right' as const),
      }),
      { maxLength: 10 },
    );
    fc.assert(
      fc.property(spots, (list) => {
        const labels = layOutLabels(
          list.map(({ x, y, side }, i) => ({
            placeId: i,
            at: { x, y },
            mark: { x, y },
            leave: { x, y },
            side,
            position: { along: 0, up: 0 },
          })),
          columns,
        );
        expect(labels.length).toBe(list.length);
        for (const side of ['left', 'right'] as const) {
          const column = labels.filter((label) => label.side === side);
          const least = Math.min(columns.spacing, (columns.bottom - columns.top) / Math.max(1, column.length - 1));
          column.forEach((label, i) => {
            expect(label.y).toBeGreaterThanOrEqual(columns.top - 1e-6);
            expect(label.y).toBeLessThanOrEqual(columns.bottom + 1e-6);
            const before = column[i - 1];
            if (before === undefined) return;
            expect(label.y - before.y).toBeGreaterThanOrEqual(least - 1e-6);
            expect(list[label.placeId]!.y).toBeGreaterThanOrEqual(list[before.placeId]!.y);
          });
        }
      }),
    );
  });

  it('are led to from the loft air over the insulation and not through it', () => {
    const wool = drawn.wool!;
    const [left, right] = [Math.min(...wool.map(({ x }) => x)), Math.max(...wool.map(({ x }) => x))];
    const top = Math.min(...wool.map(({ y }) => y));
    for (const along of [0.05, 0.3, 0.6, 0.95]) {
      const given = places.map((place) =>
        place.kind === 'loft-air' ? { ...place, position: { along, up: 0.1 } } : place,
      );
      const { spots } = drawSection(section, given, frame, 'on-spot');
      const labels = layOutLabels(spots, { ...columns, leftEdge: -30, drawnFrom: 0, rightEdge: 830, drawnTo: 800 });
      const loft = given.find(({ kind }) => kind === 'loft-air')!;
      const { leader } = labels.find(({ placeId }) => placeId === loft.id)!;
      leader.slice(1).forEach((end, i) => {
        const start = leader[i]!;
        for (let step = 0; step <= 50; step++) {
          const x = start.x + ((end.x - start.x) * step) / 50;
          const y = start.y + ((end.y - start.y) * step) / 50;
          if (x > left + 1 && x < right) expect(y).toBeLessThan(top);
        }
      });
    }
  });

  it('never have leaders that cross within a column', () => {
    const { spots } = drawn;
    const labels = layOutLabels(spots, { ...columns, leftEdge: -30, drawnFrom: 0, rightEdge: 830, drawnTo: 800 });
    for (const side of ['left', 'right'] as const) {
      const ends = labels.filter((label) => label.side === side).map(({ leader }) => leader.slice(-2));
      const sorted = [...ends].sort((a, b) => a[0]!.y - b[0]!.y);
      expect(sorted.map(([, end]) => end!.y)).toEqual([...sorted.map(([, end]) => end!.y)].sort((a, b) => a - b));
    }
  });

  it('are led to from their own spot', () => {
    const [label] = layOutLabels(
      [
        {
          placeId: 7,
          at: { x: 600, y: 300 },
          mark: { x: 600, y: 300 },
          leave: { x: 600, y: 300 },
          side: 'right',
          position: { along: 0, up: 0 },
        },
      ],
      columns,
    );
    expect(label!.leader[0]).toEqual({ x: 600, y: 300 });
    expect(label!.leader.at(-1)).toEqual({ x: 1000, y: 300 });
  });
});
