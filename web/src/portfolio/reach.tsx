import { useState } from 'preact/hooks';
import { type AnswerOf, call } from '../api/client.ts';
import { useLoad } from '../api/load.ts';
import { Field, textOf } from '../parts/form.tsx';
import { portfolioWords } from '../words/portfolio.ts';
import '../style/recipients.css';

const t = portfolioWords.reach;

type Reach = AnswerOf<'listPeople'>[number]['reach'];

const useGroups = () => {
  const { loaded } = useLoad('groups', 0, (signal) => call('listGroups', {}, signal));
  return loaded.kind === 'loading' ? [] : (loaded.value ?? []);
};

/** Whom somebody may see, in a form: every home, or some by name and by group. */
export function ReachFields() {
  const [isListed, setListed] = useState(false);
  const groups = useGroups();
  return (
    <>
      <Field label={t.label}>
        {(ids) => (
          <select {...ids} name="reach" onChange={(event) => setListed(event.currentTarget.value === 'listed')}>
            <option value="all">{t.all}</option>
            <option value="listed">{t.listed}</option>
          </select>
        )}
      </Field>
      {isListed && (
        <>
          <Field label={t.homes} hint={t.homesHint}>
            {(ids) => <input {...ids} name="reachHomes" autocomplete="off" />}
          </Field>
          {groups.length > 0 && (
            <fieldset class="codes">
              <legend>{t.groups}</legend>
              {groups.map(({ id, name }) => (
                <label class="check" key={id}>
                  <input type="checkbox" name="reachGroup" value={id} />
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
