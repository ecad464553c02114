import type { enForecastScore } from './en-forecast-score.ts';
import type { Same } from './same.ts';

/** Text of how good the forecasts of past nights were, in German. */
export const deForecastScore: Same<typeof enForecastScore> = {
  title: 'Wie gut die Vorhersagen waren',
  lead: 'Jede Vorhersage wird aufbewahrt, wie sie war, und an dem geprüft, was in ihrer Nacht gemessen wurde.',
  toNotices: 'Zurück zu den Hinweisen',
  toTonight: 'Heute Nacht',
  more: 'Mehr zu Vorhersagen und Hinweisen',
  choices: 'Welche Vorhersagen',
  surface: 'Oberfläche',
  all: 'alle Oberflächen',
  madeAt: 'Vorhersage von',
  hour: (hour) => `${hour}:00`,
  nightsScored: (nights, from, to) => `Vorhersagen für ${nights}, ${from} bis ${to}.`,
  nights: (count, one) => (one ? `${count} Nacht` : `${count} Nächte`),
  caught: (wet, hits) => `${wet} mit Kondensat: Vor ${hits} davon wurde gewarnt.`,
  noneWet: 'In keiner Nacht gab es Kondensat; es gab also nichts zu warnen.',
  cameTrue: (warnings, one, hits) => `${warnings} ${one ? 'Warnung' : 'Warnungen'}: ${hits} davon trafen ein.`,
  noWarnings: 'Gewarnt wurde nie.',
  warning: (share) => `Eine Warnung ist eine Wahrscheinlichkeit von ${share} oder mehr.`,
  together: 'Eine Nacht zählt für jede Oberfläche einmal.',
  standings: {
    none: '',
    'few-nights': 'Das sind zu wenige Nächte für ein Urteil. Sehen Sie später im Winter wieder nach.',
    'few-condensation-nights':
      'So wenige Nächte hatten Kondensat, dass dies wenig darüber sagt, wie gut vor ihnen gewarnt wird.',
    enough: '',
  },
  none: 'Noch ist keine Nacht dieser Vorhersagen vorüber.',
  noneNext:
    'Vorhersagen werden jeden Tag um 12:00 und 18:00 aufbewahrt, solange das Programm läuft und sobald zehn vergangene Nächte bekannt sind. Die erste wird am Morgen danach geprüft.',

  reliability: 'Was gesagt wurde, und wie oft es eintraf',
  reliabilityLead:
    'Nächte sind nach der Wahrscheinlichkeit zusammengefasst, die ihnen gegeben wurde. Wo 30 % gesagt sind, sollten 3 von 10 solchen Nächten nass werden: Punkte auf der schrägen Linie stimmen, Punkte darüber trafen öfter ein als gesagt, Punkte darunter seltener. Striche: wo der wahre Anteil bei so wenigen Nächten liegen kann.',
  drawing: 'Gesagte Wahrscheinlichkeit und wie oft es eintraf; die Tabelle darunter enthält dieselben Zahlen.',
  said: 'gesagte Wahrscheinlichkeit, %',
  happened: 'wie oft es eintraf, %',
  asSaid: 'wie gesagt',
  columns: {
    said: 'Gesagt',
    nights: 'Nächte',
    mean: 'Im Mittel gesagt',
    happened: 'Traf ein',
    range: 'Kann liegen in',
  },
  reliabilityTable: 'Gesagte Wahrscheinlichkeit, und wie oft es eintraf',

  compared: 'Ist das besser, als einfach zu raten?',
  lastNight: 'Gegen „wie letzte Nacht“',
  season: 'Gegen „so oft wie in dieser Zeit“',
  better: (share) => `Die Fehler waren um ${share} kleiner.`,
  worse: (share) => `Die Fehler waren um ${share} größer: Das einfache Raten war besser.`,
  same: 'Es war so gut wie das einfache Raten und nicht besser.',
  unknown: 'Nicht zu sagen: Das einfache Raten lag nie falsch, oder es folgen keine Nächte aufeinander.',
  lastNightExplain: 'Geraten wird: War die letzte Nacht nass, wird es diese auch, sonst nicht.',
  seasonExplain: (wet, nights) =>
    `Geraten wird jede Nacht dieselbe Wahrscheinlichkeit, ${wet} auf ${nights}; die konnte niemand vorher wissen.`,
  working: 'Wie wurde das berechnet?',
  brier: (score) =>
    `Der Fehler einer Vorhersage ist das Quadrat aus der gesagten Wahrscheinlichkeit (0 bis 1) minus dem, was kam (1 für Kondensat, 0 für keines). Ihr Mittel ist der Brier-Wert, hier ${score}: 0 ist vollkommen, immer ein Halb zu sagen ergibt 0,25. „Kleiner“ ist 1 minus diesem Wert durch den des Ratens (Murphy, 1988). Die Striche sind 95-%-Intervalle nach Wilson (1927); aufeinander folgende Nächte ähneln sich, daher sind sie etwas zu kurz.`,

  each: 'Nach Oberfläche und Uhrzeit',
  eachColumns: {
    surface: 'Oberfläche',
    hour: 'Von',
    nights: 'Nächte',
    warned: 'Kondensatnächte, vor denen gewarnt wurde',
    cameTrue: 'Warnungen, die eintrafen',
  },
  ofAll: (part, whole) => `${part} von ${whole}`,
  oneRange: (text, range) => `${text} (${range})`,

  last: 'Die letzten Nächte',
  lastColumns: { night: 'Nacht des', said: 'Gesagt', expected: 'Niedrigster Abstand erwartet', came: 'Was kam' },
  came: {
    wet: (margin) => `Kondensat, niedrigster Abstand ${margin}`,
    dry: (margin) => `trocken, niedrigster Abstand ${margin}`,
  },
  notKnown: 'nicht vorüber, oder zu wenig gemessen',
  under: (share) => `unter ${share}`,
  over: (share) => `über ${share}`,
  morePast: 'Mehr Nächte zeigen',
};
