import type { Assessment } from '../../../server/api/contract/comparison.ts';
import { withDwelling } from '../address.ts';
import { Figure, WorkingOf } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { quantity, when } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';

/** Phases, sensors, and the working of every figure in one place. */
export function Rests(props: { assessment: Assessment; again: () => void }) {
  const { assessment: a } = props;
  const span = (side: Assessment['before'] | Assessment['after']) =>
    side === null ? words.notKnown : words.to(when(a.zone, side.from, 'date'), when(a.zone, side.to, 'date'));
  return (
    <section>
      <h2>{t.restsTitle}</h2>
      <p>{t.rests(span(a.before), span(a.after))}</p>
      <p class="no-print">
        <a href={withDwelling('/diary')}>{t.phasesLink}</a>
      </p>
      <div class="buttons">
        <button type="button" onClick={props.again}>
          {t.again}
        </button>
      </div>
      {a.uncertainties.length > 0 && (
        <details>
          <summary>{t.uncertainties}</summary>
          <table class="folds">
            <caption>{t.uncertaintiesNote}</caption>
            <thead>
              <tr>
                <th scope="col">{t.where}</th>
                <th scope="col">{t.temperatureOffset}</th>
                <th scope="col">{t.humidityOffset}</th>
                <th scope="col">{words.working.source}</th>
              </tr>
            </thead>
            <tbody>
              {a.uncertainties.map(({ place, sensor }, i) => (
                <tr key={place}>
                  <th scope="row">{place}</th>
                  <td data-label={t.temperatureOffset}>
                    <Figure
                      path={`uncertainties.${i}`}
                      text={quantity(sensor.temperatureOffsetK, 'K', 2)}
                      of={`${place}, ${t.temperatureOffset}`}
                    />
                  </td>
                  <td data-label={t.humidityOffset}>
                    <Figure
                      path={`uncertainties.${i}`}
                      text={quantity(sensor.humidityOffsetPct, '%', 1)}
                      of={`${place}, ${t.humidityOffset}`}
                    />
                  </td>
                  <td class="small">{said.term(sensor.source)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
      {a.working.length > 0 && (
        <details>
          <summary>{words.working.all}</summary>
          {a.working.map((working) => (
            <div key={working.figure}>
              <h3>
                <code>{working.figure}</code>
              </h3>
              <WorkingOf working={working} />
            </div>
          ))}
        </details>
      )}
      <p class="caution">{t.caution}</p>
    </section>
  );
}
