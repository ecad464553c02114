import { useMemo } from 'preact/hooks';
import type { Assessment, Compared, Estimate, Finding, MovedTrouble } from '../../../server/api/contract/comparison.ts';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import { publishedFactors } from '../../../server/physics/published-factors.ts';
import { choose, query, withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { TableBehind } from '../charts/behind.tsx';
import { cumulativeLines } from '../charts/cumulative.ts';
import { type FactorRow, FactorRows } from '../charts/factor-rows.tsx';
import { Plot } from '../charts/plot.tsx';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { Figure, WorkingOf, Workings } from '../parts/working.tsx';
import { digits, ends, estimate, firstSentence, number, quantity, when } from '../words/format.ts';
import { words } from '../words/words.ts';
import { monthTicks } from './winter-risk.tsx';

const t = words.beforeAfter;
const DWELLINGS_TARGET = 0.75;

/** The verdict first, then everything it rests on, in the order a doubter asks for it. */
export function BeforeAfterScreen() {
  const home = useHome();
  const { loaded, again } = useLoad(`places ${home.slug}`, revisions.story.value, (signal) =>
    call('listPlaces', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <Show loaded={loaded} again={again} room="screen">
      {(places) => {
        const surfaces = places.filter(({ kind }) => kind === 'ceiling-surface');
        const wanted = Number(query.value.get('surface'));
        const surface = surfaces.find(({ id }) => id === wanted) ?? surfaces[0];
        return surface === undefined ? (
          <>
            <h1>{words.screens.beforeAfter}</h1>
            <Empty title={t.noSurface} next={<a href={withDwelling('/sensors')}>{t.noSurfaceNext}</a>} />
          </>
        ) : (
          <Chosen surfaces={surfaces} surface={surface} />
        );
      }}
    </Show>
  );
}

function Chosen(props: { surfaces: readonly Place[]; surface: Place }) {
  const home = useHome();
  const wanted = Number(query.value.get('target'));
  const target = wanted >= 0.1 && wanted <= 0.99 ? wanted : DWELLINGS_TARGET;
  const { loaded, again } = useLoad(
    `comparison ${home.slug} ${props.surface.id} ${target}`,
    // One more hour changes no verdict, and working it out takes seconds: it is asked for again only when told to.
    revisions.story.value,
    (signal) =>
      call('getComparison', { params: { dwelling: home.slug }, query: { surface: props.surface.id, target } }, signal),
  );
  const choices = <Choices surfaces={props.surfaces} surface={props.surface} target={target} />;
  return (
    <Show loaded={loaded} again={again} room="screen" waiting={t.working}>
      {({ assessment }) => (
        <Workings.Provider value={assessment.working}>
          <Verdict assessment={assessment} />
          {choices}
          {assessment.sufficiency.enough ? null : <Findings findings={assessment.sufficiency.findings} />}
          <div class="two-columns">
            <Factors assessment={assessment} surface={props.surface} />
            <WouldHaveBeen assessment={assessment} />
            <WhatElse assessment={assessment} />
            <CausesOf assessment={assessment} />
          </div>
          <Moved moved={assessment.movedTrouble} />
          <Control assessment={assessment} />
          {assessment.sufficiency.enough ? <Findings findings={assessment.sufficiency.findings} /> : null}
          <Rests assessment={assessment} again={again} />
        </Workings.Provider>
      )}
    </Show>
  );
}

const kindTone = {
  'target-met': 'quiet',
  'better-short-of-target': 'watch',
  'no-change-shown': 'watch',
  worse: 'act',
  'not-enough-evidence': 'unknown',
  'no-worse': 'quiet',
} as const;

function Verdict(props: { assessment: Assessment }) {
  const { verdict } = props.assessment;
  const [first, rest] = firstSentence(verdict.statement);
  return (
    <>
      <div class="headline" aria-live="polite">
        <h1>{first}</h1>
        <p class="rests-on">
          {t.verdict}: <span class={`state-words tone-${kindTone[verdict.kind]}`}>{t.kinds[verdict.kind]}</span>
        </p>
        {rest !== '' && <p class="lead">{rest}</p>}
      </div>
      {verdict.reasons.length > 0 && (
        <details class="why" open>
          <summary>{t.why}</summary>
          <ul>
            {verdict.reasons.map((reason) => (
              <li key={reason}>{reason}</li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

function Choices(props: { surfaces: readonly Place[]; surface: Place; target: number }) {
  const known = publishedFactors.some(({ factor }) => factor === props.target);
  return (
    <div class="choices no-print">
      <Field label={t.surface}>
        {(ids) => (
          <select
            {...ids}
            value={props.surface.id}
            onChange={(event) => choose({ surface: event.currentTarget.value })}
          >
            {props.surfaces.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label={t.target}>
        {(ids) => (
          <select {...ids} value={props.target} onChange={(event) => choose({ target: event.currentTarget.value })}>
            {!known && <option value={props.target}>{number(props.target, 2)}</option>}
            {publishedFactors.map((published) => (
              <option key={published.id} value={published.factor}>
                {`${number(published.factor, 2)}: ${published.where}`}
              </option>
            ))}
          </select>
        )}
      </Field>
    </div>
  );
}

const missingWords = (assessment: Assessment, phase: 'before' | 'after'): string => {
  const codes = assessment[phase]?.missingBecause ?? [];
  const finding = assessment.sufficiency.findings.find(({ code }) => codes.includes(code));
  return finding?.message ?? words.notKnown;
};

function Factors(props: { assessment: Assessment; surface: Place }) {
  const { assessment: a, surface } = props;
  const rows: FactorRow[] = [
    {
      name: t.beforeOf(surface.name),
      path: 'before.f',
      estimate: a.before?.f ?? null,
      weight: 'main',
      missing: missingWords(a, 'before'),
    },
    {
      name: t.afterOf(surface.name),
      path: 'after.f',
      estimate: a.after?.f ?? null,
      weight: 'main',
      missing: missingWords(a, 'after'),
    },
    ...a.movedTrouble.flatMap((moved, i) =>
      moved.figures
        .filter(({ name }) => name.startsWith('temperature factor'))
        .flatMap((figure): FactorRow[] => [
          {
            name: t.beforeOf(moved.place),
            path: `movedTrouble.${i}.before`,
            estimate: figure.before,
            weight: 'beside',
          },
          { name: t.afterOf(moved.place), path: `movedTrouble.${i}.after`, estimate: figure.after, weight: 'beside' },
        ]),
    ),
    ...(a.control.kind === 'agrees' || a.control.kind === 'disagrees'
      ? ([
          {
            name: t.beforeOf(a.control.place),
            path: 'control.controlBefore',
            estimate: a.control.controlBefore,
            weight: 'beside',
          },
          {
            name: t.afterOf(a.control.place),
            path: 'control.controlAfter',
            estimate: a.control.controlAfter,
            weight: 'beside',
          },
        ] satisfies FactorRow[])
      : []),
  ];
  return (
    <section>
      <h2>{t.factorTitle}</h2>
      <p class="small">{a.coldSide === 'outdoor-air' ? t.factorExplain : t.factorLoft}</p>
      <FactorRows
        rows={rows.filter(({ weight, estimate: known }) => weight === 'main' || known !== null)}
        target={a.target.f}
        targetWords={t.targetWords(number(a.target.f, 2), a.target.source)}
      />
      {a.change && (
        <p>
          {t.change} <Figure path="change" text={estimate(a.change, '', 2)} of={t.change} />
        </p>
      )}
    </section>
  );
}

function WouldHaveBeen(props: { assessment: Assessment }) {
  const { assessment: a } = props;
  const drawn = useMemo(
    () =>
      cumulativeLines(a.cumulativeRiskHours, a.zone, {
        before: (hours) => t.measuredBefore(number(hours)),
        after: (hours) => t.measuredAfter(number(hours)),
        expected: (hours) => t.expected(number(hours)),
      }),
    [a],
  );
  const ticks = useMemo(() => monthTicks(drawn.to), [drawn]);
  const cell = (path: string, figure: Estimate | null, of: string, places: number) =>
    figure === null ? (
      words.notKnown
    ) : (
      <Figure path={path} text={number(figure.value, places)} of={of} interval={ends(figure, places)} />
    );
  const row = (name: string, path: string, compared: Compared, places: number) => (
    <tr>
      <th scope="row">{name}</th>
      <td class="number" data-label={t.before}>
        {cell(`${path}.before`, compared.before, `${name}, ${t.before}`, places)}
      </td>
      <td class="number" data-label={t.after}>
        {cell(`${path}.after`, compared.after, `${name}, ${t.after}`, places)}
      </td>
      <td class="number" data-label={t.without}>
        {cell(`${path}.expectedAfterWithoutWorks`, compared.expectedAfterWithoutWorks, `${name}, ${t.without}`, places)}
      </td>
      <td class="number" data-label={t.avoided}>
        {cell(`${path}.avoided`, compared.avoided, `${name}, ${t.avoided}`, places)}
      </td>
    </tr>
  );
  return (
    <section class="would">
      <h2>{t.wouldTitle}</h2>
      <p class="small">{t.wouldExplain(a.riskHours.criterion)}</p>
      {drawn.lines.length === 0 ? (
        <p>{t.noCumulative}</p>
      ) : (
        <>
          <Plot
            label={t.wouldChart}
            lines={drawn.lines}
            from={drawn.from}
            to={drawn.to}
            ticks={ticks}
            unit="h"
            least={0}
            greatest={10}
            height="tall"
          />
          <TableBehind summary={t.cumulativeTable} columns={[t.dayOf, t.riskHours]} rows={() => cumulativeRows(a)} />
        </>
      )}
      <table class="folds">
        <caption class="unseen">{t.wouldTitle}</caption>
        <thead>
          <tr>
            <th scope="col">
              <span class="unseen">{t.what}</span>
            </th>
            <th scope="col" class="number">
              {t.before}
            </th>
            <th scope="col" class="number">
              {t.after}
            </th>
            <th scope="col" class="number">
              {t.without}
            </th>
            <th scope="col" class="number">
              {t.avoided}
            </th>
          </tr>
        </thead>
        <tbody>
          {row(t.riskHours, 'riskHours', a.riskHours, 0)}
          {row(t.condensationNights, 'condensationNights', a.condensationNights, 0)}
          {row(t.mouldIndex, 'mouldIndex', a.mouldIndex, 1)}
        </tbody>
      </table>
      <p class="small">{t.countsNote}</p>
    </section>
  );
}

/** Month by month: the last day known of each. */
function cumulativeRows(a: Assessment) {
  const spans = [
    { name: t.before, columns: a.cumulativeRiskHours.before },
    { name: t.after, columns: a.cumulativeRiskHours.after },
  ];
  return spans.flatMap(({ name, columns }) =>
    (columns?.day ?? []).flatMap((day, i, all) => {
      const last = i === all.length - 1;
      const next = all[i + 1];
      const endsMonth = next !== undefined && when(a.zone, day, 'monthYear') !== when(a.zone, next, 'monthYear');
      return last || endsMonth
        ? [{ key: `${name} ${day}`, cells: [`${name}, ${when(a.zone, day, 'date')}`, number(columns!.measured[i]!)] }]
        : [];
    }),
  );
}

function WhatElse(props: { assessment: Assessment }) {
  const { assessment: a } = props;
  const { before, after, overlap } = a.conditions;
  if (before === null && after === null) return null;
  const taken = a.before?.f && a.after?.f ? t.takenOut : t.notTakenOut;
  const known = (value: number | null | undefined, unit: string, places: number) =>
    value === null || value === undefined ? words.notKnown : quantity(value, unit, places);
  const excess = (side: typeof before) =>
    side === null
      ? words.notKnown
      : `${known(side.vapourExcessMeanPa, 'Pa', 0)}${side.humidityClass === null ? '' : `, ${t.humidityClass(number(side.humidityClass))}`}`;
  const covered = (side: typeof before) => side === null || side.coveragePct >= a.settings.lowestCoveragePct;
  const rows: readonly (readonly [string, string, string, string])[] = [
    [t.outdoors, known(before?.outdoorMeanC, '°C', 1), known(after?.outdoorMeanC, '°C', 1), taken],
    [t.room, known(before?.roomMeanC, '°C', 1), known(after?.roomMeanC, '°C', 1), taken],
    [t.roomHumidity, known(before?.roomMeanHumidityPct, '%', 0), known(after?.roomMeanHumidityPct, '%', 0), taken],
    [t.excess, excess(before), excess(after), taken],
    [
      t.coverage,
      known(before?.coveragePct, '%', 0),
      known(after?.coveragePct, '%', 0),
      covered(before) && covered(after) ? t.enough : t.thin,
    ],
  ];
  return (
    <section>
      <h2>{t.elseTitle}</h2>
      <table class="folds">
        <caption class="unseen">{t.elseTitle}</caption>
        <thead>
          <tr>
            <th scope="col">
              <span class="unseen">{t.what}</span>
            </th>
            <th scope="col">{t.before}</th>
            <th scope="col">{t.after}</th>
            <th scope="col">{t.matters}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, first, second, matters]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td data-label={t.before}>{first}</td>
              <td data-label={t.after}>{second}</td>
              <td data-label={t.matters}>{matters}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {overlap !== null && <p class="small">{t.overlap(quantity(100 * overlap, '%', 0))}</p>}
    </section>
  );
}

function CausesOf(props: { assessment: Assessment }) {
  const { causes } = props.assessment;
  if (causes === null) return null;
  const percent = ({ value, low, high }: Estimate): Estimate => ({
    value: 100 * value,
    low: 100 * low,
    high: 100 * high,
  });
  const rows = (['fabric', 'moisture', 'heating', 'remaining'] as const).map((name) => ({ name, share: causes[name] }));
  return (
    <section>
      <h2>{t.causesTitle}</h2>
      <p>{causes.statement}</p>
      <table class="causes">
        <caption class="unseen">{t.causesTitle}</caption>
        <tbody>
          {rows.map(({ name, share }) => (
            <tr key={name} class="row">
              <th scope="row" class="cell">
                {t.causes[name]}
              </th>
              <td class="cell bar">
                <svg class="cause-bar" width="100%" height="22" aria-hidden="true">
                  <rect x="0" y="4" height="14" width={`${Math.max(0, 100 * share.value).toFixed(1)}%`} />
                  <line
                    x1={`${Math.max(0, 100 * share.low).toFixed(1)}%`}
                    x2={`${Math.min(100, 100 * share.high).toFixed(1)}%`}
                    y1="11"
                    y2="11"
                  />
                </svg>
              </td>
              <td class="cell">
                <Figure path={`causes.${name}`} text={estimate(percent(share), '%', 0)} of={t.causes[name]} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small">
        {t.causesNote(
          number(causes.targetF, 2),
          number(causes.humidityClassLimit),
          quantity(causes.heatedToC, '°C', 0),
        )}
      </p>
    </section>
  );
}

function Moved(props: { moved: readonly MovedTrouble[] }) {
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
            <p>{moved.statement}</p>
            {moved.figures.length > 0 && (
              <ul class="plain-list small">
                {moved.figures.map((figure) => (
                  <li key={figure.name}>
                    {figure.name}: {movedFigure(figure, i)}
                  </li>
                ))}
              </ul>
            )}
            {moved.by !== null && <p>{t.enoughBy(when(home.zone, moved.by, 'date'))}</p>}
          </article>
        ))}
      </div>
      <p class="caution">{words.place.hiddenCaution}</p>
    </section>
  );
}

function movedFigure(figure: MovedTrouble['figures'][number], i: number) {
  const places =
    figure.unit === 'Pa' ? digits.pascal : figure.name.includes('factor') || figure.name.includes(' f') ? 2 : 1;
  const said = (side: 'before' | 'after', say: (text: string) => string) => {
    const value = figure[side];
    return value === null ? null : (
      <Figure path={`movedTrouble.${i}.${side}`} text={say(estimate(value, figure.unit, places))} of={figure.name} />
    );
  };
  const parts = [
    said('after', (text) => text),
    said('before', (text) => t.was(text)),
    figure.limit === null ? null : <span>{t.limit(quantity(figure.limit, figure.unit, places))}</span>,
  ].filter((part) => part !== null);
  return parts.map((part, n) => (
    <span key={n}>
      {n > 0 && ', '}
      {part}
    </span>
  ));
}

function Control(props: { assessment: Assessment }) {
  const { control } = props.assessment;
  return (
    <section>
      <h2>{t.controlTitle}</h2>
      {control.kind === 'missing' && <p>{t.controlMissing}</p>}
      {control.kind === 'too-thin' && <p>{t.controlThin(control.place)}</p>}
      {(control.kind === 'agrees' || control.kind === 'disagrees') && (
        <>
          <p>{control.statement}</p>
          <p class="small">
            {t.controlChanges}{' '}
            <Figure
              path="control.differenceInDifferences"
              text={estimate(control.differenceInDifferences, '', 2)}
              of={t.controlChanges}
            />
          </p>
        </>
      )}
    </section>
  );
}

const severityTone = { blocks: 'act', weakens: 'watch', note: 'quiet' } as const;

function Findings(props: { findings: readonly Finding[] }) {
  const home = useHome();
  const order = ['blocks', 'weakens', 'note'] as const;
  const sorted = order.flatMap((severity) => props.findings.filter((finding) => finding.severity === severity));
  return (
    <section>
      <h2>{t.findingsTitle}</h2>
      {sorted.length === 0 && <p>{t.findingsNone}</p>}
      <ul class="findings">
        {sorted.map((finding) => (
          <li key={`${finding.code} ${finding.phase} ${finding.place}`}>
            <span class={`state-words tone-${severityTone[finding.severity]}`}>{t.severities[finding.severity]}</span>{' '}
            {finding.message}
            {finding.mend !== null && <span class="block">{t.mend(finding.mend)}</span>}
            {finding.by !== null && <span class="block small">{t.mendBy(when(home.zone, finding.by, 'date'))}</span>}
          </li>
        ))}
      </ul>
    </section>
  );
}

function Rests(props: { assessment: Assessment; again: () => void }) {
  const { assessment: a } = props;
  const span = (side: Assessment['before'] | Assessment['after']) =>
    side === null ? words.notKnown : words.to(when(a.zone, side.from, 'date'), when(a.zone, side.to, 'date'));
  return (
    <section>
      <h2>{t.restsTitle}</h2>
      <p>{t.rests(span(a.before), span(a.after))}</p>
      <p>
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
              {a.uncertainties.map(({ place, sensor }) => (
                <tr key={place}>
                  <th scope="row">{place}</th>
                  <td data-label={t.temperatureOffset}>{quantity(sensor.temperatureOffsetK, 'K', 2)}</td>
                  <td data-label={t.humidityOffset}>{quantity(sensor.humidityOffsetPct, '%', 1)}</td>
                  <td>{sensor.source}</td>
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
