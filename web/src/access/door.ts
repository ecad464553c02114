import { signal } from '@preact/signals';
import type { AnswerOf } from '../api/client.ts';
import { call, cameIn, comingsSoFar, onShutOut } from '../api/client.ts';

export type AccessState = AnswerOf<'getAccess'>;

/** Who is signed in; null until the server has said so. */
export const access = signal<AccessState | null>(null);

/** Whether the reader has to sign in before anything else can be shown. */
export const isShut = signal(false);

export async function askAccess(): Promise<void> {
  const before = comingsSoFar();
  const state = await call('getAccess', {});
  // asked before somebody came in, it may know nothing of that
  if (before !== comingsSoFar()) return;
  access.value = state;
  isShut.value = state.guarded && state.signedIn === null;
}

/** Keeps who came in, and opens the page. */
export function letIn(state: AccessState): void {
  cameIn();
  access.value = state;
  isShut.value = false;
}

/** Whether what only an owner may do is to be offered. */
export const isOwner = (): boolean => {
  const state = access.value;
  return state === null || !state.guarded || state.signedIn?.role === 'owner';
};

/** Whether the reader sees homes of others, as far as their households agreed. */
export const isLandlord = (): boolean => access.value?.signedIn?.role === 'landlord';

/** A session that ends while the page is open brings back the form, with what was on the screen behind it. */
export function watchDoor(): void {
  onShutOut(() => {
    isShut.value = true;
  });
}
