import { useEffect, useState } from 'preact/hooks';
import type { Comparison } from '../../../server/api/contract/comparison.ts';
import type { DiaryEntry, Phase, Place } from '../../../server/api/contract/dwelling.ts';
import { query, withDwelling } from '../address.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { CausesOf } from '../comparing/causes.tsx';
import { Choices } from '../comparing/choices.tsx';
import { type Chosen, chosenBy } from '../comparing/chosen.ts';
import { Control } from '../comparing/control.tsx';
import { Factors } from '../comparing/factors.tsx';
import { Findings } from '../comparing/findings.tsx';
import { Moved } from '../comparing/moved.tsx';
import { Rests } from '../comparing/rests.tsx';
import { Verdict } from '../comparing/verdict.tsx';
import { WhatElse } from '../comparing/what-else.tsx';
import { WouldHaveBeen } from '../comparing/would-have-been.tsx';
import { diaryOf } from '../diary/entries.ts';
import { useHome } from '../home.ts';
import { keptAt } from '../offline/kept.ts';
import { Empty, FailureNotice, Show } from '../parts/notice.tsx';
import { Workings } from '../parts/working.tsx';
import '../style/comparing.css';
import { comparingWords as t } from '../words/comparing.ts';
import { number } from '../words/format.ts';
import { words } from '../words/words.ts';

const HOUR_MS = 3_600_000;

/** The verdict first, then everything it rests on, in the order a doubter asks for it. */
export function BeforeAfterScreen() {
  const home = useHome();
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`story ${home.slug}`, revisions.story.value, async (signal) => {
    const [places, phases] = await Promise.all([
      call('listPlaces', { params }, signal),
      call('listPhases', { params }, signal),
    ]);
    return { places, phases };
  });
  return (
    <Show loaded={loaded} again={again} room="screen">
      {({ places, phases }) => (
        <Compared surfaces={places.filter(({ kind }) => kind === 'ceiling-surface')} phases={phases} />
      )}
    </Show>
  );
}

function Compared(props: { surfaces: readonly Place[]; phases: readonly Phase[] }) {
  const chosen = chosenBy(query.value, props.surfaces, props.phases);
  if (chosen === null) {
    return (
      <>
        <h1>{words.screens.beforeAfter}</h1>
        <Empty
          title={t.noSurface}
          next={
            <a class="no-print" href={withDwelling('/sensors')}>
              {t.noSurfaceNext}
            </a>
          }
        />
      </>
    );
  }
  return (
    <>
      <Choices surfaces={props.surfaces} phases={props.phases} chosen={chosen} />
      <Result chosen={chosen} phases={props.phases} />
    </>
  );
}

function Result(props: { chosen: Chosen; phases: readonly Phase[] }) {
  const home = useHome();
  const { surface, before, after, target, riskLimit, mouldClass } = props.chosen;
  const { loaded, again } = useLoad(
    `comparison ${[home.slug, surface.id, before?.id, after?.id, target, riskLimit, mouldClass].join(' ')}`,
    // One more hour changes no verdict, and working it out takes seconds: it is asked for again only when told to.
    revisions.story.value,
    async (signal) => {
      const params = { dwelling: home.slug };
      const query = { surface: surface.id, before: before?.id, after: after?.id, target, riskLimit, mouldClass };
      const [comparison, diary] = await Promise.all([
        call('getComparison', { params, query }, signal),
        diaryOf(home.slug, signal),
      ]);
      const kept = keptAt(comparison);
      return { at: kept ?? Date.now(), isKept: kept !== null, comparison, diary };
    },
  );
  switch (loaded.kind) {
    case 'loading':
      return <Comparing />;
    case 'failed':
      return (
        <>
          <FailureNotice failure={loaded.failure} again={again} stale={loaded.value !== null} />
          {loaded.value === null ? (
            <h1>{words.screens.beforeAfter}</h1>
          ) : (
            <Answered loaded={loaded.value} phases={props.phases} again={again} />
          )}
        </>
      );
    case 'ready':
      return (
        <>
          {loaded.value.isKept && <FailureNotice failure={{ kind: 'unreachable' }} again={again} stale />}
          <Answered loaded={loaded.value} phases={props.phases} again={again} />
        </>
      );
  }
}

/** Says how long it has been at work; it holds the room of what is to come. */
function Comparing() {
  const [seconds, setSeconds] = useState(0);
  useEffect(() => {
    const ticking = setInterval(() => setSeconds((n) => n + 1), 1000);
    return () => clearInterval(ticking);
  }, []);
  return (
    <div class="waiting room-screen">
      <h1>{words.screens.beforeAfter}</h1>
      <p>{t.working(number(seconds))}</p>
      <progress aria-label={words.loading} />
    </div>
  );
}

interface Answer {
  /** UTC ms at which the program gave it */
  readonly at: number;
  /** it comes from what this device kept */
  readonly isKept: boolean;
  readonly comparison: Comparison;
  readonly diary: readonly DiaryEntry[];
}

function Answered(props: { loaded: Answer; phases: readonly Phase[]; again: () => void }) {
  const { assessment, surface } = props.loaded.comparison;
  // asked again every minute: an answer grows stale by the passing of time alone
  const newer = revisions.now.value >= 0 && Math.floor(Date.now() / HOUR_MS) > Math.floor(props.loaded.at / HOUR_MS);
  return (
    <Workings.Provider value={assessment.working}>
      {newer && (
        <p class="notice tone-watch" role="status">
          {t.stale}{' '}
          <button type="button" class="plain" onClick={props.again}>
            {t.again}
          </button>
        </p>
      )}
      <Verdict assessment={assessment} />
      {assessment.sufficiency.enough ? null : <Findings findings={assessment.sufficiency.findings} />}
      <div class="two-columns">
        <Factors assessment={assessment} surface={surface} />
        <WouldHaveBeen assessment={assessment} phases={props.phases} diary={props.loaded.diary} />
        <WhatElse assessment={assessment} />
        <CausesOf assessment={assessment} />
      </div>
      <Moved moved={assessment.movedTrouble} />
      <Control assessment={assessment} />
      {assessment.sufficiency.enough ? <Findings findings={assessment.sufficiency.findings} /> : null}
      <Rests assessment={assessment} again={props.again} />
    </Workings.Provider>
  );
}
