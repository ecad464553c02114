import type { SensorFinding } from '../../../server/api/contract/dwelling.ts';
import { withDwelling } from '../address.ts';
import { useHome } from '../home.ts';
import { quantity, when } from '../words/format.ts';
import { findingWords } from '../words/place-figures.ts';
import { said } from '../words/say.ts';
import { words } from '../words/words.ts';

const t = words.findings;

const findingTone = { note: 'unknown', caution: 'watch', warning: 'act' } as const;

/** What is found about the sensors behind a figure, with a way to the evidence. */
export function FindingsBeside(props: { findings: readonly SensorFinding[] }) {
  const said = findingWords(props.findings);
  if (said === '') return null;
  return (
    <span class="block small">
      <a href={withDwelling('/sensors')}>{said}</a>
    </span>
  );
}

/** Findings with their evidence, what they do to the figures, and what to do about them. */
export function FindingList(props: { findings: readonly SensorFinding[] }) {
  const home = useHome();
  return (
    <ul class="findings">
      {props.findings.map((finding) => (
        <li key={`${finding.sensorId} ${finding.code} ${finding.from}`}>
          <span class={`state-words tone-${findingTone[finding.severity]}`}>{t.names[finding.code]}</span>{' '}
          <strong>{finding.sensorName}</strong>
          <p>{said.sensor(finding)}</p>
          <p class="small">
            {words.to(when(home.zone, finding.from, 'moment'), when(home.zone, finding.to, 'moment'))}.{' '}
            {effectWords(finding.effect)}
          </p>
        </li>
      ))}
    </ul>
  );
}

function effectWords(effect: SensorFinding['effect']): string {
  switch (effect.kind) {
    case 'shown':
      return t.effects.shown;
    case 'not-counted':
      return t.effects.notCounted;
    case 'wider':
      return t.effects.wider(
        words.quantities[effect.quantity].toLowerCase(),
        effect.quantity === 'temperature' ? quantity(effect.limit, 'K', 1) : quantity(effect.limit, '%', 0),
      );
  }
}
