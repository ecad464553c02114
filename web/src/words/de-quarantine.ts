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
  clock: {
    ask: 'Ging die Uhr dieses Computers falsch?',
    lead: 'Nachrichten, deren Zeit in der Zukunft liegt, werden zurückgelegt, denn eine von zwei Uhren muss falsch gehen: die des Geräts oder die dieses Computers. Ein kleiner Computer beginnt mit einer falschen Zeit, wenn er ohne Strom war und das Internet nicht erreicht. Welche Uhr es war, können nur Sie wissen.',
    ahead: (span) => `${span} voraus`,
    came: (count, from, to) =>
      `Nachrichten: ${count}. Nach der Uhr dieses Computers kam die erste ${from}, die letzte ${to}. Sie sind von:`,
    more: (count) => `und ${count} weiteren`,
    agree: (count) =>
      `${count} Absender stimmen überein. Das spricht für eine falsche Uhr dieses Computers, es sei denn, alle wurden auf die gleiche falsche Art eingerichtet.`,
    alone: 'Nur ein Absender sagt das. Wenn seine eigene Uhr falsch ging, lassen Sie diese Nachrichten, wo sie sind.',
    likeZone:
      'Um etwa so viel geht ein Gerät vor, das Ortszeit sendet und sie UTC nennt. Dann ist das Gerät im Unrecht.',
    forGood: 'Sind sie einmal eingelesen, lässt sich ihre Zeit nicht mehr ändern.',
    believe: (span) => `Dieser Computer ging ${span} nach: einlesen`,
    none: 'Nichts von dem Zurückgelegten passt zu einer Uhr dieses Computers, die nachging.',
    done: (readings, messages) => `Eingelesen: ${readings} Messwerte in ${messages} Nachrichten.`,
  },
};
