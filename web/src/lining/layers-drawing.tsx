import { useEffect, useState } from 'preact/hooks';
import type { LiningAnswer } from '../../../server/api/contract/lining-answer.ts';
import { dewPoint } from '../../../server/physics/saturation.ts';
import { TableBehind } from '../charts/behind.tsx';
import { Figure } from '../parts/working.tsx';
import { inReaderUnit, NBSP, number, quantity, readerUnit } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import type { LayerDraft } from './draft.ts';
import { type Drawn, drawnLayers } from './layers-geometry.ts';

const HEIGHT = 240;
const TOP = 14;
/** Room for the scale and for the words at the sides. */
const SIDES = 78;
const LOW = 34;
/** Units of the drawing for a millimetre, at most: a thin board must not fill the sheet. */
const MOST_PER_MM = 4;
const WIDTHS = { wide: 640, narrow: 330 } as const;
const NARROW = '(max-width: 44rem)';
/** Letters that fit along a layer. */
const LONGEST_NAME = 34;

/** The existing and the lined ceiling as measured sections, with temperature and dew point through them. */
export function LayersDrawing(props: {
  answer: LiningAnswer;
  existing: readonly LayerDraft[];
  after: readonly LayerDraft[];
}) {
  const { answer } = props;
  const { design } = answer;
  const unit = readerUnit('°C');
  const [temperature, dew] = [t.temperature(unit), t.dewPoint(unit)];
  const warmth = (celsius: number): string => number(inReaderUnit(celsius, '°C'), 1);
  const before = drawnLayers(props.existing, answer.before.profile_at_design);
  const after = drawnLayers(props.after, answer.after.profile_at_design);
  const total = useWidth();
  const perMm = Math.min(MOST_PER_MM, (total - 2 * SIDES) / Math.max(before.width, after.width, 1));
  return (
    <section>
      <h2>{t.drawings}</h2>
      <p class="small">
        {t.drawingLead(
          quantity(design.room_c, '°C', 0),
          quantity(design.room_humidity_pct, '%', 0),
          quantity(design.outdoor_c, '°C', 0),
          quantity(design.outdoor_humidity_pct, '%', 0),
        )}
      </p>
      <div class="layer-drawings">
        {(
          [
            [t.drawingBefore, before, answer.before, 'before'],
            [t.drawingAfter, after, answer.after, 'after'],
          ] as const
        ).map(([title, drawn, figures, side]) => (
          <figure key={title}>
            <figcaption>{title}</figcaption>
            <Section
              title={title}
              drawn={drawn}
              perMm={perMm}
              total={total}
              room={design.room_c}
              outdoors={design.outdoor_c}
              boundaries={figures.boundaries_at_design}
            />
            <TableBehind
              summary={`${t.boundaryTable}: ${title}`}
              columns={[t.boundary, temperature, dew, t.vapour, t.saturation]}
              rows={() =>
                figures.boundaries_at_design.map((one) => {
                  const cell = (text: string, column: string) => (
                    <Figure path={`${side}.boundaries`} text={text} of={`${one.name}, ${column}`} />
                  );
                  return {
                    key: one.name,
                    cells: [
                      one.name,
                      cell(warmth(one.temperature_c), temperature),
                      one.vapour_pressure_pa > 2 ? cell(warmth(dewPoint(one.vapour_pressure_pa)), dew) : '–',
                      cell(number(one.vapour_pressure_pa), t.vapour),
                      cell(number(one.saturation_pressure_pa), t.saturation),
                    ],
                  };
                })
              }
            />
          </figure>
        ))}
      </div>
    </section>
  );
}

/** Units the drawing is wide: fewer on a telephone, so that its letters stay as large as the text around it. */
function useWidth(): number {
  const [isNarrow, setNarrow] = useState(() => matchMedia(NARROW).matches);
  useEffect(() => {
    const media = matchMedia(NARROW);
    const hear = () => setNarrow(media.matches);
    media.addEventListener('change', hear);
    return () => media.removeEventListener('change', hear);
  }, []);
  return isNarrow ? WIDTHS.narrow : WIDTHS.wide;
}

function Section(props: {
  title: string;
  drawn: Drawn;
  perMm: number;
  total: number;
  room: number;
  outdoors: number;
  boundaries: LiningAnswer['before']['boundaries_at_design'];
}) {
  const { drawn, perMm, room, outdoors } = props;
  const x = (mm: number): number => SIDES + mm * perMm;
  const end = x(drawn.width);
  const low = Math.min(room, outdoors) - 1;
  const high = Math.max(room, outdoors) + 1;
  const y = (c: number): number => TOP + ((high - Math.min(Math.max(c, low), high)) / (high - low)) * HEIGHT;
  const bottom = TOP + HEIGHT;
  const counted = drawn.spots;
  const wet = counted.filter((spot) => spot.wet);
  const line = (points: readonly (readonly [number, number])[]): string =>
    points.map(([px, py], i) => `${i === 0 ? 'M' : 'L'}${px.toFixed(1)} ${py.toFixed(1)}`).join('');
  const last = counted.at(-1);
  const temperature = line([
    [SIDES - 30, y(room)],
    ...counted.map((spot) => [x(spot.x), y(spot.temperature)] as const),
    [(last === undefined ? end : x(last.x)) + 22, y(outdoors)],
  ]);
  const dew = line(counted.flatMap((spot) => (spot.dewPoint === null ? [] : [[x(spot.x), y(spot.dewPoint)] as const])));
  // round figures of the reader's own unit, each with its height on the drawing
  const [least, most] = [inReaderUnit(low, '°C'), inReaderUnit(high, '°C')];
  const step = most - least > 40 ? 10 : 5;
  const grid: (readonly [shown: number, height: number])[] = [];
  for (let at = Math.ceil(least / step) * step; at <= most; at += step)
    grid.push([at, y(low + ((at - least) / (most - least)) * (high - low))]);
  const surface = counted[0];
  const where = props.boundaries.filter((one) => one.vapour_pressure_pa >= one.saturation_pressure_pa - 1e-6);
  return (
    <svg
      class="layers-drawing"
      viewBox={`0 0 ${props.total} ${bottom + LOW}`}
      role="img"
      aria-label={t.describe(
        props.title,
        surface === undefined ? '–' : quantity(surface.temperature, '°C', 1),
        wet.length === 0 ? t.wetNowhere : t.wetAt(where.map(({ name }) => name).join('; ')),
      )}
    >
      {grid.map(([shown, height], i) => (
        <g key={shown}>
          <line class="grid" x1={SIDES - 34} x2={end + 34} y1={height} y2={height} />
          <text class="tick" x={SIDES - 38} y={height + 4} text-anchor="end">
            {i === grid.length - 1 ? `${number(shown)}${NBSP}${readerUnit('°C')}` : number(shown)}
          </text>
        </g>
      ))}
      {drawn.layers.map((layer, i) => (
        <g key={`${layer.name} ${i}`} class={`layer-${layer.kind}`}>
          <title>{layer.name}</title>
          {layer.kind === 'film' ? (
            <line x1={x(layer.from)} x2={x(layer.from)} y1={TOP} y2={bottom} />
          ) : (
            <rect x={x(layer.from)} width={(layer.to - layer.from) * perMm} y={TOP} height={HEIGHT} />
          )}
        </g>
      ))}
      <text class="side" x={SIDES - 6} y={bottom + 24} text-anchor="end">
        {t.room}
      </text>
      <text class="side" x={end + 6} y={bottom + 24}>
        {t.outdoors}
      </text>
      <Dimensions drawn={drawn} x={x} bottom={bottom} />
      <path class="dew-line" d={dew} />
      <path class="temperature-line" d={temperature} />
      <Names drawn={drawn} x={x} bottom={bottom} />
      {wet.map((spot) => (
        <g key={spot.x} class="wet-spot">
          <title>{t.settles}</title>
          <path d={`M${x(spot.x)} ${y(spot.temperature) - 8}c-9 13 -6 17 0 17s9 -4 0 -17z`} />
        </g>
      ))}
    </svg>
  );
}

/** Thickness of each layer under the drawing, where there is room for it. */
function Dimensions(props: { drawn: Drawn; x: (mm: number) => number; bottom: number }) {
  return (
    <>
      {props.drawn.layers.map((layer, i) => {
        const width = props.x(layer.to) - props.x(layer.from);
        if (layer.kind === 'film' || layer.kind === 'void' || layer.kind === 'declared' || width < 18) return null;
        return (
          <text
            key={`${layer.name} ${i}`}
            class="size"
            x={(props.x(layer.from) + props.x(layer.to)) / 2}
            y={props.bottom + 12}
            text-anchor="middle"
          >
            {number(layer.to - layer.from, Number.isInteger(layer.to - layer.from) ? 0 : 1)}
          </text>
        );
      })}
    </>
  );
}

/** What each layer is, written up along it where it is wide enough and the name short enough. */
function Names(props: { drawn: Drawn; x: (mm: number) => number; bottom: number }) {
  return (
    <>
      {props.drawn.layers.map((layer, i) => {
        const [from, to] = [props.x(layer.from), props.x(layer.to)];
        if (to - from < 18 || layer.name.length > LONGEST_NAME) return null;
        return (
          <text
            key={`${layer.name} ${i}`}
            class="layer-word"
            transform={`translate(${from + 14} ${props.bottom - 8}) rotate(-90)`}
          >
            {layer.name}
          </text>
        );
      })}
    </>
  );
}
