import { useState } from 'preact/hooks';
import type { BuildUpsWire } from '../../../server/api/contract/build-ups.ts';
import { readLiningFile } from '../../../server/api/contract/lining-file.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { CallFailed, call } from '../api/client.ts';
import { useHome } from '../home.ts';
import { Field } from '../parts/form.tsx';
import { failureWords } from '../parts/notice.tsx';
import { liningWords as t } from '../words/lining.ts';
import { words } from '../words/words.ts';
import { type Draft, draftOf, fileOf, startOf } from './draft.ts';

type Said = { readonly tone: 'quiet' | 'act'; readonly lines: readonly string[] };

/** Build-ups kept with the home, and the way to and from a file. */
export function Plans(props: {
  kept: readonly BuildUpsWire[];
  open: number | null;
  draft: Draft;
  usable: boolean;
  show: (draft: Draft, id: number | null) => void;
  changed: () => void;
}) {
  const home = useHome();
  const { kept, open, draft, usable, show } = props;
  const [said, setSaid] = useState<Said | null>(null);
  const [sure, setSure] = useState(false);
  const say = (tone: Said['tone'], ...lines: string[]) => setSaid({ tone, lines });
  const params = { dwelling: home.slug };
  const mayKeep = isOwner();

  const read = (json: unknown, name: string, id: number | null): boolean => {
    const file = readLiningFile(json);
    if (file.kind === 'usable') {
      show(draftOf(file.file, file.input.oldSurface, id === null ? '' : name), id);
      return true;
    }
    say('act', t.notUsable(name), ...file.problems.map(({ at, message }) => `${at}: ${message}`));
    return false;
  };
  const importing = async (file: File) => {
    const text = (await file.text()).replace(/^\uFEFF/, '');
    let json: unknown;
    try {
      json = JSON.parse(text);
    } catch (error) {
      say('act', t.notJson(file.name, (error as Error).message));
      return;
    }
    if (read(json, file.name, null)) say('quiet', t.fromFile(file.name));
  };
  const save = async (id: number | null) => {
    if (draft.name.trim() === '') return say('act', t.needsName);
    if (!usable) return say('act', t.needsMend);
    const body = { name: draft.name, file: fileOf(draft) as never };
    try {
      const saved =
        id === null
          ? await call('addBuildUps', { params, body })
          : await call('changeBuildUps', { params: { ...params, id }, body });
      show(draft, saved.id);
      props.changed();
      say('quiet', t.saved(saved.name));
    } catch (error) {
      if (!(error instanceof CallFailed)) throw error;
      say('act', failureWords(error.failure));
    }
  };
  const remove = async (id: number) => {
    try {
      await call('removeBuildUps', { params: { ...params, id } });
      setSure(false);
      show(draft, null);
      props.changed();
      say('quiet', t.removed(draft.name));
    } catch (error) {
      if (!(error instanceof CallFailed)) throw error;
      say('act', failureWords(error.failure));
    }
  };
  const exporting = () => {
    const blob = new Blob([`${JSON.stringify(fileOf(draft), null, 2)}\n`], { type: 'application/json' });
    const link = document.createElement('a');
    link.href = URL.createObjectURL(blob);
    link.download = `${draft.name.trim().replace(/[^\p{L}\p{N}]+/gu, '-') || 'lining'}.json`;
    link.click();
    URL.revokeObjectURL(link.href);
  };
  return (
    <section class="layers no-print">
      <h2>{t.plans}</h2>
      <div class="field-row">
        <Field label={t.plan}>
          {(ids) => (
            <select
              {...ids}
              value={open === null ? '' : String(open)}
              onChange={(event) => {
                const chosen = kept.find(({ id }) => String(id) === event.currentTarget.value);
                setSaid(null);
                if (chosen) read(chosen.file, chosen.name, chosen.id);
                else show(draft, null);
              }}
            >
              <option value="">{t.planNew}</option>
              {kept.map(({ id, name }) => (
                <option key={id} value={String(id)}>
                  {name}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label={t.planName}>
          {(ids) => (
            <input
              {...ids}
              type="text"
              maxLength={80}
              value={draft.name}
              onInput={(event) => show({ ...draft, name: event.currentTarget.value }, open)}
            />
          )}
        </Field>
        <Field label={t.importFile} hint={t.fileHint}>
          {(ids) => (
            <input
              {...ids}
              type="file"
              accept=".json,application/json"
              onChange={(event) => {
                const [file] = event.currentTarget.files ?? [];
                if (file) void importing(file);
                event.currentTarget.value = '';
              }}
            />
          )}
        </Field>
      </div>
      <div class="buttons">
        {mayKeep && (
          <button type="button" class="main" aria-disabled={!usable} onClick={() => save(open)}>
            {t.save}
          </button>
        )}
        {mayKeep && open !== null && (
          <button type="button" onClick={() => save(null)}>
            {t.saveAs}
          </button>
        )}
        <button type="button" onClick={exporting}>
          {t.exportFile}
        </button>
        <button type="button" onClick={() => show(startOf(home.section, home.zone), null)}>
          {t.startAgain}
        </button>
        {mayKeep && open !== null && !sure && (
          <button type="button" onClick={() => setSure(true)}>
            {t.remove}
          </button>
        )}
        {mayKeep && open !== null && sure && (
          <>
            <button type="button" onClick={() => remove(open)}>
              {words.removeSure}
            </button>
            <button type="button" onClick={() => setSure(false)}>
              {words.keep}
            </button>
          </>
        )}
      </div>
      <Owners what="plans" />
      {said && (
        <div class={`notice tone-${said.tone}`} role={said.tone === 'act' ? 'alert' : 'status'}>
          {said.lines.map((line) => (
            <p key={line}>{line}</p>
          ))}
        </div>
      )}
    </section>
  );
}
