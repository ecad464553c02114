import type { Section } from '../../../server/api/contract/dwelling.ts';
import type { PlaceState } from '../../../server/api/contract/figures.ts';
import {
  type Dimension,
  type DrawnPlace,
  drawSection,
  type Line,
  type Point,
  type SectionGeometry,
} from '../../../server/drawing/section-geometry.ts';
import { number, quantity } from '../words/format.ts';
import { words } from '../words/words.ts';
import { type Label, layOutLabels } from './labels.ts';

/** The wide sheet has a column for labels on either side; the narrow one is the drawing alone with numbered marks. */
export const wideSheet = { width: 1240, height: 660, leftEdge: 214, rightEdge: 1004 } as const;
export const narrowSheet = { width: 420, height: 350 } as const;

const wideFrame = { x: 244, y: 6, width: 736, height: 640 } as const;

export interface Wide {
  readonly geometry: SectionGeometry;
  readonly labels: readonly Label[];
}

export function drawWide(section: Section, places: readonly DrawnPlace[]): Wide {
  const geometry = drawSection(section, places, wideFrame, 'on-spot');
  const labels = layOutLabels(geometry.spots, {
    leftEdge: wideSheet.leftEdge,
    rightEdge: wideSheet.rightEdge,
    drawnFrom: wideFrame.x - 2,
    drawnTo: wideFrame.x + wideFrame.width + 2,
    top: 60,
    bottom: 570,
    spacing: 152,
  });
  return { geometry, labels };
}

export const drawNarrow = (section: Section, places: readonly DrawnPlace[]): SectionGeometry =>
  drawSection(section, places, { x: 4, y: 4, width: 412, height: 342 }, 'beside');

const d = (line: Line, closed: 'open' | 'closed' = 'open'): string =>
  `${line.map(({ x, y }, i) => `${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('')}${closed === 'closed' ? 'Z' : ''}`;

/** A soft line through its points. */
function curve(line: Line): string {
  const [first, ...rest] = line;
  if (first === undefined || rest.length < 2) return d(line);
  const middle = (a: Point, b: Point) => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
  let path = `M${first.x.toFixed(1)} ${first.y.toFixed(1)}`;
  for (let i = 0; i < rest.length - 1; i++) {
    const end = i === rest.length - 2 ? rest[i + 1]! : middle(rest[i]!, rest[i + 1]!);
    path += `Q${rest[i]!.x.toFixed(1)} ${rest[i]!.y.toFixed(1)} ${end.x.toFixed(1)} ${end.y.toFixed(1)}`;
  }
  return path;
}

function dimensionText(name: Dimension['name'], section: Section): string {
  switch (name) {
    case 'slopeLength':
      return quantity(section.slopeLengthMm, 'mm', 0);
    case 'roomHeight':
      return quantity(section.roomHeightMm, 'mm', 0);
    case 'lining':
      return quantity(section.liningThicknessMm, 'mm', 0);
    case 'loftInsulation':
      return quantity(section.loftInsulationMm, 'mm', 0);
    case 'eavesGap':
      return quantity(section.eavesGapMm, 'mm', 0);
  }
}

/** Room, slope, lining, loft, eaves and outdoors. The words beside the drawing say what it shows. */
export function Building(props: {
  geometry: SectionGeometry;
  section: Section;
  id: string;
  dimensions: 'shown' | 'left-out';
}) {
  const { geometry: g, section, id } = props;
  return (
    <g class="building">
      <defs>
        <pattern id={`${id}-wool`} width="16" height="16" patternUnits="userSpaceOnUse">
          <path class="wool-stroke" d="M0 12c4-12 12-12 16 0" fill="none" />
        </pattern>
        <pattern id={`${id}-foam`} width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(28)">
          <path class="foam-stroke" d="M0 0v7" fill="none" />
        </pattern>
        <marker id={`${id}-air`} viewBox="0 0 8 8" refX="6" refY="4" markerWidth="7" markerHeight="7" orient="auto">
          <path class="air-head" d="M0 .8 7 4 0 7.2z" />
        </marker>
      </defs>
      <path class="room" d={d(g.room, 'closed')} />
      {g.wool && <path class="wool" d={d(g.wool, 'closed')} fill={`url(#${id}-wool)`} />}
      <path class="wool bare" d={d(g.wallInsulation, 'closed')} fill={`url(#${id}-wool)`} />
      <path class="thin" d={d(g.rafterLower)} />
      <path class="ink" d={d(g.rafterUpper)} />
      <path class="tiles" d={d(g.tiles)} />
      <path class="board" d={d(g.flatCeiling, 'closed')} />
      <path class="board" d={d(g.slopeBoard, 'closed')} />
      <path class="thin" d={d(g.wall)} />
      {g.lining && <path class="foam" d={d(g.lining, 'closed')} fill={`url(#${id}-foam)`} />}
      {g.liningFace && <path class="lining-face" d={d(g.liningFace)} />}
      <path class="thin" d={d(g.soffit)} />
      <path
        class="thin"
        d={`M${g.gutter.from.x.toFixed(1)} ${g.gutter.from.y.toFixed(1)}A${g.gutter.radius.toFixed(1)} ${g.gutter.radius.toFixed(1)} 0 0 0 ${g.gutter.to.x.toFixed(1)} ${g.gutter.to.y.toFixed(1)}`}
      />
      <path class="floor" d={d(g.floor)} />
      {g.breaks.length === 2 && (
        <path class="break-fill" d={d([...g.breaks[0]!, ...[...g.breaks[1]!].reverse()], 'closed')} />
      )}
      {g.breaks.map((line, i) => (
        <path key={i} class="thin" d={d(line)} />
      ))}
      {g.draught.map((line, i) => (
        <path key={i} class="air" d={curve(line)} marker-end={`url(#${id}-air)`} />
      ))}
      {props.dimensions === 'shown' &&
        g.dimensions.map((dimension) => (
          <g key={dimension.name} class="dimension">
            <path d={`${d([dimension.from, dimension.to])}${tick(dimension.from)}${tick(dimension.to)}`} />
            <text
              x={dimension.at.x}
              y={dimension.at.y}
              text-anchor={dimension.anchor}
              transform={
                dimension.turn === 0
                  ? undefined
                  : `rotate(${dimension.turn} ${dimension.at.x.toFixed(1)} ${dimension.at.y.toFixed(1)})`
              }
            >
              {dimensionText(dimension.name, section)}
            </text>
          </g>
        ))}
      {props.dimensions === 'shown' && (
        <g class="dimension">
          <path d={d(g.pitch.level)} />
          <path d={arc(g.pitch.arc)} />
          <text x={g.pitch.at.x} y={g.pitch.at.y}>
            {`${number(section.pitchDeg)}°`}
          </text>
        </g>
      )}
    </g>
  );
}

const arc = ({ from, to, radius }: SectionGeometry['pitch']['arc']): string =>
  `M${from.x.toFixed(1)} ${from.y.toFixed(1)}A${radius.toFixed(1)} ${radius.toFixed(1)} 0 0 1 ${to.x.toFixed(1)} ${to.y.toFixed(1)}`;

const tick = ({ x, y }: Point): string => `M${(x - 4).toFixed(1)} ${(y + 4).toFixed(1)}l8-8`;

/** A place's mark: a ring on its spot; its fill repeats the state that the words beside it say. */
export function Mark(props: { at: Point; tone: PlaceState['tone']; radius: number; text?: string }) {
  return (
    <g class={`mark tone-${props.tone}`}>
      <circle cx={props.at.x} cy={props.at.y} r={props.radius} />
      {props.text !== undefined && (
        <text x={props.at.x} y={props.at.y + props.radius * 0.42} text-anchor="middle">
          {props.text}
        </text>
      )}
    </g>
  );
}

export const leaderPath = d;

/** What the drawing shows, for those who cannot see it. */
export const describe = (section: Section): string => words.section.describe(section);
