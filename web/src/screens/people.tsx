import { useState } from 'preact/hooks';
import { access, askAccess, isOwner, letIn } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { type AnswerOf, addressOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { useHome } from '../home.ts';
import { forgetKept } from '../offline/kept.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { ChangeReach, ReachFields, ReachSaid, reachOf } from '../portfolio/reach.tsx';
import { accessWords as t } from '../words/access.ts';
import { when } from '../words/format.ts';
import { portfolioWords } from '../words/portfolio.ts';

type PersonRow = AnswerOf<'listPeople'>[number];
type Account = AnswerOf<'listDeviceAccounts'>[number];

const least = 12;
const roles = ['household', 'landlord', 'owner'] as const;
const passphraseOf = (fields: FormData, name: string): string => String(fields.get(name) ?? '');

function NewPassphrase(props: { name: string; label: string }) {
  return (
    <Field label={props.label} hint={t.open.hint}>
      {(ids) => (
        <input
          {...ids}
          name={props.name}
          type="password"
          required
          minLength={least}
          maxLength={200}
          autocomplete="new-password"
        />
      )}
    </Field>
  );
}

/** Who may come in: people, where they are signed in, devices, and the trail of what was done. */
export function PeopleScreen() {
  const state = access.value;
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      {state === null ? null : state.guarded ? <Mine /> : <First />}
      {isOwner() && <People />}
      {state?.guarded && <Sessions />}
      {isOwner() && <Devices />}
      {isOwner() && <Trail />}
      <Owners what="people" />
    </>
  );
}

function First() {
  return (
    <section>
      <h2>{t.open.title}</h2>
      <p>{t.open.text}</p>
      <SaveForm
        submit={t.open.submit}
        send={async (fields) => {
          const body = { name: textOf(fields, 'name'), passphrase: passphraseOf(fields, 'passphrase') };
          letIn(await call('setFirstPassphrase', { body }));
        }}
      >
        <Field label={t.open.name}>
          {(ids) => <input {...ids} name="name" required maxLength={80} autocomplete="username" />}
        </Field>
        <NewPassphrase name="passphrase" label={t.open.passphrase} />
      </SaveForm>
    </section>
  );
}

/** Who is signed in, with what only they may change. */
export function Mine() {
  const [open, setOpen] = useState(false);
  const [changed, setChanged] = useState(false);
  const me = access.value?.signedIn;
  if (!me) return null;
  return (
    <section>
      <h2>{t.mine.title}</h2>
      <p>{t.mine.signedInAs(me.name, t.roles[me.role])}</p>
      <div class="buttons">
        <button
          type="button"
          onClick={async () => {
            await call('signOut', {});
            await forgetKept();
            await askAccess();
          }}
        >
          {t.mine.out}
        </button>
        <button type="button" onClick={() => setOpen(true)}>
          {t.mine.change}
        </button>
      </div>
      {changed && <p role="status">{t.mine.changed}</p>}
      {open && (
        <Sheet title={t.mine.change} close={() => setOpen(false)}>
          <SaveForm
            submit={t.mine.submit}
            leave={() => setOpen(false)}
            leaveWords={t.cancel}
            send={async (fields) => {
              const body = { current: passphraseOf(fields, 'current'), next: passphraseOf(fields, 'next') };
              await call('changePassphrase', { body });
              setOpen(false);
              setChanged(true);
            }}
          >
            <Field label={t.mine.current}>
              {(ids) => (
                <input
                  {...ids}
                  name="current"
                  type="password"
                  required
                  maxLength={200}
                  autocomplete="current-password"
                />
              )}
            </Field>
            <NewPassphrase name="next" label={t.mine.next} />
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}

function People() {
  const { zone } = useHome();
  const { loaded, again } = useLoad('people', 0, (signal) => call('listPeople', {}, signal));
  const [adding, setAdding] = useState(false);
  const [resetting, setResetting] = useState<PersonRow | null>(null);
  const [reaching, setReaching] = useState<PersonRow | null>(null);
  const [removing, setRemoving] = useState<PersonRow | null>(null);
  if (!access.value?.guarded) return null;
  const done = () => {
    setAdding(false);
    setResetting(null);
    setReaching(null);
    setRemoving(null);
    again();
  };
  return (
    <section>
      <h2>{t.people.title}</h2>
      <Show loaded={loaded} again={again} room="list">
        {(people) => (
          <ul class="plain-list parted">
            {people.map((person) => (
              <li key={person.id}>
                <span>
                  <strong>{person.name}</strong>, {t.roles[person.role]} (
                  {t.people.since(when(zone, person.createdAt, 'full'))})
                  {person.reach.kind === 'listed' && (
                    <small class="small block">
                      <ReachSaid reach={person.reach} />
                    </small>
                  )}
                </span>
                <span class="buttons">
                  {person.role !== 'owner' && (
                    <button
                      type="button"
                      aria-label={portfolioWords.reach.changeFor(person.name)}
                      onClick={() => setReaching(person)}
                    >
                      {portfolioWords.reach.change}
                    </button>
                  )}
                  <button type="button" onClick={() => setResetting(person)}>
                    {t.people.reset}
                  </button>
                  <button type="button" onClick={() => setRemoving(person)}>
                    {t.people.remove}
                  </button>
                </span>
              </li>
            ))}
          </ul>
        )}
      </Show>
      <button type="button" onClick={() => setAdding(true)}>
        {t.people.add}
      </button>
      {adding && (
        <Sheet title={t.people.add} close={() => setAdding(false)}>
          <SaveForm
            submit={t.people.submit}
            leave={() => setAdding(false)}
            leaveWords={t.cancel}
            send={async (fields) => {
              const role = roles.find((one) => one === textOf(fields, 'role')) ?? 'household';
              const reach = reachOf(fields);
              const passphrase = passphraseOf(fields, 'passphrase');
              await call('addPerson', { body: { name: textOf(fields, 'name'), role, passphrase, reach } });
              done();
            }}
          >
            <Field label={t.people.name}>
              {(ids) => <input {...ids} name="name" required maxLength={80} autocomplete="off" />}
            </Field>
            <Field label={t.people.role}>
              {(ids) => (
                <select {...ids} name="role">
                  {roles.map((role) => (
                    <option key={role} value={role}>
                      {t.roles[role]}: {t.roleHints[role]}
                    </option>
                  ))}
                </select>
              )}
            </Field>
            <ReachFields />
            <NewPassphrase name="passphrase" label={t.people.passphrase} />
          </SaveForm>
        </Sheet>
      )}
      {reaching && <ChangeReach person={reaching} close={() => setReaching(null)} done={done} />}
      {resetting && (
        <Sheet title={t.people.resetFor(resetting.name)} close={() => setResetting(null)}>
          <SaveForm
            submit={t.people.resetSubmit}
            leave={() => setResetting(null)}
            leaveWords={t.cancel}
            send={async (fields) => {
              const body = { passphrase: passphraseOf(fields, 'passphrase') };
              await call('resetPassphrase', { params: { id: resetting.id }, body });
              done();
            }}
          >
            <NewPassphrase name="passphrase" label={t.mine.next} />
          </SaveForm>
        </Sheet>
      )}
      {removing && (
        <Sheet title={t.people.removeSure(removing.name)} close={() => setRemoving(null)}>
          <SaveForm
            submit={t.people.remove}
            leave={() => setRemoving(null)}
            leaveWords={t.cancel}
            send={async () => {
              await call('removePerson', { params: { id: removing.id } });
              done();
            }}
          >
            {null}
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}

function Sessions() {
  const { zone } = useHome();
  const { loaded, again } = useLoad('sessions', 0, (signal) => call('listSessions', {}, signal));
  return (
    <section>
      <h2>{t.sessions.title}</h2>
      <Show loaded={loaded} again={again} room="list">
        {(sessions) => (
          <ul class="plain-list parted">
            {sessions.map((session) => (
              <li key={session.id}>
                <span>
                  <strong>{session.personName}</strong> {session.browser}
                  <br />
                  <small class="small">
                    {t.sessions.used}: {when(zone, session.usedAt, 'full')}
                  </small>
                </span>
                {session.current ? (
                  <small class="small">{t.sessions.current}</small>
                ) : (
                  <button
                    type="button"
                    onClick={async () => {
                      await call('endSession', { params: { id: session.id } });
                      again();
                    }}
                  >
                    {t.sessions.end}
                  </button>
                )}
              </li>
            ))}
          </ul>
        )}
      </Show>
    </section>
  );
}

function Devices() {
  const { slug, zone } = useHome();
  const params = { dwelling: slug };
  const { loaded, again } = useLoad(addressOf('listDeviceAccounts', params), 0, (signal) =>
    call('listDeviceAccounts', { params }, signal),
  );
  const [adding, setAdding] = useState(false);
  const [made, setMade] = useState<AnswerOf<'addDeviceAccount'> | null>(null);
  const [revoking, setRevoking] = useState<Account | null>(null);
  return (
    <section>
      <h2>{t.devices.title}</h2>
      <p>{t.devices.lead}</p>
      <Show loaded={loaded} again={again} room="list">
        {(accounts) =>
          accounts.length === 0 ? (
            <p>{t.devices.none}</p>
          ) : (
            <ul class="plain-list parted">
              {accounts.map((account) => (
                <li key={account.id}>
                  <span>
                    <strong>{account.username}</strong> {t.devices.sensor} {account.sensorKey ?? t.devices.anySensor}
                  </span>
                  {account.revokedAt === null ? (
                    <button type="button" onClick={() => setRevoking(account)}>
                      {t.devices.revoke}
                    </button>
                  ) : (
                    <small class="small">{t.devices.revoked(when(zone, account.revokedAt, 'full'))}</small>
                  )}
                </li>
              ))}
            </ul>
          )
        }
      </Show>
      {made && (
        <div class="notice tone-watch" role="status">
          <p>{t.devices.made(made.username)}</p>
          <p>
            {t.devices.username}: <code>{made.username}</code>
            <br />
            {t.devices.password}: <code>{made.password}</code>
          </p>
        </div>
      )}
      <button type="button" onClick={() => setAdding(true)}>
        {t.devices.add}
      </button>
      {adding && (
        <Sheet title={t.devices.add} close={() => setAdding(false)}>
          <SaveForm
            submit={t.devices.submit}
            leave={() => setAdding(false)}
            leaveWords={t.cancel}
            send={async (fields) => {
              const username = textOf(fields, 'username');
              const sensorKey = textOf(fields, 'as') === 'one' ? username : null;
              setMade(await call('addDeviceAccount', { params, body: { username, sensorKey } }));
              setAdding(false);
              again();
            }}
          >
            <Field label={t.devices.username} hint={t.devices.usernameHint}>
              {(ids) => (
                <input
                  {...ids}
                  name="username"
                  required
                  pattern="[A-Za-z0-9][A-Za-z0-9._\-]{0,59}"
                  autocomplete="off"
                />
              )}
            </Field>
            <Field label={t.devices.sensor}>
              {(ids) => (
                <select {...ids} name="as">
                  <option value="one">{t.devices.oneSensor}</option>
                  <option value="any">{t.devices.anySensor}</option>
                </select>
              )}
            </Field>
          </SaveForm>
        </Sheet>
      )}
      {revoking && (
        <Sheet title={t.devices.revokeSure(revoking.username)} close={() => setRevoking(null)}>
          <SaveForm
            submit={t.devices.revoke}
            leave={() => setRevoking(null)}
            leaveWords={t.cancel}
            send={async () => {
              await call('revokeDeviceAccount', { params: { ...params, id: revoking.id } });
              setRevoking(null);
              again();
            }}
          >
            {null}
          </SaveForm>
        </Sheet>
      )}
    </section>
  );
}

function Trail() {
  const { zone } = useHome();
  const [before, setBefore] = useState<number | null>(null);
  const query = before === null ? {} : { before };
  const { loaded, again } = useLoad(`trail ${before}`, 0, (signal) => call('listTrail', { query }, signal));
  return (
    <section>
      <h2>{t.trail.title}</h2>
      <p>{t.trail.lead}</p>
      <Show loaded={loaded} again={again} room="table">
        {(entries) =>
          entries.length === 0 ? (
            <p>{t.trail.none}</p>
          ) : (
            <>
              <table class="folds">
                <caption class="unseen">{t.trail.title}</caption>
                <thead>
                  <tr>
                    <th scope="col">{t.trail.when}</th>
                    <th scope="col">{t.trail.who}</th>
                    <th scope="col">{t.trail.what}</th>
                  </tr>
                </thead>
                <tbody>
                  {entries.map((entry) => (
                    <tr key={entry.id}>
                      <th scope="row">{when(zone, entry.at, 'full')}</th>
                      <td>{entry.personName ?? t.trail.nobody}</td>
                      <td>
                        {t.trail.actions[entry.action] ?? entry.action}
                        <small class="small"> {Object.values(entry.detail).map(String).join(', ')}</small>
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
              {entries.length === 100 && (
                <button type="button" onClick={() => setBefore(entries.at(-1)!.id)}>
                  {t.trail.older}
                </button>
              )}
            </>
          )
        }
      </Show>
    </section>
  );
}
