import type { enEvidence } from './en-evidence.ts';
import type { Same } from './same.ts';

/** Text about the evidence pack in German. */
export const deEvidence: Same<typeof enEvidence> = {
  title: 'Nachweis',
  lead: 'Erstellen Sie eine Datei mit den Messwerten, mit allem, was damit geschah, und mit jedem Ergebnis. Wer sie bekommt, kann die Ergebnisse ohne dieses Programm prüfen und ohne Ihnen vertrauen zu müssen.',
  caution:
    'Aus Temperatur und Luftfeuchte lässt sich ablesen, wann Menschen zu Hause waren, schliefen oder weg waren. Geben Sie die Datei nur Menschen, die das wissen dürfen.',
  from: 'Von',
  to: 'Bis',
  places: 'Messorte',
  placesHint: 'Ein Ort bringt die mit, auf denen seine Werte beruhen: den Raum davor, die Außenluft, den Dachboden.',
  everything: 'Alle Orte',
  some: 'Nur diese',
  words: 'Namen, Notizen und Fotos',
  withWords: 'Namen, Notizen, Fotos und nicht verstandene Nachrichten einschließen',
  withoutWords: 'Weglassen: Orte und Sensoren bekommen Nummern',
  report: 'Der Bericht darin',
  reportKinds: {
    works: 'Ob die Arbeiten geholfen haben',
    cause: 'Warum eine Ecke kalt und feucht ist',
    season: 'Wie das Zuhause durch die Saison kam',
  },
  paper: 'Papier der PDF-Datei',
  paperSizes: { A4: 'A4', Letter: 'US Letter' },
  noPlaces: 'Noch gibt es nichts weiterzugeben: Kein Messort ist angelegt.',
  inside: 'Was darin sein wird',
  place: 'Ort',
  known: 'Bekannte Stunden',
  comesAlong: 'kommt mit',
  knownOf: (share, known, hours) => `${share} (${known} von ${hours} h)`,
  counts: (notes, photos, calibrations) =>
    [
      `${calibrations} ${calibrations === 1 ? 'Kalibrierung' : 'Kalibrierungen'}`,
      `${notes} ${notes === 1 ? 'Notiz' : 'Notizen'}`,
      `${photos} ${photos === 1 ? 'Foto' : 'Fotos'}`,
    ].join(', '),
  size: (size) => `Etwa ${size}.`,
  sealed: (first, last, days) =>
    `Gegen spätere Änderung versiegelt: was vom ${first} bis ${last} eintraf, ${days} ${days === 1 ? 'Tag' : 'Tage'}. Früher eingetroffene Messwerte wurden nicht versiegelt.`,
  notSealed:
    'Noch ist kein Tag versiegelt. Jeder Tag wird versiegelt, sobald er vorüber ist; von da an zeigt sich eine Änderung seiner Messwerte.',
  proof:
    'Das Siegel zeigt spätere Änderungen, aber wem dieser Computer gehört, der könnte alles neu herstellen. Um das auszuschließen, lassen Sie jemand anderen im Lauf der Tage einen Eintrag der Kette aufbewahren.',
  key: 'Die Datei wird mit dem Schlüssel dieses Computers signiert. Nennen Sie der Gegenseite diesen Fingerabdruck am Telefon oder auf Papier:',
  make: 'Nachweis erstellen',
  making: 'Nachweis wird erstellt',
  steps: {
    waiting: 'Beginnt',
    copying: 'Messwerte werden kopiert',
    hours: 'Stunden werden ermittelt',
    figures: 'Ergebnisse werden ermittelt',
    writing: 'Datei wird geschrieben',
  },
  stop: 'Anhalten',
  stopped: 'Angehalten. Nichts wurde behalten.',
  ready: (size) => `Der Nachweis ist fertig: ${size}. Er bleibt eine Stunde lang hier.`,
  download: 'Nachweis sichern',
  failed: (why) => `Der Nachweis ließ sich nicht erstellen: ${why}`,
  howToCheck:
    'Der Nachweis enthält eine README, die in einfachen Schritten sagt, wie man ihn prüft, mit üblichen Werkzeugen oder mit dem beigelegten Skript.',
  notChosen: 'Wählen Sie, von wann bis wann, und mindestens einen Ort.',
  shares: {
    title: 'Über einen Link teilen',
    lead: 'Wer den Link hat, sieht den Bericht und kann den Nachweis sichern, ohne sich anzumelden. Er zeigt den Nachweis, wie er war, als der Link erstellt wurde, und sonst nichts von diesem Zuhause.',
    first: 'Erstellen Sie erst einen Nachweis; dann lässt er sich teilen.',
    make: 'Diesen Nachweis über einen Link teilen',
    label: 'Für wen',
    labelHint: 'Damit Sie später wissen, wem Sie ihn gegeben haben. Die anderen sehen es nicht.',
    until: 'Gilt für',
    days: (days) => `${days} Tage`,
    submit: 'Link erstellen',
    made: 'Kopieren Sie den Link jetzt: Er wird nicht noch einmal gezeigt. Ist diese Seite nur auf diesem Computer zu sehen, können andere dem Link erst folgen, wenn sie auch ihnen zugänglich ist.',
    revoke: 'Zurücknehmen',
    revokeOf: (label) => `Den Link für ${label} zurücknehmen`,
    neverOpened: 'Noch nicht geöffnet.',
    opened: (count, last) => `${count === 1 ? 'Einmal' : `${count}-mal`} geöffnet, zuletzt ${last}.`,
    states: {
      open: (date) => `Gilt bis ${date}.`,
      expired: (date) => `Abgelaufen am ${date}.`,
      revoked: (date) => `Zurückgenommen am ${date}.`,
      lost: (_) =>
        'Führt nirgends hin: Das Paket dazu ist nicht mehr hier, denn Sicherungen enthalten keine geteilten Pakete. Machen Sie ein Paket und teilen Sie es neu.',
    },
  },
};
