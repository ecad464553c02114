import { drawSection, type Line } from '../../../drawing/section-geometry.ts';
import type { Dwelling, Place } from '../../../store/port.ts';
import type { Scene, Shape } from '../scene.ts';

const WIDTH = 480;
const HEIGHT = 300;

const flat = (line: Line): number[] => line.flatMap(({ x, y }) => [x, y]);

/** The section to scale, with a number where each place is. */
export function sectionChart({ section }: Pick<Dwelling, 'section'>, places: readonly Place[]): Scene {
  const g = drawSection(section, places, { x: 40, y: 4, width: WIDTH - 80, height: HEIGHT - 8 }, 'on-spot');
  const line = (points: Line, width: number): Shape => ({ kind: 'line', points: flat(points), ink: 'ink', width });
  const sizes: Readonly<Record<string, string>> = {
    slopeLength: `${section.slopeLengthMm} mm`,
    roomHeight: `${section.roomHeightMm} mm`,
    lining: `${section.liningThicknessMm} mm`,
    loftInsulation: `${section.loftInsulationMm} mm`,
    eavesGap: `${section.eavesGapMm} mm`,
  };
  return {
    width: WIDTH,
    height: HEIGHT,
    alt: `Section through room, slope, loft and eaves. ${places.map(({ name }, k) => `${k + 1}: ${name}`).join('. ')}.`,
    shapes: [
      ...(g.wool === null
        ? []
        : [{ kind: 'area' as const, points: flat(g.wool), ink: 'shade' as const, edge: 'soft' as const }]),
      { kind: 'area', points: flat(g.flatCeiling), ink: 'hair', edge: 'ink' },
      { kind: 'area', points: flat(g.slopeBoard), ink: 'hair', edge: 'ink' },
      ...(g.lining === null
        ? []
        : [{ kind: 'area' as const, points: flat(g.lining), ink: 'tint' as const, edge: 'ink' as const }]),
      line(g.rafterLower, 0.5),
      line(g.rafterUpper, 0.9),
      line(g.tiles, 1.4),
      line(g.wall, 0.9),
      line(g.soffit, 0.6),
      line(g.floor, 1.2),
      ...g.breaks.map((one) => line(one, 0.6)),
      ...g.draught.map((one): Shape => ({ kind: 'line', points: flat(one), ink: 'air', width: 0.9, dash: [4, 2] })),
      ...g.dimensions.flatMap(({ name, from, to, at, anchor, turn }): Shape[] => [
        { kind: 'line', points: [from.x, from.y, to.x, to.y], ink: 'soft', width: 0.5 },
        ...(turn === 0
          ? [
              {
                kind: 'text' as const,
                x: at.x,
                y: at.y,
                text: sizes[name] ?? '',
                size: 7,
                ink: 'soft' as const,
                anchor,
              },
            ]
          : []),
      ]),
      ...g.spots.flatMap(({ placeId, at }): Shape[] => [
        { kind: 'dot', x: at.x, y: at.y, radius: 6.5, ink: 'ink' },
        { kind: 'dot', x: at.x, y: at.y, radius: 5.8, ink: 'paper' },
        {
          kind: 'text',
          x: at.x,
          y: at.y + 2.6,
          text: String(places.findIndex(({ id }) => id === placeId) + 1),
          size: 7.5,
          bold: true,
          anchor: 'middle',
        },
      ]),
    ],
  };
}
