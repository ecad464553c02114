import { call } from '../api/client.ts';
import { Field, SaveForm, textOf } from '../parts/form.tsx';
import { accessWords } from '../words/access.ts';
import { letIn } from './door.ts';

/** What a page that is shut shows: one form. */
export function SignIn() {
  const t = accessWords.signIn;
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <SaveForm
        submit={t.submit}
        send={async (fields) => {
          const passphrase = String(fields.get('passphrase') ?? '');
          letIn(await call('signIn', { body: { name: textOf(fields, 'name'), passphrase } }));
        }}
      >
        <Field label={t.name}>
          {(ids) => <input {...ids} name="name" required maxLength={80} autocomplete="username" />}
        </Field>
        <Field label={t.passphrase} hint={t.lost}>
          {(ids) => (
            <input
              {...ids}
              name="passphrase"
              type="password"
              required
              maxLength={200}
              autocomplete="current-password"
            />
          )}
        </Field>
      </SaveForm>
    </>
  );
}
