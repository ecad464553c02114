import { isLandlord, isOwner } from '../access/door.ts';
import { withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { number } from '../words/format.ts';
import { settlingWords } from '../words/settling.ts';
import { nextSteps } from './next-steps.ts';
import { PhasesStep } from './phases-step.tsx';
import { SectionStep } from './section-step.tsx';
import '../style/settling.css';

const t = settlingWords.next;

/** What is still to be done until the home is settled; nothing once it is. */
export function NextList() {
  const home = useHome();
  const params = { dwelling: home.slug };
  const revision = revisions.story.value + revisions.now.value;
  const { loaded } = useLoad(`next ${home.slug}`, revision, async (signal) => {
    const [places, sensors, phases] = await Promise.all([
      call('listPlaces', { params }, signal),
      call('listSensors', { params }, signal),
      call('listPhases', { params }, signal),
    ]);
    return { places, sensors, phases };
  });
  if (isLandlord() || loaded.kind === 'loading' || loaded.value === null) return null;
  const steps = nextSteps({ ...home, ...loaded.value });
  const open = steps.filter(({ done }) => !done);
  if (open.length === 0) return null;
  return (
    <section class="next-steps" aria-labelledby="next-title">
      <h2 id="next-title">{t.title}</h2>
      <ol>
        {open.map(({ kind, path }) => {
          const [what, why] = t.steps[kind];
          return (
            <li key={kind}>
              <a href={withDwelling(path)}>{what}</a>
              <span class="small block">{why}</span>
              {kind === 'section' && isOwner() && <SectionStep />}
              {kind === 'phase' && isOwner() && <PhasesStep />}
            </li>
          );
        })}
      </ol>
      <p class="small">{t.done(number(steps.length - open.length), number(steps.length))}</p>
    </section>
  );
}
