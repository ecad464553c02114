import type { onboarding } from './english-more.ts';
import type { Same } from './same.ts';

/** Text über das Anlegen vieler Wohnungen und das Aufstellen nach dem Etikett, deutsch. */
export const deOnboarding: Same<typeof onboarding> = {
  title: 'Viele Wohnungen anlegen',
  lead: 'Aus einer CSV-Datei mit einer Zeile für jeden Sensor: Wohnungen, Orte, Sensoren und womit sich jeder Sensor anmeldet. Erst wird sie durchgesehen; behalten wird nichts, bevor Sie es sagen.',
  columns: 'Die Spalten der Datei',
  column: 'Spalte',
  meaning: 'Was darin steht',
  file: 'Die Datei',
  check: 'Durchsehen',
  looking: 'Wird durchgesehen …',
  faults: (n, one) => (one ? 'Eines stimmt nicht' : `${n} Dinge stimmen nicht`),
  faultsLead:
    'Wohnungen, an denen etwas nicht stimmt, bleiben ganz weg; die anderen lassen sich jetzt anlegen. Verbessern Sie die Datei und senden Sie sie noch einmal: Was schon da ist, wird nicht doppelt angelegt.',
  row: 'Zeile',
  whatToDo: 'Was zu tun ist',
  found: (homes, places, sensors, accounts) =>
    `Anzulegen: Wohnungen ${homes}, Orte ${places}, Sensoren ${sensors}, Anmeldungen von Sensoren ${accounts}.`,
  nothing: 'Nichts ist anzulegen: Es ist schon alles da.',
  run: 'Anlegen',
  done: (homes) => `Angelegt oder ergänzt: Wohnungen ${homes}.`,
  passwords: 'Kennwörter der Sensoren',
  passwordsLead:
    'Sie stehen in dieser Datei und nirgends sonst: Behalten werden nur Prüfsummen. Sichern Sie sie jetzt, und geben Sie jedem Gerät seines.',
  savePasswords: 'Kennwörter als CSV-Datei sichern',
  labels: 'Etiketten zum Drucken',
  labelsLead:
    'Ein Blatt A4 mit einem Etikett für jeden Sensor der Wohnungen in der Datei. Der Code darauf öffnet die Seite, auf der dieser Sensor aufgestellt wird, und enthält kein Geheimnis.',
  labelsPdf: 'Etiketten als PDF',
  labelsHtml: 'Etiketten aus dem Browser drucken',
  standing: {
    title: (sensor) => `Wo steht ${sensor}?`,
    unknown: (sensor) => `In dieser Wohnung gibt es keinen Sensor ${sensor}`,
    unknownNext: 'Er erscheint, wenn er zum ersten Mal sendet oder unter Sensoren angelegt wird.',
    stands: (place) => `Er steht hier: ${place}.`,
    nowhere: 'Er steht noch nirgends.',
    heard: (ago) => `Zuletzt gehört ${ago}.`,
    neverHeard: 'Von ihm kam noch nichts.',
    caution:
      'Im Dachraum: auf Brettern stehen, für Licht sorgen, auf Absturzstellen achten. Die Traufe nicht verschließen.',
    ownerOnly: 'Nur wer verantwortlich ist, kann sagen, wo ein Sensor steht. Melden Sie sich so an.',
    noPlaces: 'Diese Wohnung hat noch keine Orte',
    where: 'Von jetzt an steht er hier',
    submit: 'Dort steht er jetzt',
    placed: (place) => `Notiert: Von jetzt an steht er hier: ${place}.`,
  },
};
