import { dayText } from '../store/canonical.ts';
import type { DaySeal, OutgoingMessage, Recipient, Store } from '../store/port.ts';

/** Days looked back at, so that a day that was sealed just before the program stopped is told all the same. */
const DAYS_BACK = 3;

/** What fixes the chain of sealed days in time: its last entry, kept by somebody else. */
export const digestMessage = (
  dwelling: { readonly id: number; readonly name: string },
  seal: DaySeal,
  recipientId: number,
  now: number,
): OutgoingMessage => ({
  id: `seal-${seal.day}.to-${recipientId}`,
  dwellingId: dwelling.id,
  recipientId,
  noticeId: null,
  event: 'daily-digest',
  createdAt: now,
  notBefore: now,
  body: {
    subject: `${dwelling.name}: seal of ${dayText(seal.day)}`,
    text: [
      `The readings of ${dwelling.name} that arrived on ${dayText(seal.day)} (UTC) were sealed: ${seal.readings} of them.`,
      `Entry of the chain: ${seal.entry}`,
      'Keep this message. Whoever is later given an evidence pack of this home compares this entry with the line of that day in chain.csv: if it is the same, no reading of that day or of any day before it was changed since.',
    ].join('\n\n'),
    data: {
      event: 'daily-digest',
      day: dayText(seal.day),
      readings: seal.readings,
      previous: seal.previous,
      entry: seal.entry,
    },
  },
});

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
    seals.flatMap((seal) => wanted.map((recipient) => digestMessage(dwelling, seal, recipient.id, now))),
  );
}
