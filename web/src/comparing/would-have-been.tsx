import { useMemo } from 'preact/hooks';
import type { Assessment, Compared, Estimate } from '../../../server/api/contract/comparison.ts';
import type { DiaryEntry, Phase } from '../../../server/api/contract/dwelling.ts';
import { winterAxis } from '../charts/axis.ts';
import { TableBehind } from '../charts/behind.tsx';
import { ChartGroup } from '../charts/chart-group.tsx';
import type { ChartSpec } from '../charts/chart-spec.ts';
import { newView } from '../charts/controls.ts';
import { lastDay, type WinterPart, winterParts, winterTraces } from '../charts/cumulative.ts';
import { DiaryList } from '../charts/diary-list.tsx';
import { numbered } from '../charts/marks.ts';
import { winterStory } from '../charts/winter-marks.ts';
import { useHome } from '../home.ts';
import { Figure } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { digits, ends, number, when } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';

const DAY_MS = 86_400_000;

/** Risk hours and mould index of every winter on one axis of days, and what they came to. */
export function WouldHaveBeen(props: {
  assessment: Assessment;
  phases: readonly Phase[];
  diary: readonly DiaryEntry[];
}) {
  const { assessment: a } = props;
  const risk = useMemo(() => winterParts(a.cumulativeRiskHours.before, a.cumulativeRiskHours.after), [a]);
  const mould = useMemo(() => winterParts(a.mouldIndexByDay.before, a.mouldIndexByDay.after), [a]);
  return (
    <section class="would">
      <h2>{t.wouldTitle}</h2>
      <p class="small">{t.wouldExplain(said.term(a.riskHours.criterion))}</p>
      {risk.length === 0 ? (
        <p>{t.noCumulative}</p>
      ) : (
        <Curves risk={risk} mould={mould} phases={props.phases} diary={props.diary} />
      )}
      <Counts assessment={a} />
      <p class="small">{t.countsNote}</p>
    </section>
  );
}

function Curves(props: {
  risk: readonly WinterPart[];
  mould: readonly WinterPart[];
  phases: readonly Phase[];
  diary: readonly DiaryEntry[];
}) {
  const { zone } = useHome();
  const first = props.risk[0]?.day[0] ?? 0;
  const { marks, works, diary } = useMemo(() => {
    const entries = numbered(props.diary).filter(({ at }) => at >= first - DAY_MS);
    return { ...winterStory(zone, props.phases, entries, Date.now()), diary: entries };
  }, [props.phases, props.diary, zone, first]);
  const to = lastDay([...props.risk, ...props.mould]);
  const view = useMemo(() => newView({ from: 0, to, narrowest: winterAxis.narrowest }), [to]);
  const charts = useMemo((): ChartSpec[] => {
    const said = (places: number, expectedName: string) => ({
      measured: ({ phase, winter, measured }: WinterPart) => ({
        name: t.winterOf[phase](winter),
        label: t.lineOf[phase](winter, number(measured.at(-1) ?? 0, places)),
      }),
      expected: ({ phase, winter, expected }: WinterPart) => ({
        name: `${t.winterOf[phase](winter)}, ${expectedName}`,
        label: t.expected(winter, number(expected?.value.at(-1) ?? 0, places)),
      }),
    });
    const risk = winterTraces(props.risk, said(0, t.expectedColumn));
    const mould = winterTraces(props.mould, said(digits.index, t.indexExpectedColumn));
    return [
      { title: t.riskHours, explain: t.wouldChart, traces: risk, unit: 'h', digits: 0, least: 0, greatest: 10 },
      {
        title: t.mouldIndex,
        explain: t.mouldExplain,
        // the winters are named at the lines above
        traces: mould.map(({ label: _, ...trace }) => trace),
        unit: '',
        digits: digits.index,
        limits: [{ at: 1, label: t.growthBegins }],
        least: 0,
        greatest: 2,
      },
    ];
  }, [props.risk, props.mould]);
  return (
    <>
      <ChartGroup
        label={t.wouldTitle}
        name={t.wouldTitle}
        axis={winterAxis}
        view={view}
        charts={charts}
        marks={marks}
        hatched={works}
        heading="h3"
        tools="here"
      />
      <p class="small legend">{words.winters.legend}</p>
      <details class="small">
        <summary>{words.winters.diary}</summary>
        <DiaryList diary={diary} heading="h3" zone={zone} />
      </details>
      <TableBehind
        summary={t.cumulativeTable}
        columns={[t.dayOf, t.measuredColumn, t.expectedColumn, t.indexColumn, t.indexExpectedColumn]}
        rows={() => monthRows(props.risk, props.mould)}
      />
    </>
  );
}

/** Month by month: the last day known of each. */
function monthRows(risk: readonly WinterPart[], mould: readonly WinterPart[]) {
  const month = (day: number): string => when('UTC', day, 'monthYear');
  return risk.flatMap((part) => {
    const beside = mould.find(({ phase, winter }) => phase === part.phase && winter === part.winter);
    return part.day.flatMap((day, i) => {
      const next = part.day[i + 1];
      if (next !== undefined && month(next) === month(day)) return [];
      const index = beside?.day.indexOf(day) ?? -1;
      const of = `${t.winterOf[part.phase](part.winter)}, ${when('UTC', day, 'date')}`;
      const cell = (path: string, name: string, value: number | undefined, places: number) =>
        value === undefined || Number.isNaN(value) ? (
          '–'
        ) : (
          <Figure path={`${path}.${part.phase}`} text={number(value, places)} of={`${of}, ${name}`} />
        );
      return [
        {
          key: `${part.phase} ${day}`,
          cells: [
            of,
            cell('cumulativeRiskHours', t.measuredColumn, part.measured[i], 0),
            cell('cumulativeRiskHours', t.expectedColumn, part.expected?.value[i], 0),
            cell('mouldIndexByDay', t.indexColumn, beside?.measured[index], digits.index),
            cell('mouldIndexByDay', t.indexExpectedColumn, beside?.expected?.value[index], digits.index),
          ],
        },
      ];
    });
  });
}

function Counts(props: { assessment: Assessment }) {
  const { riskHours, condensationNights, mouldIndex } = props.assessment;
  return (
    <table class="folds">
      <caption class="unseen">{t.wouldTitle}</caption>
      <thead>
        <tr>
          <th scope="col">
            <span class="unseen">{t.what}</span>
          </th>
          {[t.before, t.after, t.without, t.avoided].map((column) => (
            <th key={column} scope="col" class="number">
              {column}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        <CountRow name={t.riskHours} path="riskHours" compared={riskHours} places={0} />
        <CountRow name={t.condensationNights} path="condensationNights" compared={condensationNights} places={0} />
        <CountRow name={t.mouldIndex} path="mouldIndex" compared={mouldIndex} places={digits.index} />
      </tbody>
    </table>
  );
}

function CountRow(props: { name: string; path: string; compared: Compared; places: number }) {
  const { name, path, compared, places } = props;
  const cell = (key: keyof Compared, label: string) => {
    const figure: Estimate | null = compared[key];
    return (
      <td class="number" data-label={label}>
        {figure === null ? (
          words.notKnown
        ) : (
          <Figure
            path={`${path}.${key}`}
            text={number(figure.value, places)}
            of={`${name}, ${label}`}
            interval={ends(figure, places)}
          />
        )}
      </td>
    );
  };
  return (
    <tr>
      <th scope="row">{name}</th>
      {cell('before', t.before)}
      {cell('after', t.after)}
      {cell('expectedAfterWithoutWorks', t.without)}
      {cell('avoided', t.avoided)}
    </tr>
  );
}
