import type { DiaryEntry } from '../../../server/api/contract/dwelling.ts';
import { isLandlord } from '../access/door.ts';
import { call } from '../api/client.ts';

/** The diary of a home beside its figures. It is the household's alone: a landlord sees the figures without it. */
export const diaryOf = (dwelling: string, signal: AbortSignal): Promise<DiaryEntry[]> =>
  isLandlord() ? Promise.resolve([]) : call('listDiary', { params: { dwelling } }, signal);
