import type { Finding, FindingCode } from '../../../server/api/contract/comparison.ts';
import type { Write } from './said.ts';

/** German of what the evidence lacks: what was found, and what would mend it. */
export function deFindings(w: Write): Readonly<Record<FindingCode, (finding: Finding) => readonly [string, string?]>> {
  const num = (finding: Finding, name: string): number => Number(finding.data[name]);
  const phase = ({ phase: of }: Finding): string => (of === 'after' ? 'nachher' : 'vorher');
  const inPhase = (finding: Finding): string => `In der Phase „${phase(finding)}“`;
  const missing = (finding: Finding, what: string): readonly [string, string] => [
    `${finding.place ?? what}: keine Temperatur in der Phase „${phase(finding)}“.`,
    `Prüfen Sie, ob Sensor oder Datei die Phase „${phase(finding)}“ abdeckt.`,
  ];
  const share = (value: number): string => w.quantity(100 * Math.abs(value), '%', 1);
  const outdoors = 'Setzen Sie einen Sensor ins Freie, in den Schatten und vor Regen geschützt.';
  return {
    'before-missing': () => [
      'Es gibt keine Phase vorher; nichts zeigt also, was die Arbeiten geändert haben.',
      'Setzen Sie die Phase „vorher“ auf die Zeit vor den Arbeiten; wurde damals nichts aufgezeichnet, lässt sich keine Veränderung zeigen.',
    ],
    'after-missing': () => [
      'Es gibt noch keine Phase nachher.',
      'Setzen Sie die Phase „nachher“, wenn die Arbeiten fertig und trocken sind.',
    ],
    'phase-reversed': (f) => [`Die Phase „${phase(f)}“ endet, bevor sie beginnt.`, 'Vertauschen Sie Anfang und Ende.'],
    'phase-empty': (f) => [`Die Phase „${phase(f)}“ ist kürzer als eine Stunde.`, 'Geben Sie ihr ein späteres Ende.'],
    'phase-in-future': (f) => [
      `Die Phase „${phase(f)}“ liegt in der Zukunft: Sie beginnt ${num(f, 'daysAhead') === 1 ? 'einen Tag' : `${w.number(num(f, 'daysAhead'))} Tage`} nach der letzten bekannten Stunde.`,
      'Warten Sie, bis sie begonnen hat, oder berichtigen Sie ihre Daten.',
    ],
    'phases-overlap': (f) => [
      `Vorher und nachher überschneiden sich um ${w.quantity(num(f, 'overlapHours'), 'h', 0)}; keine der beiden lässt sich beurteilen.`,
      'Lassen Sie die Phase „vorher“ enden, wenn die Arbeiten beginnen, und die Phase „nachher“ beginnen, wenn sie fertig sind.',
    ],
    'after-precedes-before': () => [
      'Die Phase „nachher“ liegt vor der Phase „vorher“.',
      'Vertauschen Sie die beiden Phasen.',
    ],
    'setting-out-of-range': (f) => [
      `${f.data.setting} ist ${f.data.value}; erlaubt ist ${f.data.low} bis ${f.data.high}.`,
      'Wählen Sie einen Wert in diesem Bereich.',
    ],
    'zone-unknown': (f) => [
      `Die Zeitzone ${f.data.zone} ist nicht bekannt; Nächte und Tage lassen sich nicht unterscheiden.`,
      'Geben Sie einen IANA-Namen an, etwa Europe/Berlin.',
    ],
    'zone-doubtful': (f) => [
      `In ${f.data.zone} ist es außen um ${f.data.warmestHour} Uhr am wärmsten; ihre Nächte sind also nicht die des Zuhauses.`,
      'Geben Sie die Zeitzone des Zuhauses an.',
    ],
    'surface-missing': (f) => missing(f, 'Oberfläche'),
    'room-missing': (f) => missing(f, 'Raum'),
    'outdoor-missing': (f) =>
      f.phase === null
        ? ['Es gibt keine Außenluft, so dass sich f nicht ermitteln lässt.', outdoors]
        : missing(f, 'Außen'),
    'humidity-missing': (f) =>
      f.severity === 'weakens'
        ? [
            `Die Luftfeuchte des Raums ist in der Phase „${phase(f)}“ nicht bekannt: keine Risikostunden.`,
            'Zeichnen Sie die Luftfeuchte des Raums zusammen mit seiner Temperatur auf.',
          ]
        : [
            `Die Luftfeuchte außen ist in der Phase „${phase(f)}“ nicht bekannt: kein Dampfüberschuss und keine Ursachen.`,
            'Zeichnen Sie auch die Luftfeuchte außen auf.',
          ],
    'cold-side-is-loft': () => [
      'Als kalte Seite ist nur die Luft im Dachboden bekannt: f ist auf den Dachboden bezogen und nicht mit einem veröffentlichten Mindestwert vergleichbar.',
      outdoors,
    ],
    'too-few-days': (f) => {
      const nights = num(f, 'nights');
      if (f.severity === 'blocks') {
        const needed = num(f, 'nightsNeeded');
        return [
          `Die Phase „${phase(f)}“ hat ${w.number(nights)} Nächte, in denen Oberfläche, Raum und kalte Seite bekannt sind; nötig sind ${w.number(needed)}.`,
          f.phase === 'before'
            ? `Lassen Sie die Phase „vorher“ früher beginnen, oder zeichnen Sie vor den Arbeiten mindestens ${w.number(needed - nights)} weitere Nächte auf.`
            : `Zeichnen Sie ${w.number(needed - nights)} weitere Nächte auf.`,
        ];
      }
      return [
        `Die Phase „${phase(f)}“ hat nur ${w.number(nights)} Nächte mit Daten.`,
        `Zeichnen Sie ${w.number(num(f, 'nightsWanted') - nights)} weitere Nächte auf.`,
      ];
    },
    'low-coverage': (f) => [
      `${inPhase(f)} sind Oberfläche, Raum und kalte Seite nur in ${w.quantity(num(f, 'coveragePct'), '%', 0)} der Stunden alle bekannt.`,
      'Finden Sie heraus, warum Messwerte fehlen; kürzen Sie die Phase auf die gut aufgezeichnete Zeit.',
    ],
    'small-temperature-difference': (f) => [
      `${inPhase(f)} war der Raum nachts im Mittel ${w.quantity(num(f, 'meanDifferenceK'), 'K', 1)} wärmer als die kalte Seite; ab ${w.quantity(num(f, 'usefulDifferenceK'), 'K', 0)} wird der Wert scharf.`,
      'Zeichnen Sie kältere Nächte auf, oder halten Sie den Raum in kalten Nächten wärmer.',
    ],
    'not-converged': (f) => [
      `${inPhase(f)} hat sich f nicht eingependelt: Es weicht um ${share(num(f, 'againstDayEarlier'))} vom Vortag ab und um ${share(num(f, 'firstAgainstLast'))} zwischen den ersten und den letzten zwei Dritteln von ${w.number(num(f, 'days'))} Tagen; erlaubt sind ${share(num(f, 'allowed'))}.`,
      'Zeichnen Sie mehr Tage auf, und notieren Sie im Tagebuch, was sich dazwischen geändert hat.',
    ],
    'interval-too-wide': (f) => [
      `${inPhase(f)} ist f nur auf ± ${w.number(num(f, 'halfInterval'), 2)} bekannt; nötig ist ± ${w.number(num(f, 'widestHalfInterval'), 2)}.`,
      num(f, 'byOffsets') > num(f, 'widestHalfInterval')
        ? 'Kalibrieren Sie die Sensoren nebeneinander: Ihr Versatz macht den größten Teil der Unsicherheit aus.'
        : 'Zeichnen Sie mehr und kältere Nächte auf.',
    ],
    'estimators-disagree': (f) => [
      `${inPhase(f)} ergibt das Verhältnis f ${w.number(num(f, 'ratio'), 2)} und die Steigung ${w.number(num(f, 'slope'), 2)}; das liegt weiter auseinander, als Zufall und Sensorversatz erklären.`,
      'Suchen Sie nach einem Sensor in der Sonne oder in Zugluft oder nach einem, der bewegt wurde.',
    ],
    'conditions-differ': (f) => [
      `Nur ${w.quantity(num(f, 'overlapPct'), '%', 0)} der Stunden nachher haben einen Unterschied zwischen Raum und kalter Seite, der auch vorher vorkam.`,
      'Vergleichen Sie Phasen derselben Jahreszeit.',
    ],
    'sensor-moved': (f) =>
      'fFirst' in f.data
        ? [
            `${inPhase(f)} springt f an der Stelle ${f.place} nach Nacht ${w.number(num(f, 'night'))} von ${w.number(num(f, 'nights'))} von ${w.number(num(f, 'fFirst'), 2)} auf ${w.number(num(f, 'fThen'), 2)}: Wahrscheinlich wurde ein Sensor bewegt oder hat sich gelöst.`,
            'Sehen Sie nach dem Sensor, notieren Sie im Tagebuch, was geschah, und lassen Sie die Phase dort enden oder beginnen.',
          ]
        : [
            `Der Sensor an der Stelle ${f.place} wurde in der Phase „${phase(f)}“ bewegt oder gewechselt${num(f, 'cutShort') === 1 ? `; nur der längste Abschnitt zählt, ${w.number(num(f, 'longestStretchHours') / 24)} Tage` : ''}.`,
            'Lassen Sie die Sensoren während einer Phase, wo sie sind.',
          ],
    'sensor-recalibrated': (f) => [
      `${f.place} wurde in der Phase „${phase(f)}“ neu kalibriert.`,
      'Lassen Sie die Kalibrierung für die ganze Phase gelten, wenn sich der Sensor nicht geändert hat.',
    ],
    'works-inside-phase': (f) => [
      `Arbeiten nahmen ${w.quantity(num(f, 'hoursLeftOut'), 'h', 0)} der Phase „${phase(f)}“ ein; sie zählen nicht mit.`,
      'Lassen Sie die Phasen vor den Arbeiten enden und beginnen, wenn das Haus getrocknet ist.',
    ],
    'drying-out-inside-phase': (f) => [
      `Das Austrocknen nahm ${w.quantity(num(f, 'hoursLeftOut'), 'h', 0)} der Phase „${phase(f)}“ ein; sie zählen nicht mit.`,
      'Lassen Sie die Phasen vor den Arbeiten enden und beginnen, wenn das Haus getrocknet ist.',
    ],
    'control-missing': () => [
      'Neben der behandelten wurde keine unbehandelte Oberfläche beobachtet; nichts zeigt also, was sich ohnehin geändert hätte.',
      'Setzen Sie einen Sensor an die ebene Decke oder an eine andere unbehandelte Fläche.',
    ],
    'control-too-thin': (f) => [
      `${f.place} hat in beiden Phasen zu wenige Nächte, um als Vergleich zu dienen.`,
      'Zeichnen Sie die Fläche in beiden Phasen durchgehend auf.',
    ],
    'control-disagrees': (f) => [
      `${f.place}, nicht behandelt, änderte sich um ${w.number(num(f, 'controlChange'), 2)}; im Vergleich dazu änderte sich die behandelte Oberfläche nur um ${w.number(num(f, 'differenceInDifferences'), 2)}.`,
      'Suchen Sie, was sich sonst geändert hat: ein bewegter Sensor, andere Dämmung, Heizung nahe der Oberfläche.',
    ],
    'model-fits-poorly': (f) => [
      `Das Modell der unbehandelten Oberfläche irrt im Mittel um ${w.quantity(num(f, 'nmbePct'), '%', 1)} und stündlich um ${w.quantity(num(f, 'cvRmsePct'), '%', 0)} (Grenzen ${w.number(num(f, 'nmbeLimitPct'))} und ${w.quantity(num(f, 'cvRmseLimitPct'), '%', 0)}); was ohne die Arbeiten gewesen wäre, ist daher weniger sicher.`,
      'Zeichnen Sie vorher länger auf, oder finden Sie heraus, was die Oberfläche sonst wärmt oder kühlt.',
    ],
    'model-extrapolates': (f) => [
      `In ${w.quantity(num(f, 'outsidePct'), '%', 0)} der Phase „nachher“ liegt der Unterschied zwischen Raum und kalter Seite um mehr als ${w.quantity(5, 'K', 0)} außerhalb dessen, woran das Modell der unbehandelten Oberfläche angepasst wurde.`,
    ],
    'surface-warmer-than-room': (f) => [
      `${inPhase(f)} ist ${f.place} nachts im Mittel ${w.quantity(num(f, 'warmerK'), 'K', 1)} wärmer als der Raum; das kann eine unbeheizte Oberfläche nicht sein.`,
      'Prüfen Sie, welche Datei oder welcher Sensor welcher ist, und dass keine Lampe, kein Rohr und kein Kamin die Oberfläche wärmt.',
    ],
    'surface-outside-room-and-cold-side': (f) => [
      `${inPhase(f)} ist f ${w.number(num(f, 'f'), 2)}, außerhalb von 0 bis 1: ${f.place} liegt nicht zwischen Raum und kalter Seite.`,
      'Prüfen Sie, welcher Sensor welcher ist, und kalibrieren Sie sie nebeneinander.',
    ],
    'constant-series': (f) => [
      `${f.place} zeigt in jeder Stunde ${w.quantity(num(f, 'temperatureC'), '°C', 1)}.`,
      'Prüfen Sie den Sensor und das Einlesen: So gleichmäßig ist kein bewohnter Ort.',
    ],
    'same-sensor-twice': (f) => [
      `${f.data.otherPlace} und ${f.place} haben dieselben Messwerte; ein Sensor steht also für zwei Orte.`,
      'Geben Sie jedem Ort seinen eigenen Sensor oder seine eigene Datei.',
    ],
    'nothing-to-explain': () => ['Vorher gab es keine Risikostunden, die sich erklären ließen.'],
    'uncertainty-assumed': (f) => [
      `Als unkalibriert angenommen, auf ${w.quantity(2 * num(f, 'temperatureOffsetK'), 'K', 1)} und ${w.quantity(2 * num(f, 'humidityOffsetPct'), '%', 0)} genau: ${f.data.names ?? `${f.data.places} Orte`}.`,
      'Lassen Sie die Sensoren eine Nacht nebeneinander laufen und tragen Sie das Ergebnis ein: Die Bereiche werden enger.',
    ],
    'loft-not-watched': () => [
      'Der Dachboden wurde nicht beobachtet; nichts zeigt also, ob er feuchter wurde.',
      'Setzen Sie einen Sensor in den Dachboden, mit Abstand zur Luke.',
    ],
    'behind-lining-not-watched': () => [
      'Hinter der Verkleidung, wo es kälter ist als vorher, wurde nichts beobachtet.',
      'Setzen Sie einen Sensor hinter die Verkleidung, oder prüfen Sie die Schicht auf andere Weise.',
    ],
  };
}
