import type { HomeLine } from '../../../server/api/contract/portfolio.ts';
import { addressOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { portfolioWords as t } from '../words/portfolio.ts';
import { words } from '../words/words.ts';
import '../style/recipients.css';

/** What a home is sorted by, to be changed by the owner. */
export function EditHome({ home, close, saved }: { home: HomeLine; close: () => void; saved: () => void }) {
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(addressOf('getAttributes', params), 0, async (signal) => ({
    own: await call('getAttributes', { params }, signal),
    groups: await call('listGroups', {}, signal),
  }));
  return (
    <Sheet title={t.editOf(home.name)} close={close}>
      <Show loaded={loaded} again={again} room="list">
        {({ own, groups }) => (
          <SaveForm
            submit={words.save}
            leave={close}
            leaveWords={t.cancel}
            send={async (fields) => {
              const groupIds = fields.getAll('group').map(Number);
              const added = textOf(fields, 'newGroup');
              if (added !== '') groupIds.push((await call('addGroup', { body: { name: added } })).id);
              const area = textOf(fields, 'area') || null;
              const buildType = textOf(fields, 'buildType') || null;
              await call('changeAttributes', { params, body: { area, buildType, groupIds } });
              saved();
            }}
          >
            <Field label={t.area}>
              {(ids) => <input {...ids} name="area" maxLength={60} defaultValue={own.area ?? ''} />}
            </Field>
            <Field label={t.buildType}>
              {(ids) => <input {...ids} name="buildType" maxLength={60} defaultValue={own.buildType ?? ''} />}
            </Field>
            {groups.length > 0 && (
              <fieldset class="codes">
                <legend>{t.groups}</legend>
                {groups.map(({ id, name }) => (
                  <label class="check" key={id}>
                    <input type="checkbox" name="group" value={id} defaultChecked={own.groupIds.includes(id)} />
                    <span>{name}</span>
                  </label>
                ))}
              </fieldset>
            )}
            <Field label={t.newGroup}>{(ids) => <input {...ids} name="newGroup" maxLength={60} />}</Field>
          </SaveForm>
        )}
      </Show>
    </Sheet>
  );
}
