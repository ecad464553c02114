import { dayText } from '../store/canonical.ts';
import type { DaySeal, OutgoingMessage, Recipient, Store } from '../store/port.ts';
import { deliveryWords } from '../words/delivery.ts';
import { momentIn, numberIn } from '../words/writing.ts';

/** Days looked back at, so that a day that was sealed just before the program stopped is told all the same. */
const DAYS_BACK = 3;
const DAY_MS = 86_400_000;

/** What fixes the chain of sealed days in time: its last entry, kept by somebody else. */
export const digestMessage = (
  dwelling: { readonly id: number; readonly name: string },
  seal: DaySeal,
  { id, language }: Pick<Recipient, 'id' | 'language'>,
  now: number,
): OutgoingMessage => {
  const { digest, tag } = deliveryWords(language);
  const day = dayText(seal.day);
  const date = momentIn(tag, 'UTC', seal.day * DAY_MS, 'date');
  const readings = numberIn(tag, seal.readings);
  return {
    id: `seal-${seal.day}.to-${id}`,
    dwellingId: dwelling.id,
    recipientId: id,
    noticeId: null,
    event: 'daily-digest',
    createdAt: now,
    notBefore: now,
    body: {
      subject: digest.subject(dwelling.name, date),
      text: digest.text({ dwelling: dwelling.name, date, day, readings, entry: seal.entry }).join('\n\n'),
      data: { event: 'daily-digest', day, readings: seal.readings, previous: seal.previous, entry: seal.entry },
    },
  };
};

const asksForIt = ({ dailyDigest, active, unsubscribedAt }: Recipient): boolean =>
  dailyDigest && active && unsubscribedAt === null;

/** Puts the last sealed days of a dwelling into the outbox, for those who ask for them; a day that is there stays one. */
export async function tellSeals(
  store: Pick<Store, 'dwellings' | 'recipients' | 'sealing' | 'daySeals' | 'addMessages'>,
  dwellingId: number,
  now: number,
): Promise<void> {
  const wanted = (await store.recipients(dwellingId)).filter(asksForIt);
  if (wanted.length === 0) return;
  const [dwellings, sealing] = await Promise.all([store.dwellings(), store.sealing(dwellingId)]);
  const dwelling = dwellings.find(({ id }) => id === dwellingId);
  if (dwelling === undefined || sealing === null || sealing.lastDay === null) return;
  const seals = await store.daySeals(dwellingId, sealing.lastDay - DAYS_BACK + 1, sealing.lastDay + 1);
  await store.addMessages(
    seals.flatMap((seal) => wanted.map((recipient) => digestMessage(dwelling, seal, recipient, now))),
  );
}
