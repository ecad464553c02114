import type { Row } from './by-english.ts';

/** German of why the server refused something, where it says more than the kind of problem does. */
export const deRefusals: readonly Row[] = [
  ['{0} is not an IANA time zone; one is Europe/London.', '{0} ist keine IANA-Zeitzone; eine ist Europe/Berlin.'],
  ['A phase must end after it begins.', 'Eine Phase muss enden, nachdem sie begonnen hat.'],
  ['The span must end after it begins.', 'Der Zeitraum muss enden, nachdem er begonnen hat.'],
  ['Ask for at most 20 years.', 'Höchstens 20 Jahre auf einmal.'],
  [
    'The span must begin before now and end after it begins.',
    'Der Zeitraum muss in der Vergangenheit beginnen und enden, nachdem er begonnen hat.',
  ],
  [
    'The span must begin in 1970 or later, and end after it begins.',
    'Der Zeitraum muss 1970 oder später beginnen und enden, nachdem er begonnen hat.',
  ],
  [
    '{0} is air, and mould grows on surfaces: choose a surface.',
    '{0} ist Luft, und Schimmel wächst auf Oberflächen: Wählen Sie eine Oberfläche.',
  ],
  [
    '{0} is not a surface: choose a ceiling or control surface.',
    '{0} ist keine Oberfläche: Wählen Sie eine Decken- oder Kontrollfläche.',
  ],
  [
    'Add the room the surface faces first, as a place of kind room air.',
    'Legen Sie erst den Raum vor der Oberfläche an, als Ort der Art Raumluft.',
  ],
  ['Sensor {0} has never sent {1}.', 'Der Sensor {0} hat so etwas nie gesendet ({1}).'],
  [
    'A calibration cannot have been made in the future.',
    'Eine Kalibrierung kann nicht in der Zukunft gemacht worden sein.',
  ],
  ['Two jars may lie {0} days apart at most.', 'Zwei Gläser dürfen höchstens {0} Tage auseinanderliegen.'],
  [
    'The run must end after it begins, and begin before now.',
    'Der Vergleich muss enden, nachdem er begonnen hat, und in der Vergangenheit beginnen.',
  ],
  [
    'A run may last {0} days at most: say when it ended.',
    'Ein Vergleich darf höchstens {0} Tage dauern: Sagen Sie, wann er endete.',
  ],
  [
    'There is no such pack: it was removed, or the program was started anew.',
    'Dieses Paket gibt es nicht: Es wurde entfernt, oder das Programm wurde neu gestartet.',
  ],
  ['Packs are being made already: wait for one.', 'Es entstehen schon Pakete: Warten Sie auf eines.'],
  ['The pack is not ready yet.', 'Das Paket ist noch nicht fertig.'],
  ['That is not in the pack.', 'Das ist nicht in dem Paket.'],
  ['The pack of this link holds no report.', 'Das Paket dieses Links enthält keinen Bericht.'],
  [
    'There is no such pack that is ready: make one, then share it.',
    'Ein solches fertiges Paket gibt es nicht: Machen Sie eines, dann geben Sie es weiter.',
  ],
  [
    'This link leads nowhere: it was mistyped, has expired or was taken back. Ask whoever gave it to you for a new one.',
    'Dieser Link führt nirgendwohin: Er ist vertippt, abgelaufen oder zurückgenommen. Bitten Sie um einen neuen.',
  ],
  ['It is still being removed: wait a moment.', 'Es wird noch entfernt: Warten Sie einen Augenblick.'],
  ['It is still being loaded: wait a moment.', 'Es wird noch geladen: Warten Sie einen Augenblick.'],
  ['There is no example here.', 'Hier gibt es kein Beispiel.'],
  [
    'No folder for backups is set: set COOMB_BACKUP_FOLDER and restart coomb.',
    'Es ist kein Ordner für Sicherungen eingestellt: Setzen Sie COOMB_BACKUP_FOLDER, und starten Sie coomb neu.',
  ],
  ['That file is no longer here: send it again.', 'Die Datei ist nicht mehr da: Senden Sie sie noch einmal.'],
  [
    'Other files are being read in: wait until they are done.',
    'Andere Dateien werden eingelesen: Warten Sie, bis das fertig ist.',
  ],
  ['The file is being read in already.', 'Die Datei wird schon eingelesen.'],
  [
    'The file must be looked through first, and nothing be wrong with it.',
    'Die Datei muss erst durchgesehen werden, und nichts darf daran falsch sein.',
  ],
  ['The file holds nothing that can be read in.', 'Die Datei enthält nichts, was sich einlesen ließe.'],
  ['The file is being read in: wait until it is done.', 'Die Datei wird eingelesen: Warten Sie, bis das fertig ist.'],
  ['{0} may have {1} MiB at the most.', '{0} darf höchstens {1} MiB haben.'],
  ['A picture', 'Ein Bild'],
  ['A file', 'Eine Datei'],
  ['The file', 'Die Datei'],
  ['The picture was not taken. {0}', 'Das Bild wurde nicht angenommen. {0}'],
  ['It takes too long to decode.', 'Es zu lesen dauert zu lange.'],
  ['It cannot be decoded: the file is damaged.', 'Es lässt sich nicht lesen: Die Datei ist beschädigt.'],
  ['It is no JPEG, PNG or WebP picture.', 'Es ist kein Bild in JPEG, PNG oder WebP.'],
  [
    'It breaks off: the file ends before the picture does. Copy it again from the phone or camera.',
    'Es bricht ab: Die Datei endet vor dem Bild. Kopieren Sie es noch einmal von Telefon oder Kamera.',
  ],
  [
    'It has {0} pixels; {1} million are the most. Save it smaller.',
    'Es hat {0} Bildpunkte; höchstens {1} Millionen sind erlaubt. Speichern Sie es kleiner.',
  ],
  ['The build-ups cannot be used as they are.', 'Die Aufbauten lassen sich so nicht verwenden.'],
  [
    'The reminders can only rest until a time that is still to come.',
    'Die Erinnerungen können nur bis zu einer Zeit ruhen, die noch kommt.',
  ],
  ['Only deliveries to webhooks are signed.', 'Nur Zustellungen an Webhooks werden unterschrieben.'],
  ['That is no e-mail address; one is ada@example.org.', 'Das ist keine E-Mail-Adresse; eine ist ada@example.org.'],
  [
    'A webhook’s address begins with https://, or http:// at home, and holds no user name or password.',
    'Die Adresse eines Webhooks beginnt mit https://, im eigenen Netz auch mit http://, und enthält weder Benutzernamen noch Passwort.',
  ],
  [
    'Several people are signing in at this moment; try again shortly.',
    'Gerade melden sich mehrere Personen an; versuchen Sie es gleich noch einmal.',
  ],
  ['The name or the passphrase is not right.', 'Name oder Passphrase stimmt nicht.'],
  [
    'There is a passphrase already: sign in, and change it there.',
    'Es gibt schon eine Passphrase: Melden Sie sich an, und ändern Sie sie dort.',
  ],
  ['Only a person has a passphrase.', 'Nur eine Person hat eine Passphrase.'],
  ['Try again shortly.', 'Versuchen Sie es gleich noch einmal.'],
  ['The present passphrase is not right.', 'Die bisherige Passphrase stimmt nicht.'],
  [
    'Set your own passphrase first; then others can be added.',
    'Setzen Sie erst Ihre eigene Passphrase; dann lassen sich andere anlegen.',
  ],
  [
    'Too many wrong passphrases from your address; try again in {0} minutes.',
    'Zu viele falsche Passphrasen von Ihrer Adresse; versuchen Sie es in {0} Minuten noch einmal.',
  ],
  ['This is for the {0}.', 'Das darf nur, {0}.'],
  ['owner', 'wer verantwortlich ist'],
  ['household', 'wer zum Haushalt gehört'],
  ['There is somebody called {0} already.', 'Jemanden namens {0} gibt es schon.'],
  ['There is a device account {0} already.', 'Ein Gerätekonto {0} gibt es schon.'],
  [
    '{0} is the only owner; make somebody else an owner first',
    'Nur {0} ist verantwortlich; machen Sie erst jemand anderen verantwortlich',
  ],
  [
    'Open the page as http://localhost; it does not answer to {0}.',
    'Öffnen Sie die Seite als http://localhost; unter {0} antwortet sie nicht.',
  ],
  [
    'Names, notes and photos stay with the household: ask for a pack without words.',
    'Namen, Notizen und Fotos bleiben beim Haushalt: Bestellen Sie ein Paket ohne Worte.',
  ],
  [
    '{0} is an owner, and an owner sees every home.',
    '{0} ist verantwortlich, und wer verantwortlich ist, sieht jedes Zuhause.',
  ],
  [
    'This shows something of every home, and only some are yours to see.',
    'Das zeigt etwas von jedem Zuhause, und nur einige dürfen Sie sehen.',
  ],
  ['Changes are not taken from {0}.', 'Änderungen von {0} werden nicht angenommen.'],
  ['another site', 'einer anderen Seite'],
];
