import type { enQuarantine } from './en-quarantine.ts';
import type { Same } from './same.ts';

/** Text about messages that were not understood and were not kept, in German. */
export const deQuarantine: Same<typeof enQuarantine> = {
  notKept: (count, since, last) =>
    `${count} weitere Nachrichten, die nicht verstanden wurden, sind seit ${since} nicht aufgehoben worden, die letzte am ${last}: Es ist nur für eine begrenzte Zahl Platz, damit sie den Speicher nicht füllen. Messwerte betrifft das nicht.`,
  from: (sender, count) => `${sender}: ${count}`,
  others: 'andere',
  whatToDo:
    'Sehen Sie nach dem Gerät, das sie sendet, oder erklären Sie ihre Form. Die unten zu löschen schafft Platz.',
  remove: 'Alle diese Nachrichten löschen',
  removeLead: (count) =>
    `${count} Nachrichten, die nie verstanden wurden, werden endgültig gelöscht. Danach können sie nicht mehr erklärt und eingelesen werden. Messwerte und alles, was verstanden wurde, bleiben.`,
};
