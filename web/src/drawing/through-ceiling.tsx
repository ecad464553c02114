import type { PlaceNow } from '../../../server/api/contract/figures.ts';
import { digits, plusMinus, quantity } from '../words/format.ts';
import { sectionWords } from '../words/section.ts';
import { words } from '../words/words.ts';
import { type Node, scaleOf, throughCeiling } from './through.ts';

const t = sectionWords.through;
const paper = { width: 400, height: 330 } as const;
const band = { temperature: [34, 148], vapour: [196, 296] } as const;
const plot = { left: 14, right: 386 } as const;

const xOf = (share: number): number => plot.left + share * (plot.right - plot.left);
const path = (points: readonly (readonly [number, number])[]): string =>
  points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');

/** Temperature, and water vapour beside the most the air can hold, from the room through the ceiling to outdoors. */
export function ThroughCeiling(props: { places: readonly PlaceNow[]; lined: boolean }) {
  const found = throughCeiling(props.places, props.lined);
  return (
    <section class="through">
      <h2>{t.title}</h2>
      {found === null ? (
        <p class="small">{t.tooLittle}</p>
      ) : (
        <>
          <p class="small">{t.lead}</p>
          <div class="through-body">
            <Drawn nodes={found.nodes} dewPoint={found.dewPoint} lined={found.lined} />
            <div>
              <ul class="legend small">
                <Key kind="temperature" text={t.temperature} />
                {found.dewPoint !== null && <Key kind="dew" text={t.dewPoint} />}
                <Key kind="vapour" text={t.vapour} />
                <Key kind="most" text={t.most} />
              </ul>
              <p class="small">
                {t.note} {t.vapourAtSurface}
              </p>
              <Table nodes={found.nodes} />
            </div>
          </div>
        </>
      )}
    </section>
  );
}

function Drawn(props: { nodes: readonly Node[]; dewPoint: number | null; lined: boolean }) {
  const { nodes, dewPoint, lined } = props;
  const temperatures = nodes.flatMap(({ temperature }) => (temperature ? [temperature.value] : []));
  const yT = scaleOf(dewPoint === null ? temperatures : [...temperatures, dewPoint], ...band.temperature);
  const pressures = nodes.flatMap(({ vapour, most }) => [...(vapour ? [vapour.value] : []), ...(most ? [most] : [])]);
  const yV = scaleOf(pressures, ...band.vapour);
  const vapours = nodes.filter(({ vapour }) => vapour !== null);
  const mosts = nodes.filter(({ most }) => most !== null);
  const surface = nodes.find(({ name }) => name === 'surface');
  const board = xOf(lined ? 0.6 : 0.36);
  return (
    <svg
      class="through-drawing"
      viewBox={`0 0 ${paper.width} ${paper.height}`}
      role="img"
      aria-label={t.describe(nodes.map(lineOf))}
    >
      <defs>
        <pattern id="t-foam" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(28)">
          <path class="foam-stroke" d="M0 0v7" fill="none" />
        </pattern>
      </defs>
      {lined && (
        <rect
          class="through-lining"
          x={xOf(0.36)}
          y={18}
          width={xOf(0.6) - xOf(0.36)}
          height={286}
          fill="url(#t-foam)"
        />
      )}
      <rect class="through-board" x={board} y={18} width={10} height={286} />
      {lined && (
        <text class="layer" x={(xOf(0.36) + xOf(0.6)) / 2} y={12} text-anchor="middle">
          {t.layers.lining}
        </text>
      )}
      <text class="layer" x={board + 5} y={12} text-anchor={lined ? 'start' : 'middle'}>
        {t.layers.board}
      </text>
      {dewPoint !== null && surface && (
        <path
          class="line-dew"
          d={path([
            [xOf(0.06), yT(dewPoint)],
            [xOf(0.36), yT(dewPoint)],
          ])}
        />
      )}
      <path class="line-temperature" d={path(nodes.map((node) => [xOf(node.across), yT(node.temperature!.value)]))} />
      <path class="line-most" d={path(mosts.map((node) => [xOf(node.across), yV(node.most!)]))} />
      <path class="line-vapour" d={path(vapours.map((node) => [xOf(node.across), yV(node.vapour!.value)]))} />
      {nodes.map((node, i) => {
        const x = xOf(node.across);
        const anchor = i === 0 ? 'start' : i === nodes.length - 1 ? 'end' : 'middle';
        const at = anchor === 'start' ? plot.left - 12 : anchor === 'end' ? plot.right + 12 : x;
        const y = yT(node.temperature!.value);
        return (
          <g key={node.name}>
            <circle class="point-temperature" cx={x} cy={y} r={4.5} />
            <text x={at} y={y - 10} text-anchor={anchor}>
              {quantity(node.temperature!.value, '°C', digits.temperature)}
            </text>
            {node.vapour && (
              <>
                <rect class="point-vapour" x={x - 4} y={yV(node.vapour.value) - 4} width={8} height={8} />
                <text x={at} y={yV(node.vapour.value) + 19} text-anchor={anchor}>
                  {quantity(node.vapour.value, 'Pa', digits.pascal)}
                </text>
              </>
            )}
            <text class="layer" x={at} y={paper.height - 4} text-anchor={anchor}>
              {t.nodes[node.name]}
            </text>
          </g>
        );
      })}
      <text class="track-name" x={plot.right + 12} y={band.vapour[0] - 26} text-anchor="end">
        {t.vapour}
      </text>
    </svg>
  );
}

const lineOf = (node: Node): string =>
  t.line(
    t.nodes[node.name],
    plusMinus(node.temperature!, '°C', digits.temperature),
    node.vapour ? plusMinus(node.vapour, 'Pa', digits.pascal) : words.notKnown,
  );

function Key(props: { kind: 'temperature' | 'dew' | 'vapour' | 'most'; text: string }) {
  return (
    <li>
      <svg class="key" viewBox="0 0 34 12" width="34" height="12" aria-hidden="true">
        <path class={`line-${props.kind}`} d="M1 6H33" />
        {props.kind === 'temperature' && <circle class="point-temperature" cx={17} cy={6} r={4} />}
        {props.kind === 'vapour' && <rect class="point-vapour" x={13} y={2} width={8} height={8} />}
      </svg>{' '}
      {props.text}
    </li>
  );
}

function Table(props: { nodes: readonly Node[] }) {
  return (
    <details>
      <summary>{t.table}</summary>
      <table class="folds figures-table">
        <thead>
          <tr>
            <th scope="col">{t.columns.where}</th>
            <th scope="col">{t.columns.temperature}</th>
            <th scope="col">{t.columns.vapour}</th>
            <th scope="col">{t.columns.most}</th>
          </tr>
        </thead>
        <tbody>
          {props.nodes.map((node) => (
            <tr key={node.name}>
              <th scope="row">{t.nodes[node.name]}</th>
              <td data-label={t.columns.temperature}>{plusMinus(node.temperature!, '°C', digits.temperature)}</td>
              <td data-label={t.columns.vapour}>
                {node.vapour ? plusMinus(node.vapour, 'Pa', digits.pascal) : words.notKnown}
              </td>
              <td data-label={t.columns.most}>
                {node.most === null ? words.notKnown : quantity(node.most, 'Pa', digits.pascal)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
