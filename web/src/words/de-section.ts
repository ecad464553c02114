import type { enSection } from './en-section.ts';
import type { Same } from './same.ts';

/** Text of the drawn section: its modes, the night that is played, what is typical before and after, and Tonight. */
export const deSection: Same<typeof enSection> = {
  show: 'Zeigen',
  modes: { now: 'jetzt', night: 'eine Nacht', before: 'vor den Arbeiten', after: 'nach den Arbeiten' },

  trends: {
    temperature: { rising: 'wird wärmer', falling: 'kühlt ab', steady: 'gleichbleibend' },
    vapourPressure: { rising: 'wird feuchter', falling: 'wird trockener', steady: 'gleichbleibend' },
    margin: { rising: 'Abstand wächst', falling: 'Abstand schrumpft', steady: 'gleichbleibend' },
    surfaceHumidity: { rising: 'wird feuchter', falling: 'wird trockener', steady: 'gleichbleibend' },
    timberMoisture: { rising: 'wird feuchter', falling: 'wird trockener', steady: 'gleichbleibend' },
  },
  trendFigures: (words, change, hours) => `${words}: ${change} in ${hours} h`,
  trendNote:
    'Steigend und fallend gilt für die letzten Stunden. Gleichbleibend: Die Änderung liegt innerhalb dessen, was Sensoren und Streuung erlauben.',

  through: {
    title: 'Durch die Decke',
    lead: 'Vom Raum nach außen an der Dachschräge. Die Dicken sind nicht maßstäblich.',
    temperature: 'Temperatur',
    dewPoint: 'Taupunkt der Raumluft',
    vapour: 'Wasserdampf in der Luft',
    most: 'das Meiste, was die Luft dort halten kann',
    note: 'Punkte sind gemessen, die Linien dazwischen gerade gezogen. Wo der Dampf das Meiste erreicht, was die Luft halten kann, schlägt sich Wasser nieder.',
    vapourAtSurface: 'An der Oberfläche ist der Dampf der Raumluft eingezeichnet; er wird dort nicht gemessen.',
    nodes: { room: 'Raum', surface: 'Oberfläche', behind: 'hinter Verkleidung', outdoors: 'außen' },
    layers: { lining: 'Verkleidung', board: 'alte Platte' },
    tooLittle: 'Dafür braucht es die Temperatur einer Deckenoberfläche und die des Raums oder der Außenluft.',
    table: 'Dasselbe als Tabelle',
    columns: { where: 'Wo', temperature: 'Temperatur', vapour: 'Dampf', most: 'Höchstens möglich' },
    describe: (lines) => `Vom Raum nach außen: ${lines.join('; ')}.`,
    line: (where, temperature, vapour) => `${where} ${temperature}, Dampf ${vapour}`,
  },

  night: {
    choose: 'Nacht, die beginnt am',
    earlier: 'Nacht davor',
    later: 'Nacht danach',
    slider: 'Stunde der Nacht',
    play: 'Nacht abspielen',
    pause: 'Anhalten',
    step: 'Nächste Stunde',
    keys: 'Pfeiltasten gehen Stunde um Stunde, Pos1 und Ende an die Enden, Leertaste spielt ab und hält an.',
    keysStill: 'Pfeiltasten gehen Stunde um Stunde, Pos1 und Ende an die Enden, Leertaste zur nächsten Stunde.',
    second: (time) => `${time}, zum zweiten Mal`,
    hour: (time) => `Stunde ab ${time}.`,
    changes: (hours) => `In dieser Nacht wird die Uhr umgestellt: ${hours} Stunden von Mittag bis Mittag.`,
    summary: (condensing, risk) => `${condensing} mit Kondensat, ${risk} mit Schimmelrisiko`,
    hours: (count) => (count === '1' ? '1 Stunde' : `${count} Stunden`),
    quiet: 'In dieser Nacht war keine Oberfläche feucht.',
    unknown: 'In dieser Nacht ließ sich keine Oberfläche beurteilen.',
    strip:
      'Hoch: Kondensat. Mittel: Schimmelrisiko oder nahe daran. Niedrig: unbedenklich. Gepunktet: nicht bekannt. Schattiert: 18:00 bis 08:00.',
    none: 'Es gibt noch keine Stunden zum Abspielen.',
    noneNext: 'Sie kommen mit den ersten Messwerten eines Ortes.',
    mean: 'Stundenmittel, ± soweit die Sensoren bekannt sind.',
  },

  matched: {
    before: 'Typisch für eine kalte Nacht vor den Arbeiten.',
    after: 'Typisch für eine kalte Nacht nach den Arbeiten.',
    lead: (pairs, withinK) =>
      `${pairs} Nächte vorher und ${pairs} nachher, nach der Außentemperatur gepaart, auf ${withinK} genau.`,
    rests: (before, after, coldBelow) =>
      `Außen im Mittel dieser Nächte ${before} vorher und ${after} nachher; kalt heißt ${coldBelow} oder weniger.`,
    figures: 'Jeder Wert in der Zeichnung ist der mittlere der Nachtmittel.',
    table: 'Vorher und nachher in Zahlen',
    tableNote: 'Der mittlere Wert der Nächte; darunter der Bereich, in dem die Hälfte der Nächte liegt.',
    columns: { place: 'Ort', figure: 'Größe', before: 'Vorher', after: 'Nachher' },
    names: {
      temperature: 'Temperatur',
      margin: 'Abstand zum Taupunkt',
      surfaceHumidity: 'Oberflächenfeuchte',
      vapourExcess: 'mehr als außen',
      timberMoisture: 'Holzfeuchte',
      nights: 'Nächte mit Kondensat',
    },
    ofNights: (nights, all) => `${nights} von ${all}`,
    caution:
      'Die Lebensweise ist hier nicht herausgerechnet. Ob die Arbeiten den Unterschied gemacht haben, steht unter',
    condensation: (nights, all) => `Kondensat in ${nights} von ${all} Nächten`,
    notEnough: 'Noch reichen die Daten nicht, um zu zeigen, was typisch ist.',
  },

  move: {
    title: 'Wo die Messorte eingezeichnet sind',
    lead: 'Ziehen Sie einen Ort in der Zeichnung, oder wählen Sie ihn und bewegen Sie ihn mit den Reglern. Das ändert die Zeichnung, nicht die Werte.',
    place: 'Ort',
    along: 'Von der Firstseite zur Traufseite',
    up: 'Von unten nach oben',
    percent: (share) => `${share} des Weges`,
    usual: 'Zurück an die übliche Stelle',
    saved: (place) => `${place} wird von jetzt an dort eingezeichnet.`,
    drawing: 'Zeichnung, in der sich Orte ziehen lassen; die Regler bewirken dasselbe',
  },

  tonight: {
    title: 'Heute Nacht',
    now: 'Jetzt',
    night: 'Die kommende Nacht',
    running: 'Die laufende Nacht',
    todo: 'Was zu tun ist',
    span: (from, to) => `${from} bis ${to}`,
    likely: (place) => `Heute Nacht ist Kondensat wahrscheinlich: ${place}.`,
    even: (place) => `Ob sich heute Nacht Kondensat bildet, ist offen: ${place}.`,
    unlikely: (place) => `Heute Nacht wohl trocken; Kondensat ist nicht ausgeschlossen: ${place}.`,
    dry: 'Heute Nacht sehr wahrscheinlich trocken.',
    mixed: 'Heute Nacht trocken, soweit es sich sagen lässt; nicht überall lässt es sich sagen.',
    unknown: 'Es ist zu wenig bekannt, um zu sagen, was die Nacht bringt.',
    noSurfaces: 'Es wird keine Oberfläche beobachtet, also lässt sich zur Nacht nichts sagen.',
    noSurfacesNext:
      'Legen Sie unter Sensoren eine Deckenoberfläche und ihren Raum an und ordnen Sie beiden Sensoren zu.',
    lowest: (margin, interval, at) =>
      `Kleinster erwarteter Abstand zum Taupunkt: ${margin} (${interval}, in neun von zehn Fällen), gegen ${at}.`,
    lowestBelow: (margin, interval, at) =>
      `Tiefster erwarteter Stand: ${margin} unter dem Taupunkt (Abstand ${interval}, in neun von zehn Fällen), gegen ${at}.`,
    columns: {
      surface: 'Oberfläche',
      chance: 'Wahrscheinlichkeit für Kondensat',
      lowest: 'Kleinster Abstand',
      when: 'Gegen',
    },
    table: 'Vorhersage für jede Oberfläche',
    under: (share) => `unter ${share}`,
    over: (share) => `über ${share}`,
    notEnough: 'zu wenig bekannt',
    bases: {
      'own-outdoor': 'der Außenluft, wie sie in den letzten Tagen verlief',
      'forecast-feed': 'einer Wettervorhersage',
      'loft-referenced': 'dem Dachboden als kalter Seite: Es meldet sich kein Sensor im Freien',
    },
    basis: (basis, nights) =>
      `Ermittelt daraus, wie diese Oberfläche bisher Raum und Wetter folgte, aus ${basis}, und aus ${nights} vergangenen Nächten.`,
    score: (nights, warned, came) =>
      `Vorhersagen für ${nights} vergangene Nächte: Vor ${warned} der Nächte mit Kondensat wurde gewarnt, ${came} der Warnungen trafen ein.`,
    scoreFew: (nights) => `Zu wenige frühere Vorhersagen (${nights}) mit Kondensat, um zu sagen, wie gut sie sind.`,
    noScore: 'Wie gut diese Vorhersagen sind, ist noch nicht bekannt: Noch ist keine vorhergesagte Nacht vorüber.',
    nothing: 'Nichts. Räume, Dachboden und alles Verborgene sind, wie sie sein sollen, soweit sie beobachtet werden.',
    nothingHeard: 'Noch lässt sich nichts sagen: Kein Sensor dieser Wohnung hat sich gemeldet.',
    nothingHeardNext: 'Verbinden Sie unter Sensoren einen Sensor, oder lesen Sie eine Datei ein.',
    nothingHeardLately: 'Es lässt sich nichts sagen: Kein Sensor dieser Wohnung hat sich in letzter Zeit gemeldet.',
    nothingHeardLatelyNext: 'Sehen Sie unter Sensoren nach der Ursache.',
    adviceTitles: {
      wipe: 'Abwischen',
      ventilate: 'Lüften',
      'open-door': 'Tür öffnen',
      heat: 'Heizen',
      'check-eaves': 'Traufe prüfen',
      'check-lining': 'Verborgene Schicht beobachten',
      'check-sensors': 'Nach den Sensoren sehen',
    },
    urgent: 'jetzt',
    section: 'Alle Orte im gezeichneten Schnitt',
    caution: 'Eine Vorhersage kann falsch sein, und dies ist ein Hinweis, keine Bescheinigung.',
  },
};
