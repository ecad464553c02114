import '../lining/without-eval.ts';

import { useEffect, useMemo, useState } from 'preact/hooks';
import type { LiningAnswer } from '../../../server/api/contract/lining-answer.ts';
import { readLiningFile } from '../../../server/api/contract/lining-file.ts';
import { publishedFactors } from '../../../server/physics/published-factors.ts';
import { CallFailed, call, type Failure } from '../api/client.ts';
import { returns, revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Beside, HeatFigures, HiddenMonths, mouldFigure, Notices } from '../lining/answer.tsx';
import { type Draft, fileOf, type LayerDraft, type ListName, startOf } from '../lining/draft.ts';
import { type Faults, faultsOf } from '../lining/faults.ts';
import { LayerList } from '../lining/layer-list.tsx';
import { LayersDrawing } from '../lining/layers-drawing.tsx';
import { MaterialTable } from '../lining/material-table.tsx';
import { Plans } from '../lining/plans.tsx';
import { StateFields } from '../lining/state-fields.tsx';
import { ChoiceField, TickField } from '../lining/value-field.tsx';
import { workingsOf } from '../lining/workings.ts';
import { FailureNotice, Show } from '../parts/notice.tsx';
import { FigureProse, Workings } from '../parts/working.tsx';
import '../style/lining.css';
import { number } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { said } from '../words/say.ts';

/** Typing is let come to rest this long before the program is asked again, ms. */
const REST_MS = 200;
const LONGER_REST_MS = 1200;

/** The last answer stays until the next one is there; it is told apart from one that could not be had. */
interface Checked {
  readonly answer: LiningAnswer | null;
  /** what the answer is about */
  readonly draft: Draft | null;
  readonly failure: Failure | null;
  readonly busy: boolean;
}

/** The existing ceiling and a lining, layer by layer, and what the one does to the other. */
export function LiningScreen() {
  const home = useHome();
  const [draft, setDraft] = useState<Draft>(() => startOf(home.section, home.zone));
  const [open, setOpen] = useState<number | null>(null);
  const [target, setTarget] = useState(0.75);
  const [attempt, setAttempt] = useState(0);
  const text = useMemo(() => JSON.stringify(fileOf(draft)), [draft]);
  const problems = useMemo(() => {
    const read = readLiningFile(JSON.parse(text));
    return read.kind === 'usable' ? [] : read.problems;
  }, [text]);
  const faults = faultsOf(problems, draft);
  const checked = useCheck(draft, text, problems.length === 0, attempt + returns.value);
  const kept = useLoad(`build-ups ${home.slug}`, revisions.story.value + attempt, (signal) =>
    call('listBuildUps', { params: { dwelling: home.slug } }, signal),
  );
  const show = (next: Draft, id: number | null) => {
    setDraft(next);
    setOpen(id);
  };
  const { answer } = checked;
  const workings = useMemo(() => (answer === null ? [] : workingsOf(answer)), [answer]);
  return (
    <Workings.Provider value={workings}>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <div class="lining-headline" aria-live="polite">
        {answer && <Headline answer={answer} target={target} />}
        {faults.any && <p class="notice tone-watch">{answer ? t.mend : t.mendFirst}</p>}
        {faults.rest.map((fault) => (
          <p key={fault} class="fault">
            {fault}
          </p>
        ))}
        {checked.failure && (
          <FailureNotice failure={checked.failure} again={() => setAttempt((n) => n + 1)} stale={answer !== null} />
        )}
      </div>
      <div class="lining">
        <Editor draft={draft} faults={faults} change={setDraft} />
        <div class="lining-answer" aria-busy={checked.busy}>
          {answer === null || checked.draft === null ? (
            checked.failure === null && (
              <div class="waiting room-screen" role="status">
                {t.checking}
              </div>
            )
          ) : (
            <>
              <LayersDrawing
                answer={answer}
                existing={checked.draft.existing}
                after={[...checked.draft.lining, ...(checked.draft.behind ?? checked.draft.existing)]}
              />
              <ChoiceField
                label={t.target}
                value={String(target)}
                options={targets.map(({ factor, where }) => [
                  String(factor),
                  `${number(factor, 2)}: ${said.term(where)}`,
                ])}
                change={(value) => setTarget(Number(value))}
              />
              <HeatFigures answer={answer} />
            </>
          )}
        </div>
      </div>
      {answer && (
        <>
          <HiddenMonths answer={answer} busy={checked.busy} />
          <Beside answer={answer} busy={checked.busy} />
          <Notices answer={answer} />
        </>
      )}
      <Show loaded={kept.loaded} again={kept.again} room="list">
        {(list) => (
          <Plans
            kept={list}
            open={open}
            draft={draft}
            usable={problems.length === 0}
            show={show}
            changed={() => setAttempt((n) => n + 1)}
          />
        )}
      </Show>
      <MaterialTable />
    </Workings.Provider>
  );
}

const targets = publishedFactors.filter(({ factor }, i, all) => all.findIndex((one) => one.factor === factor) === i);

/** Asks the program whenever the build-ups have come to rest and can be used. */
function useCheck(draft: Draft, text: string, usable: boolean, attempt: number): Checked {
  const home = useHome();
  const [checked, setChecked] = useState<Checked>({ answer: null, draft: null, failure: null, busy: true });
  useEffect(() => {
    if (!usable) {
      setChecked((last) => ({ ...last, busy: false }));
      return;
    }
    const abort = new AbortController();
    setChecked((last) => ({ ...last, busy: true }));
    // on a busy machine the quick answer may come last: it must not take the place of the full one
    let full = false;
    const ask = (log: 'own' | undefined) => {
      const request = { params: { dwelling: home.slug }, query: { log }, body: JSON.parse(text) };
      call('checkLining', request, abort.signal).then(
        (answer) => {
          if (abort.signal.aborted || (full && log === undefined)) return;
          full ||= log === 'own';
          setChecked({ answer, draft, failure: null, busy: !full });
        },
        (reason) => {
          if (abort.signal.aborted) return;
          if (!(reason instanceof CallFailed)) throw reason;
          setChecked((last) => ({ ...last, failure: reason.failure, busy: false }));
        },
      );
    };
    // the layers alone are answered at once; with the hours of years behind them it takes seconds
    const soon = setTimeout(() => ask(undefined), REST_MS);
    const later = setTimeout(() => ask('own'), LONGER_REST_MS);
    return () => {
      clearTimeout(soon);
      clearTimeout(later);
      abort.abort();
    };
  }, [text, usable, attempt, home.slug]);
  return checked;
}

function Headline(props: { answer: LiningAnswer; target: number }) {
  const [before, after] = [mouldFigure('before', props.answer), mouldFigure('after', props.answer)];
  const target = number(props.target, 2);
  const meets = after.factor >= props.target;
  const worst = props.answer.notices.find(({ severity }) => severity === 'warning');
  return (
    <>
      <p>
        <strong>
          <FigureProse
            text={t.headline(number(before.factor, 2), number(after.factor, 2))}
            paths={[before.path, after.path]}
          />
        </strong>{' '}
        <span class={`state-words tone-${meets ? 'quiet' : 'watch'}`}>{meets ? t.meets(target) : t.short(target)}</span>
      </p>
      {worst && <p class="notice tone-act">{said.lining(worst)}</p>}
      <p class="no-print">
        <a href="#before-you-build">{t.cautionsTitle}</a>
      </p>
    </>
  );
}

function Editor(props: { draft: Draft; faults: Faults; change: (draft: Draft) => void }) {
  const { draft, faults, change } = props;
  const list = (name: ListName, title: string, lead: string, layers: readonly LayerDraft[]) => (
    <LayerList
      title={title}
      lead={lead}
      name={name}
      layers={layers}
      faults={faults}
      change={(next) => change({ ...draft, [name]: next })}
    />
  );
  return (
    <div class="lining-editor">
      {list('lining', t.lining, t.liningLead, draft.lining)}
      {list('existing', t.existing, t.existingLead, draft.existing)}
      <TickField
        label={t.oldChange}
        checked={draft.behind !== null}
        change={(on) => change({ ...draft, behind: on ? draft.existing : null })}
      />
      {draft.behind !== null && list('behind', t.oldLayers, t.existingLead, draft.behind)}
      <StateFields draft={draft} faults={faults} change={change} />
    </div>
  );
}
