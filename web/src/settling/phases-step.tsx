import { useState } from 'preact/hooks';
import type { Phase } from '../../../server/api/contract/dwelling.ts';
import { CallFailed, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { failureWords } from '../parts/notice.tsx';
import { fromInput, localMidnight, toInput } from '../time/zone.ts';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';

const t = settlingWords.phases;
const DAY_MS = 86_400_000;
/** Longer than any day of 25 hours and shorter than two of 23. */
const NEXT_DAY_MS = 1.5 * DAY_MS;

type NewPhase = Pick<Phase, 'kind' | 'name' | 'from' | 'to'>;

/** Names the span before the works: from today with one click, or all spans where the days of the works are known. */
export function PhasesStep() {
  const home = useHome();
  const [asking, ask] = useState(false);
  const [why, setWhy] = useState<string | null>(null);
  const today = localMidnight(home.zone, Date.now());
  const keep = async (phases: readonly NewPhase[]): Promise<void> => {
    for (const body of phases) await call('addPhase', { params: { dwelling: home.slug }, body });
    revisions.story.value += 1;
  };
  return (
    <>
      <span class="buttons">
        <button
          type="button"
          onClick={() => {
            setWhy(null);
            keep([{ kind: 'before', name: t.names.before, from: new Date(today).toISOString(), to: null }]).catch(
              (reason) => {
                if (!(reason instanceof CallFailed)) throw reason;
                setWhy(failureWords(reason.failure));
              },
            );
          }}
        >
          {t.today}
        </button>
        <button type="button" onClick={() => ask(true)}>
          {t.known}
        </button>
      </span>
      {why !== null && (
        <span class="notice tone-act block" role="alert">
          {why}
        </span>
      )}
      {asking && <WorksSheet today={today} leave={() => ask(false)} keep={keep} />}
    </>
  );
}

function WorksSheet(props: { today: number; leave: () => void; keep: (phases: readonly NewPhase[]) => Promise<void> }) {
  const { zone } = useHome();
  const [before, setBefore] = useState(() => toInput(zone, props.today).slice(0, 10));
  const [begun, setBegun] = useState('');
  return (
    <Sheet title={t.title} close={props.leave}>
      <SaveForm
        submit={words.save}
        leave={props.leave}
        send={async (fields) => {
          const first = (name: string): string | null => fromInput(zone, `${textOf(fields, name)}T00:00`);
          const [from, worksFrom, lastDay] = [first('before'), first('begun'), first('ended')];
          if (from === null || worksFrom === null) return;
          const ended =
            lastDay === null ? null : new Date(localMidnight(zone, Date.parse(lastDay) + NEXT_DAY_MS)).toISOString();
          await props.keep([
            { kind: 'before', name: t.names.before, from, to: worksFrom },
            { kind: 'works', name: t.names.works, from: worksFrom, to: ended },
            ...(ended === null ? [] : [{ kind: 'after', name: t.names.after, from: ended, to: null } as const]),
          ]);
          props.leave();
        }}
      >
        <p>{t.lead}</p>
        <Field label={t.before} hint={t.beforeHint}>
          {(ids) => (
            <input
              {...ids}
              name="before"
              type="date"
              required
              value={before}
              onInput={(event) => setBefore(event.currentTarget.value)}
            />
          )}
        </Field>
        <Field label={t.begun} hint={t.begunHint}>
          {(ids) => (
            <input
              {...ids}
              name="begun"
              type="date"
              required
              min={dayAfter(before)}
              value={begun}
              onInput={(event) => setBegun(event.currentTarget.value)}
            />
          )}
        </Field>
        <Field label={t.ended} hint={t.endedHint}>
          {(ids) => <input {...ids} name="ended" type="date" min={begun} />}
        </Field>
      </SaveForm>
    </Sheet>
  );
}

/** The day after a day of the calendar, `YYYY-MM-DD`; empty where it is none. */
function dayAfter(day: string): string {
  const at = Date.parse(day);
  return Number.isFinite(at) ? new Date(at + DAY_MS).toISOString().slice(0, 10) : '';
}
