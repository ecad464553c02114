import { useState } from 'preact/hooks';
import type { DiaryEntry, Phase } from '../../../server/api/contract/dwelling.ts';
import { isOwner } from '../access/door.ts';
import { Owners } from '../access/owners.tsx';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { type Draft, PhotoFields, PhotoRow } from '../diary/photos.tsx';
import { useHome } from '../home.ts';
import { Field, SaveForm, Sheet, textOf } from '../parts/form.tsx';
import { Empty, Show } from '../parts/notice.tsx';
import { fromInput, toInput } from '../time/zone.ts';
import { when } from '../words/format.ts';
import { diaryKind, words } from '../words/words.ts';

const t = words.diary;
const phaseKinds = Object.keys(words.phaseKinds) as Phase['kind'][];

/** The story of the home as its people tell it: phases, then notes. */
export function DiaryScreen() {
  const home = useHome();
  const story = revisions.story.value;
  const params = { dwelling: home.slug };
  const { loaded, again } = useLoad(`story ${home.slug}`, story, async (signal) => {
    const [phases, notes] = await Promise.all([
      call('listPhases', { params }, signal),
      call('listDiary', { params }, signal),
    ]);
    return { phases, notes };
  });
  return (
    <>
      <h1>{t.title}</h1>
      <p class="lead">{t.lead}</p>
      <p class="small">{t.zone(home.zone)}</p>
      <Show loaded={loaded} again={again} room="screen">
        {({ phases, notes }) => (
          <>
            <h2>{t.phases}</h2>
            <p>{t.phasesLead}</p>
            <Phases phases={phases} />
            <h2>{t.notes}</h2>
            <Notes notes={notes} />
          </>
        )}
      </Show>
    </>
  );
}

type Change<T> = { readonly kind: 'none' | 'add' } | { readonly kind: 'edit' | 'remove'; readonly item: T };

const changed = () => {
  revisions.story.value += 1;
};

function Phases(props: { phases: readonly Phase[] }) {
  const home = useHome();
  const [change, setChange] = useState<Change<Phase>>({ kind: 'none' });
  const [said, say] = useState('');
  const leave = () => setChange({ kind: 'none' });
  const mayChange = isOwner();
  return (
    <>
      {props.phases.length === 0 ? (
        <p>{t.noPhases}</p>
      ) : (
        <table class="folds">
          <caption class="unseen">{t.phases}</caption>
          <thead>
            <tr>
              <th scope="col">{t.phaseColumns.name}</th>
              <th scope="col">{t.phaseColumns.kind}</th>
              <th scope="col">{t.phaseColumns.from}</th>
              <th scope="col">{t.phaseColumns.to}</th>
              {mayChange && <th scope="col">{t.phaseColumns.change}</th>}
            </tr>
          </thead>
          <tbody>
            {props.phases.map((phase) => (
              <tr key={phase.id}>
                <th scope="row">{phase.name}</th>
                <td>{words.phaseKinds[phase.kind]}</td>
                <td data-label={t.phaseColumns.from}>{when(home.zone, phase.from, 'full')}</td>
                <td data-label={t.phaseColumns.to}>
                  {phase.to === null ? t.stillRunning : when(home.zone, phase.to, 'full')}
                </td>
                {mayChange && (
                  <td class="actions">
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.editPhase(phase.name)}
                      onClick={() => setChange({ kind: 'edit', item: phase })}
                    >
                      {words.edit}
                    </button>
                    <button
                      type="button"
                      class="plain"
                      aria-label={t.removePhase(phase.name)}
                      onClick={() => setChange({ kind: 'remove', item: phase })}
                    >
                      {words.remove}
                    </button>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <Owners what="phases">
        <div class="buttons">
          <button type="button" onClick={() => setChange({ kind: 'add' })}>
            {t.addPhase}
          </button>
        </div>
      </Owners>
      <p class="small" role="status">
        {said}
      </p>
      {(change.kind === 'add' || change.kind === 'edit') && (
        <PhaseSheet
          phase={change.kind === 'edit' ? change.item : null}
          leave={leave}
          saved={(name) => {
            say(t.phaseSaved(name));
            changed();
            leave();
          }}
        />
      )}
      {change.kind === 'remove' && (
        <RemoveSheet
          title={t.removePhase(change.item.name)}
          lead={t.removePhaseLead}
          leave={leave}
          remove={async () => {
            await call('removePhase', { params: { dwelling: home.slug, id: change.item.id } });
            say(t.phaseRemoved(change.item.name));
            changed();
            leave();
          }}
        />
      )}
    </>
  );
}

function PhaseSheet(props: { phase: Phase | null; leave: () => void; saved: (name: string) => void }) {
  const { zone, slug } = useHome();
  const { phase } = props;
  return (
    <Sheet title={phase === null ? t.addPhase : t.editPhase(phase.name)} close={props.leave}>
      <SaveForm
        submit={words.save}
        leave={props.leave}
        send={async (fields) => {
          const from = fromInput(zone, textOf(fields, 'from'));
          if (from === null) return;
          const body = {
            kind: textOf(fields, 'kind') as Phase['kind'],
            name: textOf(fields, 'name'),
            from,
            to: fromInput(zone, textOf(fields, 'to')),
          };
          if (phase === null) await call('addPhase', { params: { dwelling: slug }, body });
          else await call('changePhase', { params: { dwelling: slug, id: phase.id }, body });
          props.saved(body.name);
        }}
      >
        <Field label={t.phaseName}>
          {(ids) => <input {...ids} name="name" required maxLength={80} defaultValue={phase?.name ?? ''} />}
        </Field>
        <Field label={t.phaseKind}>
          {(ids) => (
            <select {...ids} name="kind">
              {phaseKinds.map((kind) => (
                <option key={kind} value={kind} selected={kind === phase?.kind}>
                  {words.phaseKinds[kind]}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label={t.from}>
          {(ids) => (
            <input
              {...ids}
              name="from"
              type="datetime-local"
              required
              defaultValue={toInput(zone, phase === null ? Date.now() : Date.parse(phase.from))}
            />
          )}
        </Field>
        <Field label={t.to} hint={t.toHint}>
          {(ids) => (
            <input
              {...ids}
              name="to"
              type="datetime-local"
              defaultValue={phase?.to ? toInput(zone, Date.parse(phase.to)) : ''}
            />
          )}
        </Field>
      </SaveForm>
    </Sheet>
  );
}

function RemoveSheet(props: { title: string; lead: string; leave: () => void; remove: () => Promise<void> }) {
  return (
    <Sheet title={props.title} close={props.leave}>
      <SaveForm submit={words.removeSure} leave={props.leave} leaveWords={words.keep} send={props.remove}>
        <p>{props.lead}</p>
      </SaveForm>
    </Sheet>
  );
}

function Notes(props: { notes: readonly DiaryEntry[] }) {
  const home = useHome();
  const [change, setChange] = useState<Change<DiaryEntry>>({ kind: 'none' });
  const [said, say] = useState('');
  const leave = () => setChange({ kind: 'none' });
  return (
    <>
      <div class="buttons">
        <button type="button" onClick={() => setChange({ kind: 'add' })}>
          {t.addNote}
        </button>
      </div>
      <p class="small" role="status">
        {said}
      </p>
      {props.notes.length === 0 ? (
        <Empty title={t.noNotes} next={t.noNotesNext} />
      ) : (
        <ol class="notes">
          {props.notes.map((note) => (
            <li key={note.id}>
              <time dateTime={note.time}>{when(home.zone, note.time, 'full')}</time> ·{' '}
              <strong>{diaryKind(note.kind)}</strong>
              <div class="note-text">{note.text}</div>
              <PhotoRow photos={note.photos} />
              <button
                type="button"
                class="plain"
                aria-label={t.editNote(diaryKind(note.kind))}
                onClick={() => setChange({ kind: 'edit', item: note })}
              >
                {words.edit}
              </button>
              <button
                type="button"
                class="plain"
                aria-label={t.removeNote(diaryKind(note.kind))}
                onClick={() => setChange({ kind: 'remove', item: note })}
              >
                {words.remove}
              </button>
            </li>
          ))}
        </ol>
      )}
      {(change.kind === 'add' || change.kind === 'edit') && (
        <NoteSheet
          note={change.kind === 'edit' ? change.item : null}
          leave={leave}
          saved={() => {
            say(t.noteSaved);
            changed();
            leave();
          }}
        />
      )}
      {change.kind === 'remove' && (
        <RemoveSheet
          title={t.removeNote(diaryKind(change.item.kind))}
          lead={t.removeNoteLead}
          leave={leave}
          remove={async () => {
            await call('removeDiaryEntry', { params: { dwelling: home.slug, id: change.item.id } });
            say(t.noteRemoved);
            changed();
            leave();
          }}
        />
      )}
    </>
  );
}

function NoteSheet(props: { note: DiaryEntry | null; leave: () => void; saved: () => void }) {
  const { zone, slug } = useHome();
  const { note } = props;
  const [photos, setPhotos] = useState<readonly Draft[]>(note?.photos ?? []);
  const [time, setTime] = useState(() => toInput(zone, note === null ? Date.now() : Date.parse(note.time)));
  return (
    <Sheet title={note === null ? t.addNote : t.editNote(diaryKind(note.kind))} close={props.leave}>
      <SaveForm
        submit={words.save}
        leave={props.leave}
        send={async (fields) => {
          const time = fromInput(zone, textOf(fields, 'time'));
          if (time === null) return;
          const told = photos.map(({ id, alt }) => ({ id, alt: alt.trim() }));
          const body = { time, kind: textOf(fields, 'kind'), text: textOf(fields, 'text'), photos: told };
          if (note === null) await call('addDiaryEntry', { params: { dwelling: slug }, body });
          else await call('changeDiaryEntry', { params: { dwelling: slug, id: note.id }, body });
          props.saved();
        }}
      >
        <Field label={t.when}>
          {(ids) => (
            <input
              {...ids}
              name="time"
              type="datetime-local"
              required
              value={time}
              onInput={(event) => setTime(event.currentTarget.value)}
            />
          )}
        </Field>
        <Field label={t.what}>
          {(ids) => (
            <select {...ids} name="kind">
              {[...new Set([...Object.keys(t.kinds), ...(note === null ? [] : [note.kind])])].map((kind) => (
                <option key={kind} value={kind} selected={kind === note?.kind}>
                  {diaryKind(kind)}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field label={t.note}>
          {(ids) => (
            <textarea {...ids} name="text" required rows={4} maxLength={4000} defaultValue={note?.text ?? ''} />
          )}
        </Field>
        <PhotoFields
          photos={photos}
          change={setPhotos}
          useTime={(instant) => setTime(toInput(zone, Date.parse(instant)))}
        />
      </SaveForm>
    </Sheet>
  );
}
