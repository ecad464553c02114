import { useState } from 'preact/hooks';
import { isOwner } from '../access/door.ts';
import { type AnswerOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { NBSP, number, quantity, when } from '../words/format.ts';
import { quarantineWords } from '../words/quarantine.ts';
import { words } from '../words/words.ts';
import { SaveForm, Sheet } from './form.tsx';
import { Show } from './notice.tsx';

const t = quarantineWords.clock;
const MINUTE_MS = 60_000;
/** Time zones lie at most so far from UTC, and steps of a quarter of an hour apart. */
const FARTHEST_ZONE_MS = 14 * 60 * MINUTE_MS;

type Doubt = AnswerOf<'listClockDoubts'>[number];

/** How an owner says that it was the clock of this computer that was wrong, and not that of a device. */
export function ClockDoubts(props: { again: () => void }) {
  const [asking, ask] = useState(false);
  if (!isOwner()) return null;
  return (
    <>
      <p>
        <button type="button" onClick={() => ask(true)}>
          {t.ask}
        </button>
      </p>
      {asking && (
        <Sheet title={t.ask} close={() => ask(false)}>
          <DoubtList
            close={() => {
              ask(false);
              props.again();
            }}
          />
        </Sheet>
      )}
    </>
  );
}

function DoubtList(props: { close: () => void }) {
  const [said, say] = useState('');
  const { loaded, again } = useLoad('clock-doubts', 0, (signal) => call('listClockDoubts', {}, signal));
  return (
    <>
      <p>{t.lead}</p>
      <p role="status">{said}</p>
      <Show loaded={loaded} again={again} room="line">
        {(doubts) =>
          doubts.length === 0 ? (
            <p>{t.none}</p>
          ) : (
            doubts.map((doubt) => (
              <OneDoubt
                key={`${doubt.from} ${doubt.behindMs}`}
                doubt={doubt}
                settled={({ messages, readings }) => {
                  say(t.done(number(readings), number(messages)));
                  again();
                }}
              />
            ))
          )
        }
      </Show>
      <p>
        <button type="button" onClick={props.close}>
          {words.working.close}
        </button>
      </p>
    </>
  );
}

function OneDoubt(props: { doubt: Doubt; settled: (answer: AnswerOf<'settleClockDoubt'>) => void }) {
  const { zone } = useHome();
  const { from, to, behindMs, topics, messages } = props.doubt;
  const span = spanWords(behindMs);
  const time = (instant: string): string => when(zone, instant, 'full');
  return (
    <SaveForm
      submit={t.believe(span)}
      send={async () => props.settled(await call('settleClockDoubt', { body: { from, to, behindMs } }))}
    >
      <h3>{t.ahead(span)}</h3>
      <p>{t.came(number(messages), time(from), time(to))}</p>
      <ul>
        {topics.slice(0, 8).map((topic) => (
          <li key={topic} class="wrap-anywhere">
            <code>{topic}</code>
          </li>
        ))}
        {topics.length > 8 && <li>{t.more(number(topics.length - 8))}</li>}
      </ul>
      <p>{topics.length === 1 ? t.alone : t.agree(number(topics.length))}</p>
      {isLikeZone(behindMs) && <p>{t.likeZone}</p>}
      <p>{t.forGood}</p>
    </SaveForm>
  );
}

/** Whether local time sent as UTC would be ahead by about as much. */
const isLikeZone = (ms: number): boolean => {
  const off = ms % (15 * MINUTE_MS);
  return ms <= FARTHEST_ZONE_MS && Math.min(off, 15 * MINUTE_MS - off) <= 2 * MINUTE_MS;
};

/** Hours and minutes, or days and hours where there are many. */
function spanWords(ms: number): string {
  const minutes = Math.round(ms / MINUTE_MS);
  const [large, small, unit, least] =
    minutes < 48 * 60 ? [minutes, 60, 'h', 'min'] : [Math.round(minutes / 60), 24, 'd', 'h'];
  const whole = Math.floor(large / small);
  const rest = large % small;
  return [whole > 0 ? [quantity(whole, unit, 0)] : [], rest > 0 ? [quantity(rest, least, 0)] : []].flat().join(NBSP);
}
