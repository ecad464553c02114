import type { Assessment, Conditions } from '../../../server/api/contract/comparison.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { diaryOf } from '../diary/entries.ts';
import { useHome } from '../home.ts';
import { Show } from '../parts/notice.tsx';
import { Figure } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { number, quantity, when } from '../words/format.ts';
import { diaryKind, words } from '../words/words.ts';

interface Row {
  readonly name: string;
  readonly figures: readonly (readonly [key: keyof Conditions, text: (value: number) => string])[];
  readonly matters: string;
}

/** Weather, living and diary in both phases: what a doubter would put the change down to. */
export function WhatElse(props: { assessment: Assessment }) {
  const { assessment: a } = props;
  const { before, after, overlap } = a.conditions;
  if (before === null && after === null) return null;
  const taken = a.before?.f && a.after?.f ? t.takenOut : t.notTakenOut;
  const covered = (side: Conditions | null) => side === null || side.coveragePct >= a.settings.lowestCoveragePct;
  const weather: readonly Row[] = [
    { name: t.outdoors, figures: [['outdoorMeanC', (c) => quantity(c, '°C', 1)]], matters: taken },
  ];
  const living: readonly Row[] = [
    { name: t.room, figures: [['roomMeanC', (c) => quantity(c, '°C', 1)]], matters: taken },
    { name: t.roomHumidity, figures: [['roomMeanHumidityPct', (pct) => quantity(pct, '%', 0)]], matters: taken },
    {
      name: t.excess,
      figures: [
        ['vapourExcessMeanPa', (pa) => quantity(pa, 'Pa', 0)],
        ['humidityClass', (n) => t.humidityClass(number(n))],
      ],
      matters: taken,
    },
  ];
  const data: readonly Row[] = [
    {
      name: t.coverage,
      figures: [['coveragePct', (pct) => quantity(pct, '%', 0)]],
      matters: covered(before) && covered(after) ? t.enough : t.thin,
    },
  ];
  const group = (title: string, rows: readonly Row[]) => (
    <tbody>
      <tr class="group">
        <th scope="rowgroup" colSpan={4}>
          {title}
        </th>
      </tr>
      {rows.map((row) => (
        <tr key={row.name}>
          <th scope="row">{row.name}</th>
          <td data-label={t.before}>
            <Cell row={row} side="before" conditions={before} />
          </td>
          <td data-label={t.after}>
            <Cell row={row} side="after" conditions={after} />
          </td>
          <td data-label={t.matters}>{row.matters}</td>
        </tr>
      ))}
    </tbody>
  );
  return (
    <section class="else">
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
        {group(t.weather, weather)}
        {group(t.living, living)}
        {group(t.data, data)}
      </table>
      {overlap !== null && (
        <p class="small">
          <Figure path="conditions.overlap" text={quantity(100 * overlap, '%', 0)} of={t.overlap} /> {t.overlap}
        </p>
      )}
      <FromDiary assessment={a} />
    </section>
  );
}

function Cell(props: { row: Row; side: 'before' | 'after'; conditions: Conditions | null }) {
  const { row, side, conditions } = props;
  const known = row.figures.flatMap(([key, say]) => {
    const value = conditions?.[key];
    return typeof value === 'number' ? [{ key, text: say(value) }] : [];
  });
  if (known.length === 0) return <>{words.notKnown}</>;
  return (
    <>
      {known.map(({ key, text }, i) => (
        <span key={key}>
          {i > 0 && ', '}
          <Figure path={`conditions.${side}.${key}`} text={text} of={`${row.name}, ${t[side]}`} />
        </span>
      ))}
    </>
  );
}

/** What the people wrote down in either phase, kinds first: heating off, laundry, windows. */
function FromDiary(props: { assessment: Assessment }) {
  const home = useHome();
  const { before, after } = props.assessment;
  const { loaded, again } = useLoad(`diary ${home.slug}`, revisions.story.value, (signal) =>
    diaryOf(home.slug, signal),
  );
  return (
    <>
      <h3>{t.diaryTitle}</h3>
      <Show loaded={loaded} again={again} room="list">
        {(entries) => {
          const sides = (['before', 'after'] as const).flatMap((side) => {
            const span = side === 'before' ? before : after;
            if (span === null) return [];
            const own = entries.filter(({ time }) => Date.parse(time) >= span.from && Date.parse(time) < span.to);
            return own.length === 0 ? [] : [{ side, own: own.toReversed() }];
          });
          if (sides.length === 0) return <p class="small">{t.diaryNone}</p>;
          return (
            <div class="diary-beside">
              {sides.map(({ side, own }) => (
                <div key={side}>
                  <h4>{t[side]}</h4>
                  <ul class="plain-list small">
                    {own.map((entry) => (
                      <li key={entry.id}>
                        <time dateTime={entry.time}>{when(home.zone, entry.time, 'date')}</time>,{' '}
                        {diaryKind(entry.kind)}: {entry.text}
                      </li>
                    ))}
                  </ul>
                </div>
              ))}
            </div>
          );
        }}
      </Show>
    </>
  );
}
