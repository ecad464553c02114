import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { type AccessState, access, askAccess, isShut, letIn, watchDoor } from '../../web/src/access/door.ts';
import { call } from '../../web/src/api/client.ts';

const nobody: AccessState = { guarded: true, signedIn: null };
const maud: AccessState = { guarded: true, signedIn: { personId: 1, name: 'Maud', role: 'owner' } };
const refused = { status: 401, title: 'Sign in', code: 'sign-in-needed' };

describe('the door of the page', () => {
  /** Answers to what was asked for, in that order. */
  let answers: ((answer: Response) => void)[] = [];
  const ask = (): Promise<Response> => new Promise((resolve) => answers.push(resolve));

  watchDoor();
  beforeEach(() => {
    answers = [];
    access.value = null;
    isShut.value = false;
    vi.stubGlobal('fetch', ask);
  });
  afterEach(() => {
    vi.unstubAllGlobals();
  });

  it('is shut to whom the program does not know, and opens to who comes in', async () => {
    const asked = askAccess();
    answers[0]!(Response.json(nobody));
    await asked;
    expect(isShut.value).toBe(true);
    letIn(maud);
    expect(isShut.value).toBe(false);
  });

  it('stays open to who came in while it was still being asked who is there', async () => {
    const asked = askAccess();
    letIn(maud);
    answers[0]!(Response.json(nobody));
    await asked;
    expect(access.value).toEqual(maud);
    expect(isShut.value).toBe(false);
  });

  it('stays open to who came in before a refusal is heard of what was asked earlier, and is shut by one of later', async () => {
    const earlier = call('listGroups', {});
    letIn(maud);
    answers[0]!(Response.json(refused, { status: 401 }));
    await expect(earlier).rejects.toThrow('Sign in');
    expect(isShut.value).toBe(false);

    const later = call('listGroups', {});
    answers[1]!(Response.json(refused, { status: 401 }));
    await expect(later).rejects.toThrow('Sign in');
    expect(isShut.value).toBe(true);
  });
});
