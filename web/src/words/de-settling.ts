import type { enSettling } from './en-settling.ts';
import type { Same } from './same.ts';

/** Text from an empty page to a settled home, in German: the first form, what is next, the example. */
export const deSettling: Same<typeof enSettling> = {
  first: {
    title: 'Noch kein Zuhause',
    lead: 'Geben Sie dem Zuhause einen Namen und zeichnen Sie das Dach. Beides lässt sich jederzeit ändern. Schließen Sie dann einen Sensor an, oder lesen Sie eine Datei ein, die einer geschrieben hat.',
    name: 'Name des Zuhauses',
    slug: 'Kurzname für Topics',
    slugHint: 'Kleinbuchstaben, Ziffern und Bindestriche; Sensoren senden an coomb/<Kurzname>/<Sensor>',
    slugMore: 'Kurzname und Zeitzone',
    zone: 'Zeitzone',
    zoneHint: 'aus diesem Browser übernommen; Nächte und Tage werden nach dieser Uhr gezählt',
    section: 'Das Dach',
    sectionLead:
      'Grobe Maße genügen: Sie bestimmen die Zeichnung, nicht die Werte. Eingetragen ist ein übliches kleines Haus.',
    add: 'Dieses Zuhause anlegen',
    or: 'Oder sehen Sie sich erst um',
  },
  measures: {
    pitchDeg: 'wie steil das Dach ist: 0 ist flach, 45 halb aufrecht',
    slopeLengthMm: 'von der niedrigen Wand bis zur ebenen Decke, entlang der Schräge gemessen',
    roomHeightMm: 'vom Fußboden bis zum ebenen Teil der Decke',
    liningThicknessMm: 'was von der Raumseite auf die Schräge kam, Dämmung und Platte zusammen',
    loftInsulationMm: 'was im Dachboden auf der ebenen Decke liegt',
    eavesGapMm: 'der Spalt über der Dämmung, durch den Außenluft in den Dachboden strömt; er muss offen bleiben',
  },
  preview: 'So wird die Zeichnung',
  next: {
    title: 'Wie es weitergeht',
    done: (done, all) => `${done} von ${all} erledigt`,
    steps: {
      section: [
        'Das Dach zeichnen',
        'Die Zeichnung hat noch die Maße eines üblichen Hauses. Ändern Sie sie, oder sagen Sie, dass sie passen.',
      ],
      sensor: ['Einen Sensor anschließen oder eine Datei einlesen', 'Noch hat sich nichts gemeldet.'],
      place: [
        'Jedem Sensor seinen Ort geben',
        'Was ein Sensor sendet, zählt ab dem Tag, an dem er an einem Ort sitzt.',
      ],
      room: [
        'Die Raumluft beobachten',
        'An ihr wird gemessen, ob eine Oberfläche feucht ist: Temperatur und Luftfeuchte.',
      ],
      surface: ['Die kalte Oberfläche beobachten', 'Ein Sensor an der Dachschräge oder an ihrer Verkleidung.'],
      outdoors: ['Die Außenluft beobachten', 'Ohne sie lässt sich das Wetter nicht aus dem Vergleich nehmen.'],
      phase: ['Den Zeitraum vor den Arbeiten benennen', 'Vorher und nachher werden als Zeiträume verglichen.'],
    },
    confirmSection: 'Das sind meine Maße',
  },
  phases: {
    today: 'Heute beginnen lassen',
    known: 'Die Tage der Arbeiten stehen fest',
    title: 'Vorher, Arbeiten, nachher',
    lead: 'Jeder Tag gehört zu einem Zeitraum. Alles lässt sich im Tagebuch ändern.',
    names: { before: 'Vor den Arbeiten', works: 'Arbeiten', after: 'Nach den Arbeiten' },
    before: 'Vorher: erster Tag',
    beforeHint: 'der Tag der ersten Messung, die zählt, oder heute',
    begun: 'Arbeiten: erster Tag',
    begunHint: 'ein künftiger Tag geht ebenso wie ein vergangener',
    ended: 'Arbeiten: letzter Tag',
    endedHint: 'leer lassen, bis sie fertig sind; der Zeitraum danach beginnt am nächsten Tag',
  },
  example: {
    title: 'Ein Beispiel zum Ausprobieren',
    lead: (name) =>
      `${name}: ein erfundenes Zuhause mit Messwerten aus drei Wintern, einer Innenverkleidung dazwischen und einem Tagebuch. Es steht neben Ihrem eigenen Zuhause und lässt sich spurlos wieder entfernen.`,
    add: 'Beispiel laden',
    tag: 'Beispiel, erfundene Daten',
    steps: {
      readings: 'Die erfundenen Messwerte werden eingelesen …',
      hours: 'Die Stunden werden ermittelt …',
      now: 'Bis jetzt wird aufgefüllt …',
    },
    there: (name) => `${name} ist da. Alles darin ist erfunden.`,
    open: 'Ansehen',
    remove: 'Beispiel entfernen',
    removeLead: (name) =>
      `${name} verschwindet mit allen Messwerten und mit allem, was Sie selbst hinzugefügt haben. Ihr eigenes Zuhause bleibt unberührt.`,
    removing: 'Das Beispiel wird entfernt. Sie müssen nicht warten.',
    removed: 'Das Beispiel wurde entfernt.',
    share: (share) => `${share} erledigt`,
  },
  own: {
    title: 'Einen Sensor anschließen',
    lead: 'Geben Sie dem Sensor einen eigenen Namen, und lassen Sie ihn über MQTT an die Adresse unten senden.',
    name: 'Name des Sensors',
    nameHint: 'Buchstaben, Ziffern und Bindestriche, für jeden Sensor ein eigener; etwa decke-1',
    broker: 'Broker',
    brokerLoopback:
      'Diese Adresse gilt nur auf diesem Computer. Für Sensoren anderswo im Haus setzen Sie COOMB_MQTT_HOST, dazu Benutzer und Passwort mit COOMB_MQTT_USER und COOMB_MQTT_PASSWORD; starten Sie dann das Programm neu.',
    topic: 'Topic',
    message: 'Nachricht: ein einfaches JSON-Objekt. Lassen Sie weg, was der Sensor nicht misst.',
    time: 'Ohne „time“ zählt der Zeitpunkt der Ankunft. Gesammelte Messwerte können später als Liste solcher Objekte kommen, jedes mit eigenem „time“ (ISO 8601 oder Sekunden seit 1970). Derselbe Messwert zweimal ist ein Messwert.',
    curl: 'Ein Beispiel zum Einfügen (curl)',
    try: 'Zum sofortigen Ausprobieren ohne Sensor: Fügen Sie dies in ein Terminal dieses Computers ein. Es zählt als echter Messwert, unter einem Namen, dem Sie keinen Ort geben müssen.',
    waiting: (topic) => `Warten auf die erste Nachricht unter ${topic} …`,
    heard: (sensor, figures) => `${sensor} meldet: ${figures}.`,
    heardNext: 'Geben Sie ihm in der Tabelle oben einen Ort.',
    notUnderstood: (topic, reason) => `Unter ${topic} kam etwas an, wurde aber nicht verstanden: ${reason}`,
    explain: 'Sagen, was es bedeutet',
    other:
      'Ein Sensor, der in einer eigenen Form sendet, wird angeschlossen, indem Sie sagen, was seine Nachrichten bedeuten:',
    file: 'Ein Logger, der Dateien schreibt:',
    caution:
      'Batterien und Netzteile: Verwenden Sie solche mit den Sicherheitszeichen Ihres Landes und keine, die warm werden. Alte strukturierte Beschichtungen und Platten können Asbest enthalten: vor dem Bohren oder Abschaben prüfen lassen.',
  },
  placing: {
    newPlace: 'ein neuer Ort …',
    give: 'Ort geben',
    giveTitle: (name) => `Ein Ort für ${name}`,
    fromHint: 'was er ab dann gesendet hat, zählt für diesen Ort',
  },
};
