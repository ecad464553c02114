import type { Assessment } from '../../../server/api/contract/comparison.ts';
import type { Place } from '../../../server/api/contract/dwelling.ts';
import { type FactorRow, FactorRows } from '../charts/factor-rows.tsx';
import { Figure } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { estimate, number } from '../words/format.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';

const missingWords = (assessment: Assessment, phase: 'before' | 'after'): string => {
  const codes = assessment[phase]?.missingBecause ?? [];
  const finding = assessment.sufficiency.findings.find(({ code }) => codes.includes(code));
  return finding === undefined ? words.notKnown : said.finding(finding);
};

/** Temperature factors of the surface, of its edges and of the control surface, against the target. */
export function Factors(props: { assessment: Assessment; surface: Place }) {
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
        .map((figure, k) => ({ ...figure, path: `movedTrouble.${i}.figures.${k}` }))
        .filter(({ name }) => name.startsWith('temperature factor'))
        .flatMap((figure): FactorRow[] => [
          {
            name: t.beforeOf(moved.place),
            path: `${figure.path}.before`,
            estimate: figure.before,
            weight: 'beside',
          },
          { name: t.afterOf(moved.place), path: `${figure.path}.after`, estimate: figure.after, weight: 'beside' },
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
        targetWords={t.targetWords(number(a.target.f, 2), said.term(a.target.source))}
      />
      {a.change && (
        <p>
          {t.change} <Figure path="change" text={estimate(a.change, '', 2)} of={t.change} />
        </p>
      )}
    </section>
  );
}
