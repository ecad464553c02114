import type { Finding } from '../../../server/api/contract/comparison.ts';
import { useHome } from '../home.ts';
import { FigureProse } from '../parts/working.tsx';
import { comparingWords as t } from '../words/comparing.ts';
import { when } from '../words/format.ts';
import { said } from '../words/say.ts';

const severityTone = { blocks: 'act', weakens: 'watch', note: 'quiet' } as const;

/** What the evidence lacks, what would mend it, and by when. */
export function Findings(props: { findings: readonly Finding[] }) {
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
            <FigureProse
              text={said.finding(finding)}
              paths={[`sufficiency.findings.${props.findings.indexOf(finding)}`]}
            />
            {finding.mend !== null && <span class="block">{t.mend(said.mend(finding) ?? '')}</span>}
            {finding.by !== null && <strong class="block">{t.mendBy(when(home.zone, finding.by, 'date'))}</strong>}
          </li>
        ))}
      </ul>
    </section>
  );
}
