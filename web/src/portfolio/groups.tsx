import { useState } from 'preact/hooks';
import { choose, query } from '../address.ts';
import { type AnswerOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { portfolioWords } from '../words/portfolio.ts';
import { words } from '../words/words.ts';

const t = portfolioWords.groupList;

type Group = AnswerOf<'listGroups'>[number];
type Change = { readonly kind: 'add' } | { readonly kind: 'rename' | 'remove'; readonly group: Group };

/** The groups that homes are sorted into: named, renamed and taken away by the owner. */
export function Groups(props: { revision: number; changed: () => void }) {
  const { loaded, again } = useLoad('groups', props.revision, (signal) => call('listGroups', {}, signal));
  const [change, setChange] = useState<Change | null>(null);
  const close = () => setChange(null);
  const done = () => {
    close();
    again();
    props.changed();
  };
  return (
    <section id="groups" class="no-print">
      <h2>{t.title}</h2>
      <p>{t.lead}</p>
      <Show loaded={loaded} again={again} room="list">
        {(groups) =>
          groups.length === 0 ? (
            <p>{t.none}</p>
          ) : (
            <ul class="plain-list parted">
              {groups.map((group) => (
                <li key={group.id}>
                  <button
                    type="button"
                    class="plain"
                    aria-label={t.look(group.name)}
                    onClick={() => choose({ group: String(group.id) })}
                  >
                    {group.name}
                  </button>
                  <span class="buttons">
                    <button
                      type="button"
                      aria-label={t.renameOf(group.name)}
                      onClick={() => setChange({ kind: 'rename', group })}
                    >
                      {t.rename}
                    </button>
                    <button
                      type="button"
                      aria-label={t.removeOf(group.name)}
                      onClick={() => setChange({ kind: 'remove', group })}
                    >
                      {t.remove}
                    </button>
                  </span>
                </li>
              ))}
            </ul>
          )
        }
      </Show>
      <div class="buttons">
        <button type="button" onClick={() => setChange({ kind: 'add' })}>
          {t.add}
        </button>
      </div>
      {change !== null && change.kind !== 'remove' && <Name change={change} close={close} done={done} />}
      {change?.kind === 'remove' && <Remove group={change.group} close={close} done={done} />}
    </section>
  );
}

function Name(props: { change: Exclude<Change, { kind: 'remove' }>; close: () => void; done: () => void }) {
  const group = props.change.kind === 'rename' ? props.change.group : null;
  return (
    <Sheet title={group === null ? t.add : t.renameOf(group.name)} close={props.close}>
      <SaveForm
        submit={words.save}
        leave={props.close}
        leaveWords={portfolioWords.cancel}
        send={async (fields) => {
          const body = { name: textOf(fields, 'name') };
          if (group === null) await call('addGroup', { body });
          else await call('renameGroup', { params: { id: group.id }, body });
          props.done();
        }}
      >
        <Field label={t.name}>
          {(ids) => (
            <input {...ids} name="name" required maxLength={60} autocomplete="off" defaultValue={group?.name ?? ''} />
          )}
        </Field>
      </SaveForm>
    </Sheet>
  );
}

function Remove(props: { group: Group; close: () => void; done: () => void }) {
  const { id, name } = props.group;
  return (
    <Sheet title={t.removeOf(name)} close={props.close}>
      <SaveForm
        submit={t.removeSubmit}
        leave={props.close}
        leaveWords={portfolioWords.cancel}
        send={async () => {
          await call('removeGroup', { params: { id } });
          // nothing is found by a group that is gone
          if (query.peek().get('group') === String(id)) choose({ group: null });
          props.done();
        }}
      >
        <p>{t.removeLead}</p>
      </SaveForm>
    </Sheet>
  );
}
