import type { MovedTrouble } from '../../../server/api/contract/comparison.ts';
import { useHome } from '../home.ts';
import { Figure, FigureProse } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { estimate, quantity, when } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';
import { kindTone } from './verdict.tsx';

/** Edges, the layer behind the lining, the loft: where trouble could have gone. */
export function Moved(props: { moved: readonly MovedTrouble[] }) {
  const home = useHome();
  return (
    <section>
      <h2>{t.movedTitle}</h2>
      {props.moved.length === 0 && <p>{t.movedNone}</p>}
      <div class="moved">
        {props.moved.map((moved, i) => (
          <article key={moved.place} class={`verdict-box tone-${kindTone[moved.kind]}`}>
            <h3>{moved.place}</h3>
            <p>
              <strong>{t.kinds[moved.kind]}</strong>
            </p>
            <p>
              <FigureProse
                text={said.moved(moved)}
                paths={moved.figures
                  .map((_, k) => `movedTrouble.${i}.figures.${k}`)
                  .flatMap((path) => [`${path}.before`, `${path}.after`])}
              />
            </p>
            {moved.figures.length > 0 && (
              <ul class="plain-list small">
                {moved.figures.map((figure, k) => (
                  <li key={figure.name}>
                    {said.term(figure.name)}: {movedFigure(figure, `movedTrouble.${i}.figures.${k}`)}
                  </li>
                ))}
              </ul>
            )}
            {moved.by !== null && (
              <p>
                <FigureProse text={t.enoughBy(when(home.zone, moved.by, 'date'))} paths={[`movedTrouble.${i}.by`]} />
              </p>
            )}
          </article>
        ))}
      </div>
      <p class="caution">{words.place.hiddenCaution}</p>
    </section>
  );
}

function movedFigure(figure: MovedTrouble['figures'][number], path: string) {
  const places = figure.unit === 'Pa' || figure.unit === 'd' ? 0 : figure.name.endsWith(' f') ? 2 : 1;
  const part = (side: 'before' | 'after', say: (text: string) => string) => {
    const value = figure[side];
    return value === null ? null : (
      <Figure path={`${path}.${side}`} text={say(estimate(value, figure.unit, places))} of={said.term(figure.name)} />
    );
  };
  const parts = [
    part('after', (text) => text),
    part('before', (text) => t.was(text)),
    figure.limit === null ? null : (
      <Figure
        path={`${path}.limit`}
        text={t.limit(quantity(figure.limit, figure.unit, places))}
        of={said.term(figure.name)}
      />
    ),
  ].filter((part) => part !== null);
  return parts.map((part, n) => (
    <span key={n}>
      {n > 0 && ', '}
      {part}
    </span>
  ));
}
