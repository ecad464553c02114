import { useState } from 'preact/hooks';
import { isOwner } from '../access/door.ts';
import { type AnswerOf, call } from '../api/client.ts';
import { useHome } from '../home.ts';
import { number, when } from '../words/format.ts';
import { quarantineWords as t } from '../words/quarantine.ts';
import { words } from '../words/words.ts';
import { SaveForm, Sheet } from './form.tsx';

/** What was not even kept, for want of room. */
export function NotKept(props: { notKept: AnswerOf<'listQuarantine'>['notKept'] }) {
  const { zone } = useHome();
  const { notKept } = props;
  const earliest = notKept.map(({ firstAt }) => firstAt).sort()[0];
  const last = notKept
    .map(({ lastAt }) => lastAt)
    .sort()
    .at(-1);
  if (earliest === undefined || last === undefined) return null;
  const lost = notKept.reduce((sum, { messages }) => sum + messages, 0);
  return (
    <div class="notice tone-watch">
      <p>{t.notKept(number(lost), when(zone, earliest, 'date'), when(zone, last, 'full'))}</p>
      <ul>
        {notKept.slice(0, 5).map(({ sender, messages }) => (
          <li key={sender} class="wrap-anywhere">
            {t.from(sender === '' ? t.others : sender, number(messages))}
          </li>
        ))}
      </ul>
      <p>{t.whatToDo}</p>
    </div>
  );
}

/** How an owner makes room again. */
export function RemoveQuarantined(props: { total: number; again: () => void }) {
  const [asking, ask] = useState(false);
  if (!isOwner()) return null;
  return (
    <>
      <p>
        <button type="button" onClick={() => ask(true)}>
          {t.remove}
        </button>
      </p>
      {asking && (
        <Sheet title={t.remove} close={() => ask(false)}>
          <SaveForm
            submit={words.removeSure}
            leave={() => ask(false)}
            leaveWords={words.keep}
            send={async () => {
              await call('emptyQuarantine', {});
              ask(false);
              props.again();
            }}
          >
            <p>{t.removeLead(number(props.total))}</p>
          </SaveForm>
        </Sheet>
      )}
    </>
  );
}
