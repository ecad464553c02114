import type { onboarding } from './english-more.ts';
import type { Same } from './same.ts';

/** Text über das Anlegen vieler Wohnungen und das Aufstellen nach dem Etikett, deutsch. */
export const deOnboarding: Same<typeof onboarding> = {
  title: 'Viele Wohnungen anlegen',
  lead: 'Aus einer CSV-Datei mit einer Zeile für jeden Sensor: Wohnungen, Orte, Sensoren und womit sich jeder Sensor anmeldet. Erst wird sie durchgesehen; behalten wird nichts, bevor Sie es sagen.',
  columns: 'Die Spalten der Datei',
  column: 'Spalte',
  meaning: 'Was darin steht',
  meanings: {
    dwelling:
      'Kurzname der Wohnung in Topics und Adressen: Kleinbuchstaben, Ziffern, einzelne Bindestriche; in jeder Zeile nötig',
    name: 'wie die Wohnung genannt wird; in ihrer ersten Zeile nötig',
    zone: 'IANA-Zeitzone, etwa Europe/Berlin; in ihrer ersten Zeile nötig',
    area: 'wo sie liegt, in Ihren Worten; darf leer sein',
    build_type: 'wie sie gebaut ist, in Ihren Worten; darf leer sein',
    group: 'Gruppe, in die sie kommt; wird angelegt, wenn es sie nicht gibt; darf leer sein',
    place: 'Name des Ortes, an dem der Sensor steht; leer: Er wird später nach seinem Etikett aufgestellt',
    place_kind:
      'was der Ort ist, mit einem der Wörter room-air, ceiling-surface, control-surface, behind-lining, loft-air, loft-timber, outdoor-air, supply-air; nötig, wo der Ort zuerst genannt wird',
    faces: 'Name der Raumluft, an die eine Oberfläche grenzt; leer: die erste der Wohnung',
    sensor: 'Schlüssel des Sensors: der letzte Teil seines Topics; leer: Die Zeile nennt nur einen Ort',
    sensor_name: 'wie der Sensor genannt wird; leer: sein Schlüssel',
    model: 'Chip oder Gerätetyp, für die Genauigkeit seines Datenblatts; darf leer sein',
    topic: 'MQTT-Topic, auf dem er sendet, wenn es nicht coomb/<dwelling>/<sensor> ist; darf leer sein',
    reads:
      'wo in einer Nachricht dieses Topics seine Werte stehen: JSON Pointer = Größe, durch Semikolon getrennt, etwa /t=temperature_c; /h=humidity_pct; leer: Die Nachricht nennt sie selbst',
    account: 'yes: Er bekommt eigenen Namen und eigenes Kennwort; no oder leer: nicht',
  },
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
    noPlaces: 'Diese Wohnung hat noch keine Orte.',
    where: 'Von jetzt an steht er hier',
    submit: 'Dort steht er jetzt',
    placed: (place) => `Notiert: Von jetzt an steht er hier: ${place}.`,
  },
};
