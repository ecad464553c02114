import { useMemo } from 'preact/hooks';
import type { DiaryEntry, Phase, Place } from '../../../server/api/contract/dwelling.ts';
import type { Winters } from '../../../server/api/contract/figures.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { winterAxis } from '../charts/axis.ts';
import { ChartGroup } from '../charts/chart-group.tsx';
import type { ChartSpec } from '../charts/chart-spec.ts';
import { newView } from '../charts/controls.ts';
import { DiaryList } from '../charts/diary-list.tsx';
import { numbered } from '../charts/marks.ts';
import { plainEntries, type Trace } from '../charts/trace.ts';
import { winterStory } from '../charts/winter-marks.ts';
import { diaryOf } from '../diary/entries.ts';
import { useHome } from '../home.ts';
import { Show } from '../parts/notice.tsx';
import { number } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';

const t = words.winters;

/** Cumulative risk hours of a surface, one line a winter, on one axis of days since 1 October. */
export function WinterRisk(props: { place: Place }) {
  const home = useHome();
  const dwelling = { dwelling: home.slug };
  const { loaded, again } = useLoad(`winters ${home.slug} ${props.place.id}`, revisions.hours.value, async (signal) => {
    const [winters, phases, diary] = await Promise.all([
      call('getWinters', { params: { ...dwelling, id: props.place.id } }, signal),
      call('listPhases', { params: dwelling }, signal),
      diaryOf(dwelling.dwelling, signal),
    ]);
    return { winters, phases, diary };
  });
  return (
    <section>
      <h2>{t.title}</h2>
      <Show loaded={loaded} again={again} room="chart">
        {({ winters, phases, diary }) =>
          winters.winters.length === 0 ? (
            <p>{t.none}</p>
          ) : (
            <WinterChart winters={winters} phases={phases} diary={diary} place={props.place} />
          )
        }
      </Show>
    </section>
  );
}

function WinterChart(props: {
  winters: Winters;
  phases: readonly Phase[];
  diary: readonly DiaryEntry[];
  place: Place;
}) {
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
  const { marks, works, diary } = useMemo(() => {
    const entries = numbered(props.diary);
    return {
      ...winterStory(zone, props.phases, entries, Date.parse(winters.at(-1)!.start)),
      diary: entries.filter(({ at }) => at >= Date.parse(winters[0]!.start)),
    };
  }, [props.phases, props.diary, winters, zone]);
  return (
    <>
      <p class="small">{t.explain(said.term(criterion))}</p>
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
      <p class="small legend">{t.legend}</p>
      <details class="small">
        <summary>{t.diary}</summary>
        <DiaryList diary={diary} heading="h3" zone={zone} />
      </details>
      <table class="folds">
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
              <td class="number" data-label={t.columns.risk}>
                {number(winter.riskHours)}
              </td>
              <td class="number" data-label={t.columns.nights}>
                {number(winter.condensationNights)}
              </td>
              <td class="number" data-label={t.columns.valid}>
                {number(winter.validHours)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
