import { useMemo } from 'preact/hooks';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import type { Winters } from '../../../server/api/contract/figures.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { Plot, type PlotLine } from '../charts/plot.tsx';
import { dayPoints, winterMonths } from '../charts/view-model.ts';
import { useHome } from '../home.ts';
import { Show } from '../parts/notice.tsx';
import { number, when } from '../words/format.ts';
import { words } from '../words/words.ts';

const t = words.winters;

/** Months on an axis of days since 1 October. */
export const monthTicks = (last: number) => (most: number) => {
  const shown = winterMonths.filter(({ day }) => day <= last);
  const step = [1, 2, 3, 6].find((months) => shown.length / months <= most) ?? 6;
  return shown
    .filter((_, i) => i % step === 0)
    .map(({ day, month }) => ({ at: day, label: when('UTC', Date.UTC(2026, month, 1), 'month') }));
};

/** Cumulative risk hours of a surface, one line a winter, on one axis of days since 1 October. */
export function WinterRisk(props: { place: Place }) {
  const home = useHome();
  const { loaded, again } = useLoad(`winters ${home.slug} ${props.place.id}`, revisions.hours.value, (signal) =>
    call('getWinters', { params: { dwelling: home.slug, id: props.place.id } }, signal),
  );
  return (
    <section>
      <h2>{t.title}</h2>
      <Show loaded={loaded} again={again} room="chart">
        {(winters) => (winters.winters.length === 0 ? <p>{t.none}</p> : <WinterChart winters={winters} />)}
      </Show>
    </section>
  );
}

function WinterChart(props: { winters: Winters }) {
  const { criterion, winters } = props.winters;
  const drawn = useMemo(() => {
    const lines = winters.map((winter, i): PlotLine => {
      const latest = i === winters.length - 1;
      return {
        points: dayPoints(winter.cumulativeRiskHours),
        ink: latest ? 'accent' : 'ink',
        stroke: latest ? 'bold' : i === winters.length - 2 ? 'plain' : 'dashed',
        label: t.line(winter.name, number(winter.riskHours)),
      };
    });
    const last = Math.max(182, ...winters.map(({ cumulativeRiskHours }) => cumulativeRiskHours.length));
    return { lines, last, ticks: monthTicks(last) };
  }, [winters]);
  return (
    <>
      <p class="small">{t.explain(criterion)}</p>
      <Plot
        label={t.chart}
        lines={drawn.lines}
        from={0}
        to={drawn.last}
        ticks={drawn.ticks}
        unit="h"
        least={0}
        greatest={10}
        height="tall"
      />
      <table>
        <caption class="unseen">{t.title}</caption>
        <thead>
          <tr>
            <th scope="col">{t.columns.winter}</th>
            <th scope="col" class="number">
              {t.columns.risk}
            </th>
            <th scope="col" class="number">
              {t.columns.nights}
            </th>
            <th scope="col" class="number">
              {t.columns.valid}
            </th>
          </tr>
        </thead>
        <tbody>
          {winters.map((winter) => (
            <tr key={winter.start}>
              <th scope="row">{winter.name}</th>
              <td class="number">{number(winter.riskHours)}</td>
              <td class="number">{number(winter.condensationNights)}</td>
              <td class="number">{number(winter.validHours)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
