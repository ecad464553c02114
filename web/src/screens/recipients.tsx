import { useState } from 'preact/hooks';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { withDwelling } from '../address.ts';
import { type AnswerOf, CallFailed, call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { SaveForm, Sheet } from '../parts/form.tsx';
import { Empty, failureWords, Show } from '../parts/notice.tsx';
import { number, when } from '../words/format.ts';
import { recipientWords as t } from '../words/recipients.ts';
import { words } from '../words/words.ts';
import '../style/recipients.css';
import { Deliveries, Failure } from './deliveries.tsx';
import { noticeName, RecipientSheet, SecretSheet } from './recipient-sheet.tsx';

type List = AnswerOf<'listRecipients'>;
type Recipient = List['recipients'][number];

/** Who gets word of notices, whether it reaches them, and what did not. */
export function RecipientsScreen() {
  const home = useHome();
  const revision = revisions.deliveries.value;
  const { loaded, again } = useLoad(`recipients ${home.slug}`, revision, (signal) =>
    call('listRecipients', { params: { dwelling: home.slug } }, signal),
  );
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <p class="small no-print">
        <a href={withDwelling('/notices')}>{t.toNotices}</a>
      </p>
      <Show loaded={loaded} again={again} room="screen">
        {(list) => (
          <>
            <MailState list={list} />
            <h2>{t.recipients}</h2>
            <Recipients list={list} />
            <p class="caution">{t.caution}</p>
            <h2>{t.deliveries}</h2>
            <Deliveries recipients={list.recipients} revision={revision} />
          </>
        )}
      </Show>
    </>
  );
}

function MailState({ list }: { list: List }) {
  if (list.mailFrom === null) return <Empty title={t.noMail} next={t.noMailNext} />;
  return (
    <p class="small">
      {t.mailFrom(list.mailFrom)} {list.publicAddress === null && t.noLink}
    </p>
  );
}

type Change =
  | { readonly kind: 'none' | 'add' }
  | { readonly kind: 'edit' | 'remove'; readonly item: Recipient }
  | { readonly kind: 'secret'; readonly secret: string };

type Tested =
  | { readonly kind: 'none' }
  | { readonly kind: 'running'; readonly name: string }
  | { readonly kind: 'ended'; readonly name: string; readonly delivery: AnswerOf<'testRecipient'> }
  | { readonly kind: 'not-asked'; readonly why: string };

const changed = () => {
  revisions.deliveries.value += 1;
};

function Recipients({ list }: { list: List }) {
  const home = useHome();
  const [change, setChange] = useState<Change>({ kind: 'none' });
  const [tested, setTested] = useState<Tested>({ kind: 'none' });
  const [said, say] = useState('');
  const leave = () => setChange({ kind: 'none' });
  const mayChange = isOwner();

  const test = ({ id, name }: Recipient) => {
    if (tested.kind === 'running') return;
    setTested({ kind: 'running', name });
    call('testRecipient', { params: { dwelling: home.slug, id } }).then(
      (delivery) => {
        setTested({ kind: 'ended', name, delivery });
        changed();
      },
      (reason) => {
        if (!(reason instanceof CallFailed)) throw reason;
        setTested({ kind: 'not-asked', why: failureWords(reason.failure) });
      },
    );
  };

  return (
    <>
      <Owners what="recipients" />
      {list.recipients.length === 0 ? (
        <Empty title={t.none} next={t.noneNext} />
      ) : (
        <table class="folds">
          <caption class="unseen">{t.recipients}</caption>
          <thead>
            <tr>
              <th scope="col">{t.columns.name}</th>
              <th scope="col">{t.columns.address}</th>
              <th scope="col">{t.columns.gets}</th>
              {mayChange && <th scope="col">{t.columns.change}</th>}
            </tr>
          </thead>
          <tbody>
            {list.recipients.map((one) => (
              <tr key={one.id}>
                <th scope="row">{one.name}</th>
                <td data-label={t.columns.address} class="where">
                  {t.channels[one.channel]}: {one.address}
                </td>
                <td data-label={t.columns.gets}>{whatTheyGet(one, home.zone)}</td>
                {mayChange && (
                  <td class="actions">
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.testOne(one.name)}
                      aria-disabled={tested.kind === 'running'}
                      onClick={() => test(one)}
                    >
                      {t.test}
                    </button>
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.edit(one.name)}
                      onClick={() => setChange({ kind: 'edit', item: one })}
                    >
                      {words.edit}
                    </button>
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.remove(one.name)}
                      onClick={() => setChange({ kind: 'remove', item: one })}
                    >
                      {words.remove}
                    </button>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {mayChange && (
        <div class="buttons">
          <button type="button" onClick={() => setChange({ kind: 'add' })}>
            {t.add}
          </button>
        </div>
      )}
      <div role="status">
        {said !== '' && <p class="small">{said}</p>}
        <TestResult tested={tested} />
      </div>
      {(change.kind === 'add' || change.kind === 'edit') && (
        <RecipientSheet
          recipient={change.kind === 'edit' ? change.item : null}
          leave={leave}
          saved={({ recipient, secret }) => {
            say(t.saved(recipient.name));
            changed();
            setChange(secret === null ? { kind: 'none' } : { kind: 'secret', secret });
          }}
        />
      )}
      {change.kind === 'secret' && <SecretSheet secret={change.secret} leave={leave} />}
      {change.kind === 'remove' && (
        <Sheet title={t.remove(change.item.name)} close={leave}>
          <SaveForm
            submit={words.removeSure}
            leave={leave}
            leaveWords={words.keep}
            send={async () => {
              await call('removeRecipient', { params: { dwelling: home.slug, id: change.item.id } });
              say(t.removed(change.item.name));
              changed();
              leave();
            }}
          >
            <p>{t.removeLead}</p>
          </SaveForm>
        </Sheet>
      )}
    </>
  );
}

function TestResult({ tested }: { tested: Tested }) {
  switch (tested.kind) {
    case 'none':
      return null;
    case 'running':
      return <p class="notice tone-unknown">{t.testing(tested.name)}</p>;
    case 'not-asked':
      return <p class="notice tone-act">{tested.why}</p>;
    case 'ended': {
      const attempt = tested.delivery.attempts.at(-1);
      return tested.delivery.state === 'sent' ? (
        <p class="notice tone-quiet">{t.testSent(tested.name)}</p>
      ) : (
        <div class="notice tone-act">
          <p>{t.testFailed(tested.name)}</p>
          {attempt !== undefined && <Failure attempt={attempt} />}
        </div>
      );
    }
  }
}

const FEW = 3;

function someCodes(codes: readonly string[]): string[] {
  if (codes.length === 0) return [];
  return [codes.length > FEW ? t.some(number(codes.length)) : t.only(codes.map(noticeName).join(', '))];
}

function whatTheyGet(
  { active, unsubscribedAt, rules, weeklySummary, dailyDigest, quietHours }: Recipient,
  zone: string,
): string {
  if (unsubscribedAt !== null) return t.stopped(when(zone, unsubscribedAt, 'date'));
  if (!active) return t.off;
  return [
    ...(rules.codes?.length === 0 ? [t.noNotices] : [t.from[rules.minimumSeverity]]),
    ...someCodes(rules.codes ?? []),
    ...(weeklySummary ? [t.weekly] : []),
    ...(dailyDigest ? [t.digest] : []),
    ...(quietHours === null ? [] : [t.quiet(quietHours.from, quietHours.to)]),
  ].join('; ');
}
