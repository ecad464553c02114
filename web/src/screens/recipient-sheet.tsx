import { useState } from 'preact/hooks';
import { type AnswerOf, call } from '../api/client.ts';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { preferences } from '../preferences.ts';
import { noticeWords } from '../words/notices.ts';
import { recipientWords as t } from '../words/recipients.ts';
import { languageOf, writtenTag } from '../words/spoken.ts';
import { words } from '../words/words.ts';

type Saved = AnswerOf<'addRecipient'>;
type Recipient = Saved['recipient'];
type Severity = Recipient['rules']['minimumSeverity'];

const severities = Object.keys(t.from) as Severity[];
const channels = Object.keys(t.channels) as Recipient['channel'][];
const languages = Object.keys(t.languages) as Recipient['language'][];
/** Who adds somebody most likely speaks their language. */
const ownLanguage = (): Recipient['language'] => {
  const own = languageOf(writtenTag(preferences.value.language));
  return languages.find((one) => one === own) ?? 'en';
};
const SETTLING = 'condensing-now';

const noticeNames: Readonly<Record<string, string | undefined>> = noticeWords.names;
/** The name of a kind of notice; one this page does not know keeps its code. */
export const noticeName = (code: string): string => noticeNames[code] ?? code;

/** The form of one recipient, new or known. */
export function RecipientSheet(props: {
  recipient: Recipient | null;
  leave: () => void;
  saved: (saved: Saved) => void;
}) {
  const { slug } = useHome();
  const { recipient } = props;
  const [channel, setChannel] = useState<Recipient['channel']>(recipient?.channel ?? 'email');
  return (
    <Sheet title={recipient === null ? t.add : t.edit(recipient.name)} close={props.leave}>
      <SaveForm
        submit={words.save}
        leave={props.leave}
        send={async (fields) => {
          const ticked = (name: string): boolean => fields.get(name) !== null;
          const from = textOf(fields, 'quietFrom');
          const to = textOf(fields, 'quietTo');
          const body = {
            name: textOf(fields, 'name'),
            address: textOf(fields, 'address'),
            language: textOf(fields, 'language') as Recipient['language'],
            rules: {
              codes: ticked('allCodes') ? null : fields.getAll('code').map(String),
              minimumSeverity: textOf(fields, 'severity') as Severity,
            },
            quietHours:
              from === '' && to === '' ? null : { from, to, breakFor: ticked('quietBreak') ? [SETTLING] : [] },
            weeklySummary: ticked('weekly'),
            dailyDigest: ticked('digest'),
            active: ticked('active'),
          };
          const saved =
            recipient === null
              ? await call('addRecipient', { params: { dwelling: slug }, body: { ...body, channel } })
              : await call('changeRecipient', {
                  params: { dwelling: slug, id: recipient.id },
                  body: {
                    ...body,
                    ...(ticked('resubscribe') ? { unsubscribedAt: null } : {}),
                    ...(ticked('newSecret') ? { secret: 'new' as const } : {}),
                  },
                });
          props.saved(saved);
        }}
      >
        <Field label={t.name}>
          {(ids) => <input {...ids} name="name" required maxLength={80} defaultValue={recipient?.name ?? ''} />}
        </Field>
        {recipient === null && (
          <Field label={t.channel}>
            {(ids) => (
              <select
                {...ids}
                name="channel"
                onChange={(event) => setChannel(event.currentTarget.value as Recipient['channel'])}
              >
                {channels.map((one) => (
                  <option key={one} value={one} selected={one === channel}>
                    {t.channels[one]}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
        <Address channel={channel} address={recipient?.address ?? ''} />
        <Field label={t.language}>
          {(ids) => (
            <select {...ids} name="language">
              {languages.map((one) => (
                <option key={one} value={one} lang={one} selected={one === (recipient?.language ?? ownLanguage())}>
                  {t.languages[one]}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label={t.severity}>
          {(ids) => (
            <select {...ids} name="severity">
              {severities.map((one) => (
                <option key={one} value={one} selected={one === (recipient?.rules.minimumSeverity ?? 'caution')}>
                  {t.from[one]}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Codes codes={recipient?.rules.codes ?? null} />
        <div class="field-row">
          <Field label={t.quietFrom} hint={t.quietHint}>
            {(ids) => <input {...ids} name="quietFrom" type="time" defaultValue={recipient?.quietHours?.from ?? ''} />}
          </Field>
          <Field label={t.quietTo}>
            {(ids) => <input {...ids} name="quietTo" type="time" defaultValue={recipient?.quietHours?.to ?? ''} />}
          </Field>
        </div>
        <Check
          name="quietBreak"
          label={t.quietBreak}
          checked={recipient?.quietHours?.breakFor.includes(SETTLING) ?? true}
        />
        <Check name="weekly" label={t.weeklyField} checked={recipient?.weeklySummary ?? false} />
        <Check name="digest" label={t.digestField} checked={recipient?.dailyDigest ?? false} />
        <Check name="active" label={t.active} checked={recipient?.active ?? true} />
        {recipient !== null && recipient.unsubscribedAt !== null && (
          <Check name="resubscribe" label={`${t.resubscribe}. ${t.resubscribeHint}`} checked={false} />
        )}
        {recipient?.channel === 'webhook' && <Check name="newSecret" label={t.newSecret} checked={false} />}
      </SaveForm>
    </Sheet>
  );
}

function Address({ channel, address }: { channel: Recipient['channel']; address: string }) {
  return channel === 'email' ? (
    <Field label={t.email}>
      {(ids) => <input {...ids} name="address" type="email" required maxLength={300} defaultValue={address} />}
    </Field>
  ) : (
    <Field label={t.webhook} hint={t.webhookHint}>
      {(ids) => <input {...ids} name="address" type="url" required maxLength={500} defaultValue={address} />}
    </Field>
  );
}

function Codes({ codes }: { codes: readonly string[] | null }) {
  const [all, setAll] = useState(codes === null);
  const known = [...new Set([...Object.keys(noticeNames), ...(codes ?? [])])];
  return (
    <fieldset class="codes">
      <legend>{t.kinds}</legend>
      <label class="check">
        <input
          type="checkbox"
          name="allCodes"
          checked={all}
          onChange={(event) => setAll(event.currentTarget.checked)}
        />{' '}
        <span>{t.allCodes}</span>
      </label>
      {!all && (
        <>
          {known.map((code) => (
            <label key={code} class="check">
              <input type="checkbox" name="code" value={code} defaultChecked={codes?.includes(code) ?? false} />{' '}
              <span>{noticeName(code)}</span>
            </label>
          ))}
          <small class="hint">{t.codesHint}</small>
        </>
      )}
    </fieldset>
  );
}

function Check({ name, label, checked }: { name: string; label: string; checked: boolean }) {
  return (
    <label class="check">
      <input type="checkbox" name={name} defaultChecked={checked} /> <span>{label}</span>
    </label>
  );
}

export function SecretSheet({ secret, leave }: { secret: string; leave: () => void }) {
  return (
    <Sheet title={t.secretTitle} close={leave}>
      <p>{t.secretLead}</p>
      <code class="secret">{secret}</code>
      <div class="buttons">
        <button type="button" class="main" onClick={leave}>
          {t.secretDone}
        </button>
      </div>
    </Sheet>
  );
}
