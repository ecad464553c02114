import { useState } from 'preact/hooks';
import { isOwner } from '../access/door.ts';
import { type AnswerOf, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Empty, Show } from '../parts/notice.tsx';
import { number, when } from '../words/format.ts';
import { recipientWords as t } from '../words/recipients.ts';

type Delivery = AnswerOf<'testRecipient'>;
type Attempt = Delivery['attempts'][number];
type Recipients = AnswerOf<'listRecipients'>['recipients'];

const FEW = 20;
const MOST = 200;

/** Messages to the people of a home: those given up first, then the last ones, each with what became of it. */
export function Deliveries({ recipients, revision }: { recipients: Recipients; revision: number }) {
  const home = useHome();
  const [limit, setLimit] = useState(FEW);
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`deliveries ${home.slug} ${limit}`, revision, async (signal) => {
    const [last, dead] = await Promise.all([
      call('listDeliveries', { params, query: { limit } }, signal),
      call('listDeliveries', { params, query: { limit: MOST, state: 'given-up' } }, signal),
    ]);
    return { last: last.deliveries, dead: dead.deliveries.filter(({ event }) => event !== 'test') };
  });
  return (
    <Show loaded={loaded} again={again} room="list">
      {({ last, dead }) =>
        last.length === 0 ? (
          <Empty title={t.noDeliveries} next={t.noDeliveriesNext} />
        ) : (
          <>
            {dead.length > 0 && (
              <section class="notice tone-act">
                <h3>{t.deadTitle}</h3>
                <p>{t.deadLead}</p>
                <List deliveries={dead} recipients={recipients} />
              </section>
            )}
            <List deliveries={last} recipients={recipients} />
            {last.length === limit && limit < MOST && (
              <button type="button" onClick={() => setLimit(MOST)}>
                {t.more}
              </button>
            )}
          </>
        )
      }
    </Show>
  );
}

function List({ deliveries, recipients }: { deliveries: readonly Delivery[]; recipients: Recipients }) {
  const { zone } = useHome();
  return (
    <ol class="deliveries">
      {deliveries.map((one) => {
        const name = recipients.find(({ id }) => id === one.recipientId)?.name ?? t.someone;
        const attempt = one.attempts.at(-1);
        return (
          <li key={one.id}>
            <p>
              <strong>{one.subject}</strong>
            </p>
            <p class="small">
              {[
                t.to(name),
                when(zone, one.createdAt, 'full'),
                t.states[one.state],
                ...(one.attempts.length > 1 ? [t.attempts(number(one.attempts.length))] : []),
                ...(one.nextAt !== null ? [t.next(when(zone, one.nextAt, 'moment'))] : []),
              ].join(' · ')}
            </p>
            {attempt !== undefined && attempt.outcome !== 'sent' && one.state !== 'sending' && (
              <Failure attempt={attempt} />
            )}
            {one.state === 'given-up' && one.event !== 'test' && isOwner() && <Retry delivery={one} />}
          </li>
        );
      })}
    </ol>
  );
}

function Retry({ delivery }: { delivery: Delivery }) {
  const { slug } = useHome();
  const [asked, setAsked] = useState(false);
  return (
    <button
      type="button"
      aria-label={t.retryOne(delivery.subject)}
      aria-disabled={asked}
      onClick={() => {
        if (asked) return;
        setAsked(true);
        call('retryDelivery', { params: { dwelling: slug, message: delivery.id } }).finally(() => {
          setAsked(false);
          revisions.deliveries.value += 1;
        });
      }}
    >
      {t.retry}
    </button>
  );
}

/** Why an attempt failed, in plain words; those of the other side are folded away. */
export function Failure({ attempt }: { attempt: Attempt }) {
  const why = t.codes[attempt.code];
  return (
    <>
      <p class="small">{why.charAt(0).toUpperCase() + why.slice(1)}.</p>
      {attempt.detail !== '' && (
        <details class="small">
          <summary>{t.saidTitle}</summary>
          <code class="said">{attempt.detail}</code>
        </details>
      )}
    </>
  );
}
