import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { CallFailed } from '../api/client.ts';
import { words } from '../words/words.ts';
import { failureWords } from './notice.tsx';

/** A labelled field with its hint; the control gets the ids that tie them together. */
export function Field(props: {
  label: string;
  hint?: string | undefined;
  children: (ids: { id: string; 'aria-describedby'?: string }) => ComponentChildren;
}) {
  const id = useId();
  const hintId = `${id}-hint`;
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      {props.children(props.hint === undefined ? { id } : { id, 'aria-describedby': hintId })}
      {props.hint !== undefined && (
        <small id={hintId} class="hint">
          {props.hint}
        </small>
      )}
    </div>
  );
}

/**
 * A form that saves, says so or says why not. `send` gets the fields by name; what the form holds stays when it fails.
 */
export function SaveForm(props: {
  submit: string;
  send: (fields: FormData) => Promise<void>;
  leave?: () => void;
  leaveWords?: string;
  /** on paper a form is left out, but for one whose fields tell how things are */
  paper?: 'printed';
  children: ComponentChildren;
}) {
  const [state, setState] = useState<{ kind: 'idle' | 'saving' } | { kind: 'failed'; why: string }>({ kind: 'idle' });
  const onSubmit = (event: SubmitEvent) => {
    event.preventDefault();
    if (!(event.currentTarget instanceof HTMLFormElement) || state.kind === 'saving') return;
    const fields = new FormData(event.currentTarget);
    setState({ kind: 'saving' });
    props.send(fields).then(
      () => setState({ kind: 'idle' }),
      (reason) => {
        if (!(reason instanceof CallFailed)) throw reason;
        setState({ kind: 'failed', why: failureWords(reason.failure) });
      },
    );
  };
  return (
    <form class={`save-form${props.paper === undefined ? '' : ' prints'}`} onSubmit={onSubmit}>
      {props.children}
      {state.kind === 'failed' && (
        <p class="notice tone-act" role="alert">
          {state.why}
        </p>
      )}
      <div class="buttons">
        <button type="submit" class="main" aria-disabled={state.kind === 'saving'}>
          {state.kind === 'saving' ? words.saving : props.submit}
        </button>
        {props.leave && (
          <button type="button" onClick={props.leave}>
            {props.leaveWords ?? words.cancel}
          </button>
        )}
      </div>
    </form>
  );
}

export const textOf = (fields: FormData, name: string): string => String(fields.get(name) ?? '').trim();

/** A dialog over the page; Escape and the buttons inside close it, and focus goes back to where it came from. */
export function Sheet(props: { title: string; close: () => void; children: ComponentChildren }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const shown = dialog.current;
    const before = document.activeElement;
    shown?.showModal();
    return () => {
      shown?.close();
      if (before instanceof HTMLElement) before.focus();
    };
  }, []);
  return (
    <dialog
      ref={dialog}
      class="sheet"
      aria-labelledby={id}
      onCancel={(event) => {
        event.preventDefault();
        props.close();
      }}
    >
      <h2 id={id}>{props.title}</h2>
      {props.children}
    </dialog>
  );
}
