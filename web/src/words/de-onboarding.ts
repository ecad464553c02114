import type { OnboardingFaultWords } from '../../../server/api/contract/onboarding.ts';
import type { onboarding } from './english-more.ts';
import type { Same } from './same.ts';

const slugRule =
  'Schreiben Sie bis zu 40 Kleinbuchstaben und Ziffern mit einzelnen Bindestrichen dazwischen, etwa muehlgasse-12.';

/** Was an einer Datei von Wohnungen nicht stimmt, und was zu tun ist. */
const faultWords: OnboardingFaultWords = {
  'not-a-table': ({ reason }) => [
    `Die Datei lässt sich nicht als Tabelle lesen („${reason}“)`,
    'Sichern Sie sie aus der Tabellenkalkulation als CSV, jeden Text mit Komma oder Anführungszeichen in Anführungszeichen.',
  ],
  'too-many-rows': ({ rows, most }) => [
    `Die Datei hat ${rows} Zeilen`,
    `Teilen Sie sie in Dateien von höchstens ${most} Zeilen.`,
  ],
  'no-rows': () => ['Die Datei hat keine Zeilen', 'Schreiben Sie eine Kopfzeile und eine Zeile für jeden Sensor.'],
  'unknown-column': ({ name, columns }) => [
    `Die Spalte „${name}“ ist nicht bekannt`,
    `Nehmen Sie sie heraus; Spalten sind ${columns}.`,
  ],
  'no-dwelling-column': () => [
    'Die Spalte dwelling fehlt',
    'Nennen Sie die Wohnung in jeder Zeile, in einer Spalte dwelling.',
  ],
  'home-not-named': () => ['Die Wohnung ist nicht genannt', slugRule],
  'bad-slug': ({ text }) => [`„${text}“ kann kein Kurzname einer Wohnung sein`, slugRule],
  'said-otherwise': ({ dwelling, before, here }) => [
    `Bei ${dwelling} steht weiter oben „${before}“ und hier „${here}“`,
    'Schreiben Sie in jeder Zeile der Wohnung dasselbe, oder nur in ihrer ersten.',
  ],
  'too-long': ({ length, most }) => [`Das sind ${length} Zeichen`, `Schreiben Sie höchstens ${most}.`],
  'no-name': () => ['Die Wohnung hat keinen Namen', 'Schreiben Sie, wie sie genannt wird.'],
  'no-zone': () => ['Die Wohnung hat keine Zeitzone', 'Schreiben Sie eine IANA-Zeitzone, etwa Europe/Berlin.'],
  'bad-zone': ({ zone }) => [
    `„${zone}“ ist keine IANA-Zeitzone`,
    'Schreiben Sie eine wie Europe/Berlin oder Europe/London.',
  ],
  'kind-without-place': () => [
    'Eine Art von Ort ohne seinen Namen',
    'Nennen Sie den Ort, oder lassen Sie seine Art leer.',
  ],
  'no-kind': ({ place, kinds }) => [`Es fehlt, was ${place} ist`, `Schreiben Sie eines von ${kinds}.`],
  'bad-kind': ({ kind, kinds }) => [`„${kind}“ ist keine Art von Ort`, `Schreiben Sie eines von ${kinds}.`],
  'two-kinds': ({ place, before, here }) => [
    `${place} ist weiter oben ${before} und hier ${here}`,
    'Schreiben Sie dasselbe, oder geben Sie einem von beiden einen anderen Namen.',
  ],
  'faces-without-surface': ({ place }) => [
    `${place} ist keine Oberfläche und grenzt an keinen Raum`,
    'Lassen Sie das leer.',
  ],
  'faces-no-room': ({ place }) => [`${place} ist keine Raumluft`, 'Nennen Sie einen Ort der Art room-air.'],
  'sensor-not-named': () => [
    'Das gehört zu einem Sensor, und keiner ist genannt',
    'Schreiben Sie den Schlüssel des Sensors.',
  ],
  'bad-sensor-key': ({ key }) => [
    `„${key}“ kann kein Schlüssel eines Sensors sein`,
    'Schreiben Sie bis zu 100 Zeichen ohne /, + und #.',
  ],
  'sensor-twice': ({ key, row }) => [`${key} steht schon in Zeile ${row}`, 'Schreiben Sie jeden Sensor einmal.'],
  'neither-yes-nor-no': ({ text }) => [`„${text}“ ist weder yes noch no`, 'Schreiben Sie yes oder no.'],
  'bad-username': ({ username }) => [
    `Der Benutzername ${username} hätte Zeichen oder eine Länge, die Geräte nicht annehmen`,
    'Kürzen Sie den Schlüssel, und schreiben Sie ihn mit Buchstaben, Ziffern, Punkt, Bindestrich und Unterstrich.',
  ],
  'reads-without-topic': () => [
    'Es steht da, wo Werte stehen, aber nicht, in welchem Topic',
    'Schreiben Sie das Topic, oder lassen Sie reads leer.',
  ],
  'topic-of-many': () => [
    'Im Topic eines einzelnen Sensors stehen weder +, # noch { oder }',
    'Schreiben Sie das Topic so, wie das Gerät es sendet.',
  ],
  'no-quantity': ({ part, quantities }) => [
    `„${part}“ nennt keine Größe`,
    `Schreiben Sie Zeiger = Größe, etwa /t=temperature_c; Größen sind ${quantities}.`,
  ],
  'bad-mapping': ({ detail }) => [
    `So lässt sich das Topic nicht lesen: ${detail}`,
    'Verbessern Sie es, oder lassen Sie es leer und ordnen Sie das Topic auf der Seite zu.',
  ],
  'username-twice': ({ username, row }) => [
    `Den Benutzernamen ${username} gibt es schon in Zeile ${row}`,
    'Geben Sie einem der beiden Sensoren einen anderen Schlüssel.',
  ],
  'topic-twice': ({ topic, row }) => [
    `Das Topic ${topic} gibt es schon in Zeile ${row}`,
    'Schreiben Sie jedes Topic einmal.',
  ],
  'zone-differs': ({ dwelling, zone }) => [
    `${dwelling} ist schon da, in ${zone}`,
    'Schreiben Sie das, oder ändern Sie die Wohnung erst unter Einstellungen.',
  ],
  'kind-differs': ({ place, kind }) => [
    `${place} ist schon da, als ${kind}`,
    'Schreiben Sie das, oder geben Sie dem neuen Ort einen anderen Namen.',
  ],
  'no-such-room': ({ room, dwelling }) => [
    `In ${dwelling} gibt es keine Raumluft ${room}`,
    'Schreiben Sie auch ihre Zeile, mit place_kind room-air.',
  ],
  'username-elsewhere': ({ username }) => [
    `Den Benutzernamen ${username} gibt es schon in einer anderen Wohnung`,
    'Geben Sie dem Sensor einen anderen Schlüssel.',
  ],
  'account-revoked': ({ username }) => [
    `Das Konto ${username} wurde entzogen`,
    'Geben Sie dem Sensor einen anderen Schlüssel, oder legen Sie unter Menschen und Geräte ein Konto für ihn an.',
  ],
  'topic-elsewhere': ({ topic }) => [
    `Das Topic ${topic} wird schon für eine andere Wohnung gelesen`,
    'Verbessern Sie das Topic, oder entfernen Sie erst jene Zuordnung.',
  ],
};

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
  faultWords,
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
  labelsBatch: (most) => `Welche Wohnungen, ${most} auf einmal`,
  labelsFrom: (first, last, from, to) => `${from} bis ${to}: ${first} … ${last}`,
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
