import type { Row } from './by-english.ts';

/** German of how sensors are compared: why there is nothing to propose yet, and what to do. */
const calibrating: readonly Row[] = [
  ['{0} minutes', '{0} Minuten'],
  ['1 hour', '1 Stunde'],
  ['{0} hours', '{0} Stunden'],
  [
    'The sensors have lain together for {0} of the {1} hours they need.',
    'Die Sensoren liegen seit {0} Stunden zusammen; nötig sind {1}.',
  ],
  [
    'Leave them together for another {0}; a whole night is better.',
    'Lassen Sie sie noch {0} zusammen; eine ganze Nacht ist besser.',
  ],
  [
    'The sensor chosen as the reference was not heard for long enough.',
    'Der als Referenz gewählte Sensor hat sich nicht lange genug gemeldet.',
  ],
  [
    'Look after its battery and its connection, or choose another.',
    'Sehen Sie nach Batterie und Verbindung, oder wählen Sie einen anderen.',
  ],
  ['Nothing is known of how exact {0} is.', 'Wie genau {0} ist, ist nicht bekannt.'],
  ['Say which type it is, or calibrate it first.', 'Geben Sie seinen Typ an, oder kalibrieren Sie ihn erst.'],
  [
    '{0} of the sensors sent {1} through the run: a mean needs three, for with two nobody can say which is wrong.',
    'Nur {0} der Sensoren haben die ganze Zeit gemessen ({1}): Ein Mittel braucht drei, denn bei zweien weiß niemand, welcher falsch geht.',
  ],
  [
    'Put more sensors in the box, or choose one that is known to be good as the reference.',
    'Legen Sie weitere Sensoren dazu, oder wählen Sie einen, der als genau bekannt ist, als Referenz.',
  ],
  [
    'The sensors disagree so much, or were heard together so little, that no mean of them can be trusted.',
    'Die Sensoren weichen so weit voneinander ab oder waren so selten zugleich zu hören, dass ihrem Mittel nicht zu trauen ist.',
  ],
  [
    'Look whether all lie in one box and have their right type; or choose one that is known to be good as the reference.',
    'Sehen Sie nach, ob alle in einer Schachtel liegen und ihren richtigen Typ haben; oder wählen Sie einen, der als genau bekannt ist, als Referenz.',
  ],
  [
    '{0} was heard together with the reference in {1} of the {2} half-hours it needs.',
    '{0} war in {1} halben Stunden zugleich mit der Referenz zu hören; nötig sind {2}.',
  ],
  [
    'Look after its battery and its connection, and leave it in the box for longer.',
    'Sehen Sie nach Batterie und Verbindung, und lassen Sie ihn länger in der Schachtel.',
  ],
  [
    '{0} reads {1} {2} off the others: no sensor that works is so far off.',
    '{0} weicht um {1} {2} von den anderen ab: So falsch geht kein Sensor, der in Ordnung ist.',
  ],
  [
    'Look whether it lay in the box and sends the unit it should; if so, replace it.',
    'Sehen Sie nach, ob er in der Schachtel lag und die richtige Einheit sendet; wenn ja, ersetzen Sie ihn.',
  ],
  [
    '{0} reads {1} {2} off the others, more than its data sheet allows: repeat the run, and replace it if that stays.',
    '{0} weicht um {1} {2} von den anderen ab, mehr als sein Datenblatt erlaubt: Wiederholen Sie den Vergleich, und ersetzen Sie ihn, wenn es so bleibt.',
  ],
  [
    'Compared at {0} %; far from that it is less sure. A salt near 75 % tells more where mould can grow.',
    'Verglichen bei {0} %; weit davon ist es weniger sicher. Ein Salz um 75 % sagt mehr, wo Schimmel wachsen kann.',
  ],
  ['Compared at {0} °C; far from that it is less sure.', 'Verglichen bei {0} °C; weit davon ist es weniger sicher.'],
  [
    'The two salts are {0} % apart, or the sensor can hardly tell them apart.',
    'Die beiden Salze liegen {0} % auseinander, oder der Sensor unterscheidet sie kaum.',
  ],
  [
    'Take two that are at least 20 % apart, such as magnesium chloride and sodium chloride, or use one alone.',
    'Nehmen Sie zwei, die mindestens 20 % auseinanderliegen, etwa Magnesiumchlorid und Natriumchlorid, oder nur eines.',
  ],
  [
    'Sure between {0} and {1} %; beyond, the line is drawn on and less sure.',
    'Sicher zwischen {0} und {1} %; darüber hinaus ist die Linie verlängert und weniger sicher.',
  ],
  [
    'Compared at {0} %; far from that it is less sure. A second salt makes a line of it.',
    'Verglichen bei {0} %; weit davon ist es weniger sicher. Ein zweites Salz macht eine Linie daraus.',
  ],
  ['The sensor reads {0} % over {1}, which makes {2} %.', 'Der Sensor zeigt {0} % über {1}; dort herrschen {2} %.'],
  [
    'Look whether it is that salt, wet through and with some undissolved, and the jar tight; if so, replace the sensor.',
    'Sehen Sie nach, ob es dieses Salz ist, durchfeuchtet und zum Teil ungelöst, und das Glas dicht; wenn ja, ersetzen Sie den Sensor.',
  ],
  [
    "The value for {0}, {1} %, could not be read in the published table itself: compare it with the salt's own certificate.",
    'Der Wert für {0}, {1} %, ließ sich nicht in der veröffentlichten Tabelle selbst nachlesen: Vergleichen Sie ihn mit dem Zertifikat des Salzes.',
  ],
  [
    'The {0} was made {1} hours ago and needs {2}.',
    'Die Lösung ({0}) wurde vor {1} Stunden angesetzt und braucht {2}.',
  ],
  ['Leave the jar closed for another {0}.', 'Lassen Sie das Glas noch {0} geschlossen.'],
  ['The humidity over {0} jumps about.', 'Die Feuchte springt hin und her ({0}).'],
  [
    'Close the jar tightly, wrap it, and keep it from sun and draughts.',
    'Schließen Sie das Glas dicht, wickeln Sie es ein, und halten Sie Sonne und Zugluft fern.',
  ],
  [
    'There are {0} readings since it settled; it takes {1}.',
    'Seit es zur Ruhe kam, gibt es {0} Messwerte; nötig sind {1}.',
  ],
  ['Wait, or let the sensor report more often.', 'Warten Sie, oder lassen Sie den Sensor öfter senden.'],
  [
    'The humidity over {0} is still moving, by {1} % an hour, or was given too little time.',
    'Die Feuchte ({0}) ändert sich noch, um {1} % je Stunde, oder hatte zu wenig Zeit.',
  ],
  ['Wait another {0} at least.', 'Warten Sie mindestens noch {0}.'],
  ['Wait until it has come to rest.', 'Warten Sie, bis sie zur Ruhe gekommen ist.'],
  [
    'The sensor sends no temperature, and the humidity over a salt depends on it.',
    'Der Sensor sendet keine Temperatur; von ihr hängt aber ab, welche Feuchte über einem Salz herrscht.',
  ],
  ['Use a sensor that measures both.', 'Nehmen Sie einen Sensor, der beides misst.'],
  [
    'It is {0} °C in the jar; the table goes from 10 to 30 °C.',
    'Im Glas sind {0} °C; die Tabelle reicht von 10 bis 30 °C.',
  ],
  ['Put the jar where it is about 20 °C.', 'Stellen Sie das Glas an einen Ort mit etwa 20 °C.'],
  [
    'The temperature in the jar moves by {0} K an hour, and sensor and salt do not follow alike.',
    'Die Temperatur im Glas ändert sich um {0} K je Stunde; Sensor und Salz folgen ihr nicht gleich.',
  ],
  [
    'Wrap the jar, put it into a box, and the box where the temperature stays as it is.',
    'Wickeln Sie das Glas ein, stellen Sie es in eine Schachtel und die Schachtel dorthin, wo die Temperatur bleibt, wie sie ist.',
  ],
  [
    'There are {0} readings in the ice since it settled; it takes {1}.',
    'Seit es zur Ruhe kam, gibt es {0} Messwerte aus dem Eis; nötig sind {1}.',
  ],
  [
    'The temperature is still moving, by {0} K an hour, or was given too little time.',
    'Die Temperatur ändert sich noch, um {0} K je Stunde, oder hatte zu wenig Zeit.',
  ],
  ['Stir, and wait another {0} at least.', 'Rühren Sie um, und warten Sie mindestens noch {0}.'],
  [
    'Stir, add ice, and wait until it has come to rest.',
    'Rühren Sie um, geben Sie Eis dazu, und warten Sie, bis sie zur Ruhe gekommen ist.',
  ],
  ['The temperature jumps about.', 'Die Temperatur springt hin und her.'],
  [
    'Crush the ice smaller, pour water off, stir, and wait.',
    'Zerkleinern Sie das Eis feiner, gießen Sie Wasser ab, rühren Sie um, und warten Sie.',
  ],
  ['The sensor reads {0} °C, and melting ice has 0.0 °C.', 'Der Sensor zeigt {0} °C; schmelzendes Eis hat 0,0 °C.'],
  [
    'Look whether its tip is deep in the ice and sends the unit it should; if so, replace it.',
    'Sehen Sie nach, ob seine Spitze tief im Eis steckt und die richtige Einheit gesendet wird; wenn ja, ersetzen Sie ihn.',
  ],
  [
    'Compared at 0 °C; far from that it is less sure. A night side by side at room temperature tells more.',
    'Verglichen bei 0 °C; weit davon ist es weniger sicher. Eine Nacht nebeneinander bei Raumtemperatur sagt mehr.',
  ],
  ['the reference', 'die Referenz'],
  ['the mean of the sensors', 'das Mittel der Sensoren'],
  ['repeatability, and the mean of it', 'Wiederholbarkeit und das Mittel daraus'],
  ['steps in which it reports', 'Stufen, in denen er meldet'],
  ['differences within the box', 'Unterschiede innerhalb der Schachtel'],
  ['memory of the humidity element', 'Gedächtnis des Feuchtefühlers'],
  ['table of the salt', 'Tabelle des Salzes'],
  ['temperature of sensor and salt apart', 'Temperatur von Sensor und Salz verschieden'],
  ['still settling', 'noch nicht zur Ruhe gekommen'],
  ['ice and water', 'Eis und Wasser'],
  ['lithium chloride', 'Lithiumchlorid'],
  ['magnesium chloride', 'Magnesiumchlorid'],
  ['potassium carbonate', 'Kaliumcarbonat'],
  ['magnesium nitrate', 'Magnesiumnitrat'],
  ['sodium chloride', 'Natriumchlorid'],
  ['potassium chloride', 'Kaliumchlorid'],
  ['potassium sulphate', 'Kaliumsulfat'],
];

/** Where what is known of a sensor's errors comes from, and whether it is heard. */
const sensors: readonly Row[] = [
  ['temperature', 'Temperatur'],
  ['humidity', 'Luftfeuchte'],
  ['side by side', 'nebeneinander'],
  ['saturated salt', 'gesättigtes Salz'],
  ['ice point', 'Eispunkt'],
  ['reference instrument', 'Referenzgerät'],
  ['calibrated {0}, {1}', 'kalibriert am {0}, {1}'],
  ['accuracy not known, not calibrated', 'Genauigkeit nicht bekannt, nicht kalibriert'],
  [
    'a cautious guess for a sensor of unknown type, not calibrated',
    'eine vorsichtige Annahme für einen Sensor unbekannten Typs, nicht kalibriert',
  ],
  ['{0} measures no {1}, not calibrated', '{0} misst dies nicht ({1}), nicht kalibriert'],
  ['data sheet of {0}, not calibrated', 'Datenblatt von {0}, nicht kalibriert'],
  ['temperature {0}; humidity {1}', 'Temperatur: {0}; Luftfeuchte: {1}'],
  ['{0} (the least sure of {1})', '{0} (das unsicherste von {1})'],
  ['heard lately', 'meldet sich'],
  ['late: check its power and its connection', 'verspätet: Sehen Sie nach Strom und Verbindung'],
  [
    'silent for more than a day: check its battery and its connection',
    'seit mehr als einem Tag still: Sehen Sie nach Batterie und Verbindung',
  ],
  ['nothing heard yet', 'noch nichts gehört'],
];

/** Why nights before and after cannot be matched. */
const nights: readonly Row[] = [
  [
    'There is no phase of the kind before. Give the span before the works a phase, under Diary.',
    'Es gibt keine Phase der Art „vorher“. Geben Sie der Zeit vor den Arbeiten eine Phase, unter Tagebuch.',
  ],
  [
    'There is no phase of the kind after. Give the span after the works a phase, under Diary.',
    'Es gibt keine Phase der Art „nachher“. Geben Sie der Zeit nach den Arbeiten eine Phase, unter Tagebuch.',
  ],
  [
    'Outdoor air is not watched, so that nights of the same weather cannot be found. Add a place outdoors, under Sensors.',
    'Die Außenluft wird nicht gemessen; Nächte mit gleichem Wetter lassen sich daher nicht finden. Legen Sie unter Sensoren einen Ort außen an.',
  ],
  [
    'Only {0} cold nights before and after are alike; it takes {1}. Cold nights (outdoors at {2} °C or less) before: {3}, after: {4}. More come with the winter.',
    'Nur {0} kalte Nächte vorher und nachher gleichen sich; nötig sind {1}. Kalte Nächte (außen höchstens {2} °C) vorher: {3}, nachher: {4}. Mit dem Winter kommen weitere.',
  ],
];

/** Why a message of a device was set aside. */
const messages: readonly Row[] = [
  ['the array holds no readings', 'die Liste enthält keine Messwerte'],
  ['element {0}: {1}', 'Element {0}: {1}'],
  ['the message holds no reading', 'die Nachricht enthält keinen Messwert'],
  [
    'the message has {0} MiB; send buffered readings in batches below {1} MiB',
    'die Nachricht hat {0} MiB; senden Sie gespeicherte Messwerte in Teilen unter {1} MiB',
  ],
  ['the message is empty', 'die Nachricht ist leer'],
  ['the message is not UTF-8 text, so it is not JSON', 'die Nachricht ist kein Text in UTF-8 und daher kein JSON'],
  [
    'NaN and infinity are not JSON: leave the quantity out, or send null',
    'NaN und unendlich gibt es in JSON nicht: Lassen Sie die Größe weg, oder senden Sie null',
  ],
  [
    'send e.g. {"temperature_c": 18.4, "humidity_pct": 61}',
    'senden Sie etwa {"temperature_c": 18.4, "humidity_pct": 61}',
  ],
  ['the message {0} is not JSON: {1}', 'die Nachricht {0} ist kein JSON: {1}'],
  [
    'expected an object of quantities such as {"temperature_c": 18.4}, not {0}',
    'erwartet wird ein Objekt mit Größen wie {"temperature_c": 18.4}, nicht {0}',
  ],
  [
    'each element of an array needs its own time, or they would all become the same instant',
    'jedes Element einer Liste braucht seine eigene Zeit, sonst fielen alle auf denselben Augenblick',
  ],
  [
    '{0} is {1}; it must be a JSON number, without quotes',
    '{0} ist {1}; es muss eine Zahl in JSON sein, ohne Anführungszeichen',
  ],
  [
    'none of the names is known ({0}); expected at least one of {1}',
    'keiner der Namen ist bekannt ({0}); erwartet wird mindestens einer von {1}',
  ],
  ['there are none', 'es gibt keine'],
  [
    'every quantity is null: the device had no value. Check the sensor',
    'jede Größe ist null: Das Gerät hatte keinen Wert. Prüfen Sie den Sensor',
  ],
  ['{0} is too large to be a number', '{0} ist zu groß für eine Zahl'],
  [
    '{0} is {1} {2}; it must lie between {3} and {4} {5}. Check the sensor and its wiring',
    '{0} ist {1} {2}; erlaubt ist {3} bis {4} {5}. Prüfen Sie den Sensor und seine Verdrahtung',
  ],
  [
    "the device's clock says {0}, so it was never set: let it fetch the time (NTP), or leave time out",
    'die Uhr des Geräts zeigt {0}, sie wurde also nie gestellt: Lassen Sie es die Zeit holen (NTP), oder lassen Sie die Zeit weg',
  ],
  [
    "this computer's clock says {0}, so a reading without its own time cannot be dated: set the clock",
    'die Uhr dieses Rechners zeigt {0}; ein Messwert ohne eigene Zeit lässt sich daher nicht datieren: Stellen Sie die Uhr',
  ],
  [
    "the device's clock says {0}, this computer's {1}: set whichever is wrong. A whole number of hours between them means local time was sent as UTC",
    'die Uhr des Geräts zeigt {0}, die dieses Rechners {1}: Stellen Sie die falsche. Liegen ganze Stunden dazwischen, wurde Ortszeit als UTC gesendet',
  ],
  ['{0} ms after 1970', '{0} ms nach 1970'],
  ['and {0} more', 'und {0} weitere'],
  ['time is not a finite number', 'time ist keine endliche Zahl'],
  [
    'time is {0}; send ISO 8601 text with Z or an offset, or an epoch as a number',
    'time ist {0}; senden Sie Text nach ISO 8601 mit Z oder Abstand zu UTC, oder Sekunden seit 1970 als Zahl',
  ],
  ['send an epoch as a number, without quotes', 'senden Sie Sekunden seit 1970 als Zahl, ohne Anführungszeichen'],
  ['send e.g. 2026-01-31T17:20:00Z', 'senden Sie etwa 2026-01-31T17:20:00Z'],
  ['time {0} is not ISO 8601: {1}', 'time {0} ist nicht nach ISO 8601: {1}'],
  [
    'time {0} does not say which zone it is in: add Z for UTC, or an offset such as +01:00',
    'time {0} sagt nicht, in welcher Zone: Fügen Sie Z für UTC an oder einen Abstand wie +01:00',
  ],
  ['time {0} names no real date and time of day', 'time {0} nennt kein Datum mit Uhrzeit, das es gibt'],
  ['an array', 'eine Liste'],
  ['an object', 'ein Objekt'],
  ['the text {0}', 'der Text {0}'],
  ['record {0}: {1}', 'Eintrag {0}: {1}'],
  ['expected a SenML record, not {0}', 'erwartet wird ein Eintrag nach SenML, nicht {0}'],
  [
    'the field {0} must be understood, as its _ says, and is not known here: nothing in the pack was used. Send the pack without it',
    'das Feld {0} muss verstanden werden, wie sein _ sagt, und ist hier nicht bekannt: Nichts davon wurde verwendet. Senden Sie die Nachricht ohne es',
  ],
  ['{0} is {1}; it must be a {2}', '{0} ist {1}; erwartet wird: {2}'],
  ['bver is {0}; it must be a positive whole number', 'bver ist {0}; es muss eine positive ganze Zahl sein'],
  [
    'bver is {0} after {1}; all records of a pack have one version',
    'bver ist {0} nach {1}; alle Einträge einer Nachricht haben dieselbe Version',
  ],
  [
    'the pack is of SenML version {0}; versions up to {1}, and {2}, are known here. Nothing in the pack was used',
    'die Nachricht hat die SenML-Version {0}; hier sind die Versionen bis {1} und {2} bekannt. Nichts davon wurde verwendet',
  ],
  ['it has {0}; a record has one value', 'er hat {0}; ein Eintrag hat einen Wert'],
  ['it has no value; one of v, vs, vb and vd must be there', 'er hat keinen Wert; v, vs, vb oder vd muss da sein'],
  [
    'its name is {0}; bn and n together must be letters, digits and - : . / _ and begin with a letter or digit',
    'sein Name ist {0}; bn und n zusammen dürfen nur Buchstaben, Ziffern und - : . / _ enthalten und müssen mit Buchstabe oder Ziffer beginnen',
  ],
  [
    'the name {0} says what is measured and not by which sensor: send it with a base name (bn), or map the topic',
    'der Name {0} sagt, was gemessen wird, aber nicht, von welchem Sensor: Senden Sie einen Grundnamen (bn) mit, oder ordnen Sie das Topic zu',
  ],
  [
    "the name {0} is longer than the {1} characters of a sensor's key: shorten it, or map the topic",
    'der Name {0} ist länger als {1} Zeichen: Kürzen Sie ihn, oder ordnen Sie das Topic zu',
  ],
  ['the SenML pack holds no measurement', 'die SenML-Nachricht enthält keinen Messwert'],
  ['{0} in no unit', '{0} ohne Einheit'],
  [
    'no record of the SenML pack is of a known quantity ({0}); expected a unit such as Cel, K or %RH, or % with a name that says humidity or moisture, ppm with co2, V with battery',
    'kein Eintrag der SenML-Nachricht gehört zu einer bekannten Größe ({0}); erwartet wird eine Einheit wie Cel, K oder %RH, oder % mit einem Namen mit humidity oder moisture, ppm mit co2, V mit battery',
  ],
  ['the time cannot be read', 'die Zeit lässt sich nicht lesen'],
  ['the message', 'die Nachricht'],
  ['{0} is {1}; a number is expected there', '{0} ist {1}; dort wird eine Zahl erwartet'],
  [
    'every value is null: the device had none. Check the sensor',
    'jeder Wert ist null: Das Gerät hatte keinen. Prüfen Sie den Sensor',
  ],
  [
    "the sensor's key would be {0}; it must be at most 128 characters without / + # and control characters, and not begin with a space. Change the mapping's sensor",
    'der Sensor würde {0} heißen; erlaubt sind höchstens 128 Zeichen ohne / + # und Steuerzeichen, nicht mit einem Leerzeichen beginnend. Ändern Sie den Sensor der Zuordnung',
  ],
  ['{0} is {1}; text in ISO 8601 is expected there', '{0} ist {1}; dort wird Text nach ISO 8601 erwartet'],
  ['at {0}: {1}', 'bei {0}: {1}'],
  [
    '{0} is {1}; a number of seconds or ms since 1970 is expected there',
    '{0} ist {1}; dort werden Sekunden oder ms seit 1970 als Zahl erwartet',
  ],
  [
    'the topic {0} is not of the form coomb/<dwelling>/<sensor>, with the dwelling in lower-case letters, digits and hyphens',
    'das Topic {0} hat nicht die Form coomb/<Zuhause>/<Sensor>, das Zuhause in Kleinbuchstaben, Ziffern und Bindestrichen',
  ],
  [
    'there is no dwelling {0}: change the topic, or add the dwelling',
    'das Zuhause {0} gibt es nicht: Ändern Sie das Topic, oder legen Sie das Zuhause an',
  ],
  [
    '/issued lies ahead of now: check the clock, or the offset of the time',
    '/issued liegt in der Zukunft: Prüfen Sie die Uhr oder den Abstand der Zeit zu UTC',
  ],
  [
    '/hours is {0}; it must be an array of 1 to {1} hours',
    '/hours ist {0}; es muss eine Liste von 1 bis {1} Stunden sein',
  ],
  ['{0}. Send e.g. {1}', '{0}. Senden Sie etwa {1}'],
  [
    '{0}/time is not a whole hour; it must name the beginning of a UTC hour',
    '{0}/time ist keine volle Stunde; es muss der Beginn einer UTC-Stunde sein',
  ],
  ['{0} must have either humidity_pct or dew_point_c', '{0} muss entweder humidity_pct oder dew_point_c haben'],
  [
    '{0}/dew_point_c is {1} °C, above the temperature of {2} °C',
    '{0}/dew_point_c ist {1} °C, über der Temperatur von {2} °C',
  ],
  ['/hours reaches over {0} hours; it may reach over {1}', '/hours reicht über {0} Stunden; erlaubt sind {1}'],
  ['/hours/{0}/time is there twice', '/hours/{0}/time kommt zweimal vor'],
  ['{0} is {1}; it must be an object', '{0} ist {1}; es muss ein Objekt sein'],
  ['{0} is missing', '{0} fehlt'],
  ['{0} cannot be used: {1}', '{0} lässt sich nicht verwenden: {1}'],
  ['{0} is {1}; it must be a number from {2} to {3} {4}', '{0} ist {1}; es muss eine Zahl von {2} bis {3} {4} sein'],
  ['{0} is missing; it must be a number from {1} to {2} {3}', '{0} fehlt; es muss eine Zahl von {1} bis {2} {3} sein'],
  [
    'there is no dwelling {0}; known are {1}. Change the topic, or add the dwelling',
    'das Zuhause {0} gibt es nicht; bekannt sind {1}. Ändern Sie das Topic, oder legen Sie das Zuhause an',
  ],
  [
    'the mapping of {0} finds nothing in the message at {1}: change the mapping, or add one for messages of this kind',
    'die Zuordnung für {0} findet in der Nachricht nichts bei {1}: Ändern Sie die Zuordnung, oder legen Sie eine für solche Nachrichten an',
  ],
  [
    'a SenML pack came on the topic {0} and there is no dwelling yet: add one',
    'auf dem Topic {0} kam eine SenML-Nachricht, und es gibt noch kein Zuhause: Legen Sie eines an',
  ],
  [
    'a SenML pack came on the topic {0}, which does not say for which dwelling; known are {1}. Map the topic to a dwelling',
    'auf dem Topic {0} kam eine SenML-Nachricht, und es sagt nicht, für welches Zuhause; bekannt sind {1}. Ordnen Sie das Topic einem Zuhause zu',
  ],
  ['none yet', 'noch keine'],
  ['{0} and {1} more', '{0} und {1} weitere'],
];

/** What a file of a logger lacks, and what to look at. */
const files: readonly Row[] = [
  ['column {0}', 'Spalte {0}'],
  [
    'the file has no header: columns are taken in order. Check them',
    'die Datei hat keine Kopfzeile: Die Spalten gelten der Reihe nach. Prüfen Sie sie',
  ],
  [
    '{0}: no column of temperature or humidity is recognised among {1}; name one, e.g. --temperature {2}',
    '{0}: Unter {1} ist keine Spalte mit Temperatur oder Luftfeuchte zu erkennen; nennen Sie eine, etwa bei --temperature {2}',
  ],
  [
    '{0} has no row with a time and a number beside it. Times must carry date and time of day, e.g. 2026-01-31 17:20:00; columns are separated by comma, semicolon or tab',
    '{0} hat keine Zeile mit einer Zeit und einer Zahl daneben. Zeiten brauchen Datum und Uhrzeit, etwa 2026-01-31 17:20:00; Spalten trennt ein Komma, ein Strichpunkt oder ein Tabulator',
  ],
  ['{0} has no column {1}; it has {2}', '{0} hat keine Spalte {1}, sondern {2}'],
  ['{0}: the column {1} holds no dates with a time of day', '{0}: Die Spalte {1} enthält keine Daten mit Uhrzeit'],
  [
    '{0}: no column of times is recognised among {1}; name it with --time',
    '{0}: Unter {1} ist keine Spalte mit Zeiten zu erkennen; nennen Sie sie bei --time',
  ],
  [
    'dates are read with the day first, for so the log runs on from one day to the next',
    'Daten werden mit dem Tag zuerst gelesen, denn so folgt im Protokoll ein Tag auf den anderen',
  ],
  [
    'dates are read with the month first, for so the log runs on from one day to the next',
    'Daten werden mit dem Monat zuerst gelesen, denn so folgt im Protokoll ein Tag auf den anderen',
  ],
  [
    'dates with dots are read with the day first. Check the span below',
    'Daten mit Punkten werden mit dem Tag zuerst gelesen. Prüfen Sie den Zeitraum',
  ],
  [
    '{0}: in {1} either number could be the day; say which with --date-order dmy or mdy',
    '{0}: In {1} kann jede der beiden Zahlen der Tag sein; sagen Sie es --date-order dmy or mdy',
  ],
  [
    '{0} could also be {1}; import those as sensors of their own, naming the column',
    '{0} könnte auch {1} sein; lesen Sie diese als eigene Sensoren ein, und nennen Sie dabei die Spalte',
  ],
  [
    'the file does not say its temperature unit: taken as °C',
    'die Datei nennt die Einheit der Temperatur nicht: °C angenommen',
  ],
  [
    'most temperatures are above 45: if they are degrees Fahrenheit, add --unit F',
    'die meisten Temperaturen liegen über 45: Sind es Grad Fahrenheit, so add --unit F',
  ],
  [
    "its time is before the year 2000: the logger's clock was not set",
    'ihre Zeit liegt vor dem Jahr 2000: Die Uhr des Loggers war nicht gestellt',
  ],
  ['its time lies in the future', 'ihre Zeit liegt in der Zukunft'],
  ['it has no time', 'sie hat keine Zeit'],
  ['its time {0} is not of the form of the others', 'ihre Zeit {0} hat nicht die Form der anderen'],
  [
    '{0} does not exist in {1}: the clock was put forward over it. If the logger keeps one time all year, give its offset with --utc-offset',
    '{0} gibt es in {1} nicht: Die Uhr wurde darüber hinweg vorgestellt. Geht die Uhr des Loggers das ganze Jahr gleich, geben Sie ihren Abstand zu UTC an, --utc-offset',
  ],
  [
    'its time {0} carries no offset from UTC, unlike the others',
    'ihre Zeit {0} nennt keinen Abstand zu UTC, anders als die übrigen',
  ],
  [
    '{0} was shown twice{1} as the clock was put back, and the order of the rows does not tell which is meant. If the logger keeps one time all year, give its offset with --utc-offset',
    '{0} kam{1} zweimal vor, als die Uhr zurückgestellt wurde, und die Reihenfolge der Zeilen sagt nicht, welche gemeint ist. Geht die Uhr des Loggers das ganze Jahr gleich, geben Sie ihren Abstand zu UTC an, --utc-offset',
  ],
  [' in {0}', ' in {0}'],
  ['{0} is {1}, which is no number', '{0} ist {1}; das ist keine Zahl'],
  ['{0} is {1}; {2} must lie between {3} and {4} {5}', '{0} ist {1}; erlaubt ist {3} bis {4} {5}'],
  ['{0} cannot be read: {1}', '{0} lässt sich nicht lesen: {1}'],
  ['{0} is empty: export the log again', '{0} ist leer: Lesen Sie den Logger noch einmal aus'],
  [
    '{0}: a quote opened after line {1} is never closed; correct it in a copy of the file',
    '{0}: Ein nach Zeile {1} geöffnetes Anführungszeichen wird nie geschlossen; berichtigen Sie das in einer Kopie der Datei',
  ],
  [
    'the zone {0} is not known; give an IANA zone such as Europe/London, or an offset such as +02:00',
    'die Zone {0} ist nicht bekannt; geben Sie eine IANA-Zone wie Europe/Berlin an oder einen Abstand wie +02:00',
  ],
  ['time', 'Zeit'],
  ['timber moisture', 'Holzfeuchte'],
  ['timberMoisture', 'Holzfeuchte'],
];

/** Long work that came to nothing. */
const work: readonly Row[] = [
  ['The example could not be loaded: {0}', 'Das Beispiel ließ sich nicht laden: {0}'],
  ['The example could not be removed: {0}', 'Das Beispiel ließ sich nicht entfernen: {0}'],
  ['the process that made it ended with {0}', 'der Prozess, der daran arbeitete, endete mit {0}'],
  [
    'The backup was broken off: its process ended with {0}. Try again.',
    'Die Sicherung brach ab: Ihr Prozess endete mit {0}. Versuchen Sie es noch einmal.',
  ],
  [
    '{0} failed: the disk is full. Free some space on it, or use another.',
    '{0}: Der Datenträger ist voll. Schaffen Sie Platz, oder nehmen Sie einen anderen.',
  ],
  [
    '{0} failed: this user may not write there. Give it the right to (chown, chmod u+rwx), mount the disk for writing, or choose another folder.',
    '{0}: Dieser Benutzer darf dort nicht schreiben. Geben Sie ihm das Recht (chown, chmod u+rwx), hängen Sie den Datenträger zum Schreiben ein, oder wählen Sie einen anderen Ordner.',
  ],
  [
    '{0} failed: there is no such file or folder. Check the path.',
    '{0}: Diese Datei oder diesen Ordner gibt es nicht. Prüfen Sie den Pfad.',
  ],
  [
    'The backup needs about {0} in {1} and there are {2}: free some space on that disk, keep fewer backups, or choose another folder.',
    'Die Sicherung braucht etwa {0} in {1}, und frei sind {2}: Schaffen Sie Platz, behalten Sie weniger Sicherungen, oder wählen Sie einen anderen Ordner.',
  ],
  [
    'The backup does not hold what the database held ({0}): try again, and have the disk checked.',
    'Die Sicherung enthält nicht, was die Datenbank enthielt ({0}): Versuchen Sie es noch einmal, und lassen Sie den Datenträger prüfen.',
  ],
  [
    'No folder for backups is set: set COOMB_BACKUP_FOLDER, and restart coomb.',
    'Es ist kein Ordner für Sicherungen eingestellt: Setzen Sie COOMB_BACKUP_FOLDER, und starten Sie coomb neu.',
  ],
];

export const deSentences: readonly Row[] = [...calibrating, ...sensors, ...nights, ...messages, ...files, ...work];
