import { useState } from 'preact/hooks';
import { type AnswerOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Show } from '../parts/notice.tsx';
import { portfolioWords } from '../words/portfolio.ts';
import { words } from '../words/words.ts';
import '../style/recipients.css';

const t = portfolioWords.reach;

type Reach = AnswerOf<'listPeople'>[number]['reach'];

const useGroups = () => {
  const { loaded } = useLoad('groups', 0, (signal) => call('listGroups', {}, signal));
  return loaded.kind === 'loading' ? [] : (loaded.value ?? []);
};

/** Whom somebody may see, in a form to be filled in. */
export function ReachFields() {
  return <Fields given={{ kind: 'all' }} groups={useGroups()} />;
}

/** Every home, or some by name and by group. */
function Fields(props: { given: Reach; groups: AnswerOf<'listGroups'> }) {
  const { given, groups } = props;
  const [isListed, setListed] = useState(given.kind === 'listed');
  const listed: Omit<Extract<Reach, { kind: 'listed' }>, 'kind'> = given.kind === 'listed'
    ? given
    : { dwellings: [], groupIds: [] };
  return (
    <>
      <Field label={t.label}>
        {(ids) => (
          <select
            {...ids}
            name="reach"
            value={isListed ? 'listed' : 'all'}
            onChange={(event) => setListed(event.currentTarget.value === 'listed')}
          >
            <option value="all">{t.all}</option>
            <option value="listed">{t.listed}</option>
          </select>
        )}
      </Field>
      {isListed && (
        <>
          <Field label={t.homes} hint={t.homesHint}>
            {(ids) => (
              <input {...ids} name="reachHomes" autocomplete="off" defaultValue={listed.dwellings.join(', ')} />
            )}
          </Field>
          {groups.length > 0 && (
            <fieldset class="codes">
              <legend>{t.groups}</legend>
              {groups.map(({ id, name }) => (
                <label class="check" key={id}>
                  <input type="checkbox" name="reachGroup" value={id} defaultChecked={listed.groupIds.includes(id)} />
                  <span>{name}</span>
                </label>
              ))}
            </fieldset>
          )}
        </>
      )}
    </>
  );
}

/** Which homes somebody sees, to be changed: with the groups at hand, so that none is lost by saving too early. */
export function ChangeReach(props: { person: AnswerOf<'listPeople'>[number]; close: () => void; done: () => void }) {
  const { person, close, done } = props;
  const { loaded, again } = useLoad('groups to choose from', 0, (signal) => call('listGroups', {}, signal));
  return (
    <Sheet title={t.changeFor(person.name)} close={close}>
      <p>{t.changeLead}</p>
      <Show loaded={loaded} again={again} room="list">
        {(groups) => (
          <SaveForm
            submit={words.save}
            leave={close}
            leaveWords={portfolioWords.cancel}
            send={async (fields) => {
              await call('changeReach', { params: { id: person.id }, body: { reach: reachOf(fields) } });
              done();
            }}
          >
            <Fields given={person.reach} groups={groups} />
          </SaveForm>
        )}
      </Show>
    </Sheet>
  );
}

export function reachOf(fields: FormData): Reach {
  if (textOf(fields, 'reach') !== 'listed') return { kind: 'all' };
  const dwellings = textOf(fields, 'reachHomes')
    .split(',')
    .map((slug) => slug.trim())
    .filter((slug) => slug !== '');
  return { kind: 'listed', dwellings, groupIds: fields.getAll('reachGroup').map(Number) };
}

/** The homes and groups of somebody who does not see every home. */
export function ReachSaid(props: { reach: Extract<Reach, { kind: 'listed' }> }) {
  const groups = useGroups();
  const named = props.reach.groupIds.flatMap((id) => groups.find((group) => group.id === id)?.name ?? []);
  const homes = props.reach.dwellings.length === 0 ? '' : `${t.homes}: ${props.reach.dwellings.join(', ')}`;
  const said = t.said(homes, named.length === 0 ? '' : `${t.groups}: ${named.join(', ')}`);
  return <>{said === '' ? t.none : said}</>;
}
