import { useState } from 'preact/hooks';
import { Owners } from '../access/owners.tsx';
import { call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { evidenceWords } from '../words/evidence.ts';
import { when } from '../words/format.ts';

const t = evidenceWords.shares;
const spans = [7, 30, 90] as const;

/** Links to reports: make one of the pack that is ready, see how often each was opened, take one back. */
export const ShareLinks = (props: { pack: string | null }) => (
  <Owners what="sharing">
    <Links {...props} />
  </Owners>
);

function Links(props: { pack: string | null }) {
  const { slug, zone } = useHome();
  const params = { dwelling: slug };
  const { loaded, again } = useLoad(`share links ${slug}`, 0, (signal) => call('listShareLinks', { params }, signal));
  const [making, setMaking] = useState(false);
  const [made, setMade] = useState<string | null>(null);
  return (
    <section>
      <h2>{t.title}</h2>
      <p>{t.lead}</p>
      {made !== null && (
        <div class="notice tone-watch" role="status">
          <p>{t.made}</p>
          <p>
            <code class="fingerprint">{made}</code>
          </p>
        </div>
      )}
      {props.pack === null ? (
        <p class="small">{t.first}</p>
      ) : (
        <button type="button" onClick={() => setMaking(true)}>
          {t.make}
        </button>
      )}
      <Show loaded={loaded} again={again} room="list">
        {(links) => (
          <ul class="plain-list parted">
            {links.map((link) => (
              <li key={link.id}>
                <span>
                  <strong>{link.label}</strong>
                  <span class="small block">
                    {t.states[link.state](when(zone, link.revokedAt ?? link.expiresAt, 'date'))}{' '}
                    {link.openedAt === null ? t.neverOpened : t.opened(link.opened, when(zone, link.openedAt, 'full'))}
                  </span>
                </span>
                {link.state === 'open' && (
                  <button
                    type="button"
                    aria-label={t.revokeOf(link.label)}
                    onClick={async () => {
                      await call('revokeShareLink', { params: { ...params, id: link.id } });
                      again();
                    }}
                  >
                    {t.revoke}
                  </button>
                )}
              </li>
            ))}
          </ul>
        )}
      </Show>
      {making && props.pack !== null && (
        <Sheet title={t.make} close={() => setMaking(false)}>
          <SaveForm
            submit={t.submit}
            leave={() => setMaking(false)}
            send={async (fields) => {
              const body = {
                pack: props.pack!,
                label: textOf(fields, 'label'),
                days: Number(textOf(fields, 'days')),
              };
              const { path } = await call('addShareLink', { params, body });
              setMade(new URL(path, location.origin).href);
              setMaking(false);
              again();
            }}
          >
            <Field label={t.label} hint={t.labelHint}>
              {(ids) => <input {...ids} name="label" required maxLength={80} autocomplete="off" />}
            </Field>
            <Field label={t.until}>
              {(ids) => (
                <select {...ids} name="days">
                  {spans.map((days) => (
                    <option key={days} value={days}>
                      {t.days(days)}
                    </option>
                  ))}
                </select>
              )}
            </Field>
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}
