import { withDwelling } from '../address.ts';
import { placingDrawings } from '../drawing/placing-drawings.tsx';
import { placingWords as t } from '../words/placing.ts';
import { words } from '../words/words.ts';
import '../style/sensors.css';

const names = Object.keys(t.guides) as (keyof typeof t.guides)[];

/** Pictures of where a sensor belongs, and how it is fixed there. */
export function PlacingScreen() {
  return (
    <>
      <p class="small crumbs">
        <a href={withDwelling('/sensors')}>{words.screens.sensors}</a>
      </p>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <p class="caution">{t.asbestos}</p>
      <nav class="within" aria-label={t.contents}>
        <ul>
          {names.map((name) => (
            <li key={name}>
              <a href={`#${name}`}>{t.guides[name].title}</a>
            </li>
          ))}
        </ul>
      </nav>
      <div class="guides">
        {names.map((name) => {
          const Drawing = placingDrawings[name];
          return (
            <section key={name} id={name} class="guide-sheet" aria-labelledby={`${name}-title`}>
              <h2 id={`${name}-title`}>{t.guides[name].title}</h2>
              <Drawing />
              {t.guides[name].points.map((point) => (
                <p key={point}>{point}</p>
              ))}
            </section>
          );
        })}
      </div>
      <h2>{t.after}</h2>
      {t.afterPoints.map((point) => (
        <p key={point}>{point}</p>
      ))}
    </>
  );
}
