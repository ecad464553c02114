import type { LiningAnswer } from '../../../server/api/contract/lining-answer.ts';
import { Figure, FigureProse } from '../parts/working.tsx';
import { estimate, inReaderUnit, number, quantity, readerUnit } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { said } from '../words/say.ts';
import { dampestOf, type HiddenCase, type HiddenState } from './workings.ts';

type Figures = LiningAnswer['before'];
type Heat = Figures['by_surface_resistance'][number];
const rsiName = (rsi: number): string =>
  rsi >= 0.2 ? t.rsiNames.mould : rsi > 0.11 ? t.rsiNames.wall : t.rsiNames.low;
const MOULD_RSI = 0.25;

/** The temperature factor that is held to the target, and where its working is found. */
export function mouldFigure(side: 'before' | 'after', answer: LiningAnswer): { factor: number; path: string } {
  const rows = answer[side].by_surface_resistance;
  const i = rows.findIndex(({ rsi_m2k_per_w: rsi }) => rsi === MOULD_RSI);
  return { factor: rows[i]!.temperature_factor, path: `${side}.${i}.f` };
}

/** f and U before and after, the surface, and which of them is held to the target. */
export function HeatFigures(props: { answer: LiningAnswer }) {
  const { before, after, lining_mass_kg_per_m2: mass } = props.answer;
  const cell = (side: 'before' | 'after', i: number, row: Heat) => (
    <>
      <Figure
        path={`${side}.${i}.f`}
        text={number(row.temperature_factor, 2)}
        of={side === 'before' ? t.fBefore : t.fAfter}
      />
      <span class="interval-words">
        <Figure path={`${side}.${i}.u`} text={`U ${quantity(row.u_value_w_per_m2k, 'W/(m²K)', 2)}`} of="U" />
      </span>
    </>
  );
  const surface = (side: 'before' | 'after', i: number, of: string) => {
    const one = props.answer[side].surface_at_design[i]!;
    const humidity = one.surface_humidity_pct >= 100 ? t.wet : quantity(one.surface_humidity_pct, '%', 0);
    return (
      <>
        <Figure path={`${side}.${i}.surface`} text={quantity(one.lowest_temperature_c, '°C', 1)} of={of} />
        {', '}
        <Figure path={`${side}.${i}.surfaceHumidity`} text={humidity} of={of} />
      </>
    );
  };
  const forCode = before.by_surface_resistance.findIndex(({ u_value_w_per_m2k: u }) => u === before.u_value_w_per_m2k);
  return (
    <section>
      <h2>{t.factorTitle}</h2>
      <p class="small">{t.factorExplain}</p>
      <table class="folds heat">
        <caption class="unseen">{t.factorTitle}</caption>
        <thead>
          <tr>
            {[t.where, t.fBefore, t.fAfter, t.surfaceBefore, t.surfaceAfter].map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {before.by_surface_resistance.map((row, i) => (
            <tr key={row.rsi_m2k_per_w}>
              <th scope="row">
                {rsiName(row.rsi_m2k_per_w)} <span class="small">{`Rsi ${number(row.rsi_m2k_per_w, 2)}`}</span>
              </th>
              <td data-label={t.fBefore}>{cell('before', i, row)}</td>
              <td data-label={t.fAfter}>{cell('after', i, after.by_surface_resistance[i]!)}</td>
              <td data-label={t.surfaceBefore}>{surface('before', i, t.surfaceBefore)}</td>
              <td data-label={t.surfaceAfter}>{surface('after', i, t.surfaceAfter)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small">
        <FigureProse
          text={t.uLine(
            quantity(before.u_value_w_per_m2k, 'W/(m²K)', 2),
            quantity(after.u_value_w_per_m2k, 'W/(m²K)', 2),
          )}
          paths={[`before.${forCode}.u`, `after.${forCode}.u`]}
        />{' '}
        <FigureProse text={t.massLine(quantity(mass, 'kg/m²', 1))} paths={['mass']} />
      </p>
    </section>
  );
}

const stateOf = (state: HiddenState): keyof typeof t.hiddenStates =>
  state.water_settles
    ? 'wet'
    : state.growth_limit_pct === null
      ? 'cold'
      : state.humidity_pct >= state.growth_limit_pct
        ? 'grows'
        : 'dry';
const stateTone = { wet: 'act', grows: 'watch', dry: 'quiet', cold: 'quiet' } as const;

/** The old surface month by month, before the lining and behind it (ISO 13788). */
export function HiddenMonths(props: { answer: LiningAnswer; busy: boolean }) {
  const { hidden_layer: hidden, after } = props.answer;
  const unit = readerUnit('°C');
  const c = { ...t.hiddenColumns, tBefore: t.hiddenColumns.tBefore(unit), tAfter: t.hiddenColumns.tAfter(unit) };
  const warmth = (celsius: number): string => number(inReaderUnit(celsius, '°C'), 1);
  const water = new Map(after.condensation?.months.map(({ name, held_kg_per_m2 }) => [name, held_kg_per_m2]));
  const months = hidden.as_described.months;
  return (
    <section>
      <h2>{t.hiddenTitle}</h2>
      <p class="small">{t.hiddenLead(hidden.surface)}</p>
      {months === null || hidden.before.months === null ? (
        <p class={props.busy ? 'waiting room-chart' : undefined}>{props.busy ? t.withHours : t.hiddenNone}</p>
      ) : (
        <table class="folds">
          <caption class="unseen">{t.hiddenTitle}</caption>
          <thead>
            <tr>
              {[c.month, c.tBefore, c.hBefore, c.tAfter, c.hAfter, c.limit, c.state, c.water].map((column) => (
                <th key={column} scope="col">
                  {column}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {months.map((month, i) => {
              const was = hidden.before.months![i]!;
              const state = stateOf(month);
              const cell = (path: string, text: string, column: string) => (
                <Figure path={`month.${path}`} text={text} of={`${said.term(month.name)}, ${column}`} />
              );
              return (
                <tr key={month.name}>
                  <th scope="row">{said.term(month.name)}</th>
                  <td data-label={c.tBefore}>{cell(`${i}.before.t`, warmth(was.temperature_c), c.tBefore)}</td>
                  <td data-label={c.hBefore}>{cell(`${i}.before.h`, number(was.humidity_pct), c.hBefore)}</td>
                  <td data-label={c.tAfter}>{cell(`${i}.after.t`, warmth(month.temperature_c), c.tAfter)}</td>
                  <td data-label={c.hAfter}>{cell(`${i}.after.h`, number(month.humidity_pct), c.hAfter)}</td>
                  <td data-label={c.limit}>
                    {month.growth_limit_pct === null
                      ? '–'
                      : cell(`${i}.after.limit`, number(month.growth_limit_pct), c.limit)}
                  </td>
                  <td data-label={c.state}>
                    <span class={`state-words tone-${stateTone[state]}`}>{t.hiddenStates[state]}</span>
                  </td>
                  <td data-label={c.water}>
                    <Figure
                      path={`water.${month.name}`}
                      text={number(1000 * (water.get(month.name) ?? 0), 1)}
                      of={`${said.term(month.name)}, ${c.water}`}
                    />
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
      {after.condensation && (
        <p>
          <FigureProse
            text={yearWords(after.condensation)}
            paths={after.condensation.months.map(({ name }) => `water.${name}`)}
          />
        </p>
      )}
      <Cases answer={props.answer} />
      {after.condensation && (
        <details>
          <summary>{t.limits}</summary>
          <ul>
            {[...after.condensation.limits, ...hidden.limits].map(({ message }) => (
              <li key={message}>{said.term(message)}</li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function yearWords(year: NonNullable<Figures['condensation']>): string {
  const grams = (kilograms: number): string => quantity(1000 * kilograms, 'g/m²', 0);
  if (year.result === 'no-condensation') return t.yearNone;
  if (year.result === 'accumulates') return t.yearStays(grams(year.remaining_kg_per_m2));
  return t.yearDries(grams(year.peak_kg_per_m2), said.term(year.peak_month ?? ''), said.term(year.dry_again ?? ''));
}

function Cases(props: { answer: LiningAnswer }) {
  const { before, after, as_described: described } = props.answer.hidden_layer;
  const c = t.caseColumns;
  const nameOf = (one: HiddenCase): string => {
    if (one === before) return t.caseNames.before;
    const leak = one.air_leak_m3_per_h_m2 === 0 ? null : quantity(one.air_leak_m3_per_h_m2, 'm³/(h m²)', 2);
    return one.vapour_control === 'with' ? t.caseNames.with(leak) : t.caseNames.without(leak);
  };
  const alike = (one: HiddenCase): boolean =>
    one.vapour_control === described.vapour_control && one.air_leak_m3_per_h_m2 === described.air_leak_m3_per_h_m2;
  return (
    <>
      <h3>{t.casesTitle}</h3>
      <table class="folds">
        <caption class="unseen">{t.casesTitle}</caption>
        <thead>
          <tr>
            {[c.name, c.design, c.dampest, c.mould].map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {[before, ...after].map((one, i) => {
            const at = dampestOf(one);
            const dampest = at === null ? null : one.months![at]!;
            const of = nameOf(one);
            return (
              <tr key={of}>
                <th scope="row">
                  {of} {one !== before && alike(one) && <strong>({t.described})</strong>}
                </th>
                <td data-label={c.design}>
                  <Figure path={`case.${i}.design.t`} text={quantity(one.at_design.temperature_c, '°C', 1)} of={of} />
                  {', '}
                  <Figure path={`case.${i}.design.h`} text={quantity(one.at_design.humidity_pct, '%', 0)} of={of} />{' '}
                  <span class={`state-words tone-${stateTone[stateOf(one.at_design)]}`}>
                    {t.hiddenStates[stateOf(one.at_design)]}
                  </span>
                </td>
                <td data-label={c.dampest}>
                  {dampest === null ? (
                    '–'
                  ) : (
                    <>
                      <Figure path={`case.${i}.dampest.h`} text={quantity(dampest.humidity_pct, '%', 0)} of={of} />
                      {`, ${said.term(dampest.name)}`}
                    </>
                  )}
                </td>
                <td data-label={c.mould}>
                  {one.logged ? (
                    <Figure path={`case.${i}.mould`} text={number(one.logged.mould_index_highest, 1)} of={of} />
                  ) : (
                    '–'
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}

/** What the sensors say beside what the layers lead to, over the same hours. */
export function Beside(props: { answer: LiningAnswer; busy: boolean }) {
  const rows = props.answer.measured?.filter(({ hours }) => hours > 0) ?? [];
  const c = t.besideColumns;
  return (
    <section>
      <h2>{t.besideTitle}</h2>
      <p class="small">{t.besideLead}</p>
      {rows.length === 0 ? (
        <p class={props.busy ? 'waiting room-table' : undefined}>{props.busy ? t.withHours : t.besideNone}</p>
      ) : (
        <>
          <table class="folds">
            <caption class="unseen">{t.besideTitle}</caption>
            <thead>
              <tr>
                {[c.place, c.phase, c.measured, c.predicted, c.difference, c.scatter, c.hours].map((column) => (
                  <th key={column} scope="col">
                    {column}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {props.answer.measured?.map((row, i) => {
                if (row.hours === 0) return null;
                const [unit, of, places] =
                  row.quantity === 'temperature' ? (['°C', 'K', 1] as const) : (['%', '%', 0] as const);
                const figure = (name: 'measured' | 'predicted' | 'difference' | 'scatter' | 'hours', text: string) => (
                  <Figure
                    path={`beside.${i}.${name}`}
                    text={text}
                    of={`${row.place}, ${t.phases[row.phase]}, ${c[name]}`}
                  />
                );
                return (
                  <tr key={`${row.place} ${row.phase} ${row.quantity}`}>
                    <th scope="row">{row.place}</th>
                    <td data-label={c.phase}>{t.phases[row.phase]}</td>
                    <td data-label={c.measured}>
                      {row.measured === null ? t.besideFew : figure('measured', quantity(row.measured, unit, places))}
                    </td>
                    <td data-label={c.predicted}>
                      {row.predicted === null
                        ? t.besideFew
                        : figure('predicted', quantity(row.predicted, unit, places))}
                    </td>
                    <td data-label={c.difference}>
                      {row.difference === null ? '–' : figure('difference', estimate(row.difference, of, places))}
                    </td>
                    <td data-label={c.scatter}>
                      {row.scatter === null ? '–' : figure('scatter', `± ${quantity(row.scatter, of, places)}`)}
                    </td>
                    <td data-label={c.hours}>{figure('hours', number(row.hours))}</td>
                  </tr>
                );
              })}
            </tbody>
          </table>
          <p class="small">{t.besideEdge}</p>
        </>
      )}
    </section>
  );
}

const noticeTone = { warning: 'act', caution: 'watch', note: 'quiet' } as const;

export function Notices(props: { answer: LiningAnswer }) {
  return (
    <section>
      <h2>{t.noticesTitle}</h2>
      <ul class="findings">
        {props.answer.notices.map((notice) => (
          <li key={notice.code}>
            <span class={`state-words tone-${noticeTone[notice.severity]}`}>{t.severities[notice.severity]}</span>{' '}
            {said.lining(notice)}
          </li>
        ))}
      </ul>
      <h2 id="before-you-build" tabIndex={-1}>
        {t.cautionsTitle}
      </h2>
      {props.answer.cautions.map((caution) => (
        <p key={caution.code} class="caution">
          <strong>{t.cautionNames[caution.code]}.</strong> {said.caution(caution)}
        </p>
      ))}
    </section>
  );
}
