import { useState } from 'preact/hooks';
import type { ConsentScope } from '../../../server/api/contract/portfolio.ts';
import { access } from '../access/door.ts';
import { addressOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { when } from '../words/format.ts';
import { portfolioWords } from '../words/portfolio.ts';
import '../style/recipients.css';

const t = portfolioWords.sharing;
const scopes = Object.keys(t.scopes) as ConsentScope[];

/** What the household lets a landlord see: agreed to, taken back, and what was agreed before. */
export function Sharing() {
  const { slug, zone } = useHome();
  const params = { dwelling: slug };
  const [said, say] = useState('');
  const { loaded, again } = useLoad(addressOf('listConsents', params), 0, (signal) =>
    call('listConsents', { params }, signal),
  );
  const date = (instant: string): string => when(zone, instant, 'date');
  return (
    <section id="sharing">
      <h2>{t.title}</h2>
      <p>{t.lead}</p>
      <Show loaded={loaded} again={again} room="list">
        {(consents) => {
          const holding = consents.find(({ withdrawnAt }) => withdrawnAt === null) ?? null;
          const past = consents.filter(({ withdrawnAt }) => withdrawnAt !== null);
          return (
            <>
              <p>
                {holding === null
                  ? t.nothing
                  : t.holds(t.scopes[holding.scope], holding.agreedBy, date(holding.givenAt))}
              </p>
              {holding !== null && (
                <SaveForm
                  submit={t.withdraw}
                  send={async () => {
                    await call('withdrawConsent', { params: { ...params, id: holding.id } });
                    say(t.withdrawn);
                    again();
                  }}
                >
                  {null}
                </SaveForm>
              )}
              <SaveForm
                key={holding?.id ?? 'nothing'}
                submit={t.agree}
                send={async (fields) => {
                  const scope = scopes.find((one) => one === textOf(fields, 'scope')) ?? 'summary';
                  await call('giveConsent', { params, body: { scope, agreedBy: textOf(fields, 'agreedBy') } });
                  say(t.agreed);
                  again();
                }}
              >
                <fieldset class="codes">
                  <legend>{t.scope}</legend>
                  {scopes.map((scope) => (
                    <label class="check" key={scope}>
                      <input
                        type="radio"
                        name="scope"
                        value={scope}
                        defaultChecked={scope === (holding?.scope ?? 'summary')}
                      />
                      <span>{t.scopes[scope]}</span>
                    </label>
                  ))}
                  <p class="small">{t.never}</p>
                </fieldset>
                <Field label={t.agreedBy} hint={t.agreedHint}>
                  {(ids) => (
                    <input
                      {...ids}
                      name="agreedBy"
                      required
                      maxLength={80}
                      autocomplete="name"
                      defaultValue={access.value?.signedIn?.role === 'household' ? access.value.signedIn.name : ''}
                    />
                  )}
                </Field>
              </SaveForm>
              {past.length > 0 && (
                <details>
                  <summary>{t.history}</summary>
                  <ul class="plain-list parted">
                    {past.map((one) => (
                      <li key={one.id}>
                        {t.past(
                          t.scopes[one.scope],
                          one.agreedBy,
                          date(one.givenAt),
                          date(one.withdrawnAt ?? one.givenAt),
                          one.withdrawnBy ?? t.somebody,
                        )}
                      </li>
                    ))}
                  </ul>
                </details>
              )}
            </>
          );
        }}
      </Show>
      <p role="status">{said}</p>
    </section>
  );
}
