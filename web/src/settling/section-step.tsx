import { useState } from 'preact/hooks';
import { CallFailed, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useHome } from '../home.ts';
import { failureWords } from '../parts/notice.tsx';
import { settlingWords } from '../words/settling.ts';

/** Keeps the section as it is: its people say that the measures are theirs. */
export function SectionStep() {
  const { slug, section } = useHome();
  const [why, setWhy] = useState<string | null>(null);
  return (
    <>
      <span class="buttons">
        <button
          type="button"
          onClick={() => {
            setWhy(null);
            call('changeDwelling', { params: { dwelling: slug }, body: { section } }).then(
              () => {
                revisions.story.value += 1;
              },
              (reason) => {
                if (!(reason instanceof CallFailed)) throw reason;
                setWhy(failureWords(reason.failure));
              },
            );
          }}
        >
          {settlingWords.next.confirmSection}
        </button>
      </span>
      {why !== null && (
        <span class="notice tone-act block" role="alert">
          {why}
        </span>
      )}
    </>
  );
}
