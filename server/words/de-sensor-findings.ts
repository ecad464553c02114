import type { HealthFinding } from '../analysis/health/finding.ts';
import type { Write } from './writing.ts';

type SpokenFinding = Pick<HealthFinding, 'code' | 'effect' | 'message' | 'whatToDo'> & {
  readonly data: Readonly<Record<string, unknown>>;
};

/** German of what the readings say about a sensor, and of what to do. */
export const deSensorFindings =
  (w: Write) =>
  ({ code, data, effect, message, whatToDo }: SpokenFinding): string => {
    const num = (name: string): number => Number(data[name]);
    const known = (name: string): boolean => typeof data[name] === 'number';
    const hours = (count: number): string =>
      count < 1.66
        ? `${w.number(60 * count)} Minuten`
        : count < 72
          ? `${w.number(count)} Stunden`
          : `${w.number(count / 24)} Tage`;
    const times = (count: number): string => (count === 1 ? 'einmal' : `${w.number(count)}-mal`);
    switch (code) {
      case 'silent':
        return `Seit ${w.quantity(num('quietHours'), 'h', 0)} kam nichts mehr. Prüfen Sie Batterie oder Netzteil, dann die Funkverbindung; starten Sie den Sensor neu, wenn beides in Ordnung ist.`;
      case 'late':
        return `Der nächste Messwert ist überfällig: Der letzte kam vor ${w.quantity(num('quietHours'), 'h', 1)}. Warten Sie eine Stunde; bleibt er aus, prüfen Sie Strom und Funkverbindung.`;
      case 'gaps':
        return `Messwerte fehlen: ${w.number(num('pauses'))} Pausen, die längste ${w.quantity(num('longestHours'), 'h', 1)}; insgesamt fehlen ${w.quantity(100 * num('missingShare'), '%', 0)}. Rücken Sie Sensor und Empfänger näher zusammen, oder wechseln Sie die Batterie; speichert er Messwerte, lassen Sie ihn die fehlenden senden.`;
      case 'flat-lined':
        return known('humidityPct')
          ? `Seine Luftfeuchte blieb ${hours(num('hours'))} lang bei ${w.quantity(num('humidityPct'), '%', 1)}, während sich die Temperatur um ${w.quantity(num('temperatureSwingK'), 'K', 1)} änderte. Starten Sie ihn neu; bleibt die Luftfeuchte, wo sie ist, ist der Feuchtefühler defekt: ersetzen.`
          : `Er wiederholte ${hours(num('hours'))} lang einen Wert: ${w.number(num('readings'))} Messwerte ohne die kleinste Änderung. Starten Sie ihn neu; geschieht es wieder, wiederholt sein Programm alte Werte, oder der Chip ist defekt.`;
      case 'power-on-value':
        return `Er zeigte ${times(num('readings'))} genau ${w.quantity(num('valueC'), '°C', 0)}: Das antwortet ein Eindrahtfühler, der beim Messen den Strom verlor. Prüfen Sie Stecker und Versorgung des Fühlers, kürzen Sie das Kabel, oder versorgen Sie ihn über eine eigene Ader; lassen Sie das Programm nichts senden, wenn es diesen Wert liest.`;
      case 'spikes':
        return `Einzelne Messwerte (${w.number(num('readings'))}) lagen bis zu ${w.quantity(num('largestK'), 'K', 0)} neben denen davor und danach. Prüfen Sie Stecker, Lötstellen und Kabel des Fühlers und seine Versorgung.`;
      case 'jump':
        return `Er sprang von einem Messwert zum nächsten um ${w.quantity(num('stepK'), 'K', 1)} und blieb dort, von ${w.quantity(num('beforeC'), '°C', 1)} auf ${w.quantity(num('afterC'), '°C', 1)}. Wurde der Sensor umgesetzt, geben Sie ab dieser Zeit seinen neuen Ort an; wenn nicht, prüfen Sie den Fühler und vergleichen Sie ihn mit einem anderen.`;
      case 'stuck-at-100':
        return `Seine Luftfeuchte stand ${hours(num('hours'))} lang bei ${w.quantity(100, '%', 0)}. ${
          effect.kind === 'not-counted'
            ? 'Nehmen Sie ihn ab, lassen Sie ihn einen Tag in einem warmen, trockenen Raum trocknen, und sehen Sie, ob er wieder zeigt, was ein anderer Sensor zeigt; schützen Sie ihn vor Tropfen.'
            : 'Sehen Sie nach, ob dort Wasser steht oder die Luft wirklich gesättigt ist; schützen Sie den Sensor vor Tropfen.'
        }`;
      case 'humidity-wetted':
        return `Er zeigte bis zu ${w.quantity(num('highestPct'), '%', 1)} Luftfeuchte, ${times(num('readings'))} mehr, als es geben kann: Sein Fühler war nass oder stand lange in feuchter Luft und zeigt zu hoch. Lassen Sie ihn einen Tag in einem warmen, trockenen Raum trocknen, und vergleichen Sie ihn dann mit einem anderen Sensor; schützen Sie ihn vor Tropfen.`;
      case 'self-heating':
        return `Alle ${w.quantity(num('periodHours'), 'h', 0)} zeigt er ${w.quantity(num('riseK'), 'K', 1)} mehr als kurz davor und danach, im Takt seiner eigenen Arbeit: Er erwärmt sich selbst. Messen Sie, bevor der Funk eingeschaltet wird, lassen Sie den Chip zwischen den Messungen schlafen, und halten Sie den Fühler von warmen Teilen fern.`;
      case 'clock-skew':
        return known('behindSeconds')
          ? `Seine Zeitangaben gehen gegenüber der Ankunft ${num('behindSeconds') > 0 ? 'nach' : 'vor'}, um ${hours(Math.abs(num('behindSeconds')) / 3600)}, beständig über ${w.number(num('hoursWatched'))} Stunden. Lassen Sie das Gerät die Zeit holen (NTP) und UTC senden, oder gar keine Zeit: Dann zählt die Ankunft.`
          : `Nachrichten wurden wegen ihrer Zeitangabe zurückgelegt: ${w.number(num('ahead'))} aus der Zukunft, ${w.number(num('tooEarly'))} zu alt. Lassen Sie das Gerät vor dem Messen die Zeit holen (NTP) und UTC senden, oder gar keine Zeit: Dann zählt die Ankunft.`;
      case 'clock-drift':
        return 'Seine Uhr läuft von Tag zu Tag weiter davon. Lassen Sie das Gerät einmal am Tag die Zeit holen (NTP), oder senden Sie keine Zeit.';
      case 'duplicated-identity':
        return 'Unter diesem Namen scheinen zwei Geräte zu senden. Geben Sie jedem Gerät ein eigenes Topic, und nehmen Sie dann nach Datum heraus, was das falsche gesendet hat.';
      case 'swapped-places':
        return `${data.ownPlace} zeigt in ${w.number(num('hoursWarmer'))} von ${w.number(num('hours'))} Stunden mehr als ${data.roomPlace}, im Mittel um ${w.quantity(num('warmerByK'), 'K', 1)}: Die beiden Sensoren scheinen vertauscht zu sein. Wärmen Sie jeden eine Minute in der Hand, sehen Sie, welcher sich rührt, und geben Sie dann den richtigen Ort ab dem Datum an, seit dem er dort sitzt.`;
      case 'unit-mix-up':
        return known('shownC')
          ? `Er scheint Grad Fahrenheit als °C zu senden. Lassen Sie das Gerät °C senden, oder ordnen Sie den Wert als Fahrenheit zu; nehmen Sie den Sensor bis dahin von seinem Ort, damit er nirgends zählt.`
          : `Seine Luftfeuchte bleibt bei ${w.quantity(num('shownPct'), '%', 2)}: Er scheint einen Anteil von 1 statt Prozent zu senden. Lassen Sie das Gerät Prozent senden, oder ordnen Sie den Wert als Anteil zu.`;
      case 'battery':
        return `${
          known('volts') ? `Die Batterie hat noch ${w.quantity(num('volts'), 'V', 2)}. ` : 'Die Batterie wird leer. '
        }${known('daysLeft') ? `Sie reicht noch etwa ${w.number(num('daysLeft'))} Tage. ` : ''}Wechseln oder laden Sie sie.`;
      default:
        return `${message} ${whatToDo}`;
    }
  };
