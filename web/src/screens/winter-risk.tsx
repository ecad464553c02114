import { useMemo } from 'preact/hooks';
import type { Phase, Place } from '../../../server/api/contract/dwelling.ts';
import type { Winters } from '../../../server/api/contract/figures.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { winterAxis } from '../charts/axis.ts';
import { ChartGroup } from '../charts/chart-group.tsx';
import type { ChartSpec } from '../charts/chart-spec.ts';
import { newView } from '../charts/controls.ts';
import { worksOf } from '../charts/marks.ts';
import type { PlotMark } from '../charts/plot-parts.ts';
import { plainEntries, type Trace } from '../charts/trace.ts';
import { useHome } from '../home.ts';
import { Show } from '../parts/notice.tsx';
import { dayOfWinter } from '../time/zone.ts';
import { number } from '../words/format.ts';
import { words } from '../words/words.ts';

const t = words.winters;

/** Cumulative risk hours of a surface, one line a winter, on one axis of days since 1 October. */
export function WinterRisk(props: { place: Place }) {
  const home = useHome();
  const dwelling = { dwelling: home.slug };
  const { loaded, again } = useLoad(`winters ${home.slug} ${props.place.id}`, revisions.hours.value, async (signal) => {
    const [winters, phases] = await Promise.all([
      call('getWinters', { params: { ...dwelling, id: props.place.id } }, signal),
      call('listPhases', { params: dwelling }, signal),
    ]);
    return { winters, phases };
  });
  return (
    <section>
      <h2>{t.title}</h2>
      <Show loaded={loaded} again={again} room="chart">
        {({ winters, phases }) =>
          winters.winters.length === 0 ? (
            <p>{t.none}</p>
          ) : (
            <WinterChart winters={winters} phases={phases} place={props.place} />
          )
        }
      </Show>
    </section>
  );
}

function WinterChart(props: { winters: Winters; phases: readonly Phase[]; place: Place }) {
  const { zone } = useHome();
  const { criterion, winters } = props.winters;
  const to = Math.max(182, ...winters.map(({ cumulativeRiskHours }) => cumulativeRiskHours.length));
  const view = useMemo(() => newView({ from: 0, to, narrowest: winterAxis.narrowest }), [to]);
  const charts = useMemo(() => {
    const traces = winters.map((winter, i): Trace => {
      const latest = i === winters.length - 1;
      return {
        name: winter.name,
        label: t.line(winter.name, number(winter.riskHours)),
        ink: latest ? 'accent' : 'ink',
        stroke: latest ? 'bold' : i === winters.length - 2 ? 'plain' : 'dashed',
        entries: plainEntries(winter.cumulativeRiskHours),
      };
    });
    const spec: ChartSpec = { title: t.title, traces, unit: 'h', digits: 0, least: 0, greatest: 10 };
    return [spec];
  }, [winters]);
  const works = useMemo(
    () =>
      worksOf(props.phases, Date.parse(winters.at(-1)!.start)).map(({ from, to }) => ({
        from: dayOfWinter(zone, from),
        to: dayOfWinter(zone, to, from),
      })),
    [props.phases, winters, zone],
  );
  const marks = useMemo(
    () =>
      props.phases.map(
        (phase): PlotMark => ({ at: dayOfWinter(zone, Date.parse(phase.from)), text: phase.name, kind: 'boundary' }),
      ),
    [props.phases, zone],
  );
  return (
    <>
      <p class="small">{t.explain(criterion)}</p>
      <ChartGroup
        label={t.title}
        name={props.place.name}
        axis={winterAxis}
        view={view}
        charts={charts}
        marks={marks}
        hatched={works}
        tools="here"
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
