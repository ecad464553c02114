import { useEffect, useState } from 'preact/hooks';
import type { Example } from '../../../server/api/contract/example.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { CallFailed, call } from '../api/client.ts';
import { returns, revisions } from '../api/live.ts';
import { SaveForm, Sheet } from '../parts/form.tsx';
import { failureWords } from '../parts/notice.tsx';
import { number, withUnit } from '../words/format.ts';
import { said as told } from '../words/say.ts';
import { settlingWords } from '../words/settling.ts';
import { words } from '../words/words.ts';

const t = settlingWords.example;
const LOOK_AGAIN_MS = 700;

/** The invented home: tried, and removed again. */
export function ExampleOffer() {
  const [example, setExample] = useState<Example | null>(null);
  const [why, setWhy] = useState<string | null>(null);
  const [asking, ask] = useState(false);
  const [said, say] = useState('');

  const follow = (asked: Promise<Example>): Promise<void> =>
    asked.then(
      (state) => {
        setWhy(null);
        setExample((last) => {
          if (last !== null && last.state !== state.state) {
            revisions.story.value += 1;
            if (last.state === 'removing' && state.state === 'absent') say(t.removed);
          }
          return state;
        });
      },
      (reason) => {
        if (reason instanceof DOMException && reason.name === 'AbortError') return;
        if (!(reason instanceof CallFailed)) throw reason;
        setWhy(failureWords(reason.failure));
      },
    );

  useEffect(() => {
    void follow(call('getExample', {}));
  }, [returns.value]);
  const busy = example?.state === 'loading' || example?.state === 'removing';
  useEffect(() => {
    if (!busy) return;
    // an answer that is overtaken must not bring back what was
    const leaving = new AbortController();
    const again = setInterval(() => void follow(call('getExample', {}, leaving.signal)), LOOK_AGAIN_MS);
    return () => {
      clearInterval(again);
      leaving.abort();
    };
  }, [busy]);

  const isHere = example !== null;
  useEffect(() => {
    if (isHere && location.hash === '#example') document.getElementById('example')?.scrollIntoView();
  }, [isHere]);

  if (example === null)
    return why === null ? (
      <div class="waiting room-line" role="status">
        {words.loading}
      </div>
    ) : (
      <section class="example">
        <h2>{t.title}</h2>
        <p>{why}</p>
      </section>
    );
  return (
    <section class="example" id="example">
      <h2>{t.title}</h2>
      {why !== null && (
        <p class="notice tone-act" role="alert">
          {why}
        </p>
      )}
      {example.problem !== null && (
        <p class="notice tone-act" role="alert">
          {told.term(example.problem)}
        </p>
      )}
      <p class="small" role="status">
        {said}
      </p>
      {example.state === 'absent' && (
        <>
          <p>{t.lead(example.name)}</p>
          {isOwner() && (
            <div class="buttons">
              <button type="button" onClick={() => void follow(call('addExample', {}))}>
                {t.add}
              </button>
            </div>
          )}
        </>
      )}
      {example.state === 'loading' && (
        <p role="status">
          {example.step === null ? words.loading : t.steps[example.step]}{' '}
          <progress max={1} value={example.share ?? 0} aria-label={t.title} />{' '}
          {t.share(withUnit(number(100 * (example.share ?? 0)), '%'))}
        </p>
      )}
      {example.state === 'there' && (
        <>
          <p>{t.there(example.name)}</p>
          <div class="buttons">
            <a class="button" href={`/?dwelling=${example.dwelling}`}>
              {t.open}
            </a>
            {isOwner() && (
              <button type="button" onClick={() => ask(true)}>
                {t.remove}
              </button>
            )}
          </div>
        </>
      )}
      <Owners what="example" />
      {example.state === 'removing' && <p role="status">{t.removing}</p>}
      {asking && (
        <Sheet title={t.remove} close={() => ask(false)}>
          <SaveForm
            submit={words.removeSure}
            leave={() => ask(false)}
            leaveWords={words.keep}
            send={async () => {
              const state = await call('removeExample', {});
              ask(false);
              await follow(Promise.resolve(state));
            }}
          >
            <p>{t.removeLead(example.name)}</p>
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}
