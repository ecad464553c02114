import { deAdvice } from './de-advice.ts';
import { deCautions } from './de-cautions.ts';
import { deSensorFindings } from './de-sensor-findings.ts';
import type { NoticeFacts, NoticeSaid } from './notice-facts.ts';
import type { Write } from './writing.ts';

type Body = Pick<NoticeSaid, 'title' | 'what' | 'whatToDo'>;

/** What each whole mould index means; the sixth of it is the highest. */
const mouldStages = [
  'kein Bewuchs',
  'erste Spuren, nur unter dem Mikroskop zu sehen',
  'weniger als ein Zehntel bedeckt, nur unter dem Mikroskop zu sehen',
  'Schimmel ist zu sehen, weniger als ein Zehntel bedeckt',
  'ein Zehntel bis zur Hälfte mit Schimmel bedeckt',
  'mehr als die Hälfte mit Schimmel bedeckt',
  'ganz mit Schimmel bedeckt',
] as const;

const storingWords = {
  full: 'Die Platte war voll.',
  'read-only': 'Die Datenbank ließ sich nur lesen, nicht beschreiben.',
  busy: 'Ein anderes Programm hielt die Datenbank für sich.',
  unreachable: 'Die Datenbank war nicht zu erreichen.',
  failed: 'Die Datenbank ließ sich nicht beschreiben.',
} as const;

/** German of a notice, from its code and figures. */
export function deNoticeBody(w: Write): (notice: NoticeFacts, zone: string) => NoticeSaid {
  const advice = deAdvice(w);
  const sensor = deSensorFindings(w);

  function body(notice: NoticeFacts, zone: string): Body | null {
    const { code, data } = notice;
    const num = (name: string): number => Number(data[name]);
    const known = (name: string): boolean => typeof data[name] === 'number';
    const q = (name: string, unit: string, places: number): string => w.quantity(num(name), unit, places);
    const figure = (name: string, half: string, unit: string, places: number): string =>
      known(half) ? w.plusMinus({ value: num(name), plusMinus: num(half) }, unit, places) : q(name, unit, places);
    const count = (name: string, one: string, many: string): string =>
      Math.round(num(name)) === 1 ? `1 ${one}` : `${w.number(num(name))} ${many}`;
    const place = notice.place ?? '';
    const room = notice.room ?? '';
    const advise = (of: string, facts: Readonly<Record<string, string | number | null>>): string =>
      advice({ code: of, data: facts, message: '' });
    // as on the server: airing helps only where outdoors was the drier
    const airing = (name: string): string[] =>
      known('excessPa') && num('excessPa') <= 0
        ? []
        : [advise('ventilate', { room: name, excessPa: known('excessPa') ? num('excessPa') : null })];

    switch (code) {
      case 'condensation-ahead':
        return {
          title: `${place}: Heute Nacht kann sich Feuchte niederschlagen`,
          what: `Die Vorhersage für die Nacht zum ${w.when(zone, num('nightTo'), 'date')} lässt einen kleinsten Abstand zum Taupunkt von ${q('marginK', 'K', 1)} erwarten (${q('marginLowK', 'K', 1)} bis ${q('marginHighK', 'K', 1)} in 9 von 10 solchen Nächten), am ehesten gegen ${w.when(zone, num('likeliestAt'), 'time')} Uhr.`,
          whatToDo: [
            ...airing(room),
            `Heizen Sie die Nacht über weiter (${room}); schließen Sie die Tür zu Bad oder Küche, wenn dort gebadet oder gekocht wird.`,
          ],
        };
      case 'condensing-now':
        return {
          title: `${place}: Feuchte schlägt sich nieder`,
          what: `Die Oberfläche hatte ${q('surfaceC', '°C', 1)}, der Taupunkt der Raumluft (${room}) lag bei ${q('dewPointC', '°C', 1)}: ein Abstand von ${figure('marginK', 'marginPlusMinusK', 'K', 1)} ${
            data.live === true
              ? `nach den Messwerten von ${w.when(zone, num('readAt'), 'time')} Uhr. Ist die Stunde vorbei, bestätigt ihr Mittel das oder nimmt es zurück.`
              : `über ${count('hours', 'Stunde', 'Stunden')}.`
          }`,
          whatToDo: [advise('wipe', { place }), ...airing(room)],
        };
      case 'surface-damp':
        return {
          title: `${place}: bleibt feucht`,
          what: `In ${w.number(num('hours'))} der letzten ${w.number(num('ofHours'))} Stunden betrug die Feuchte an der Oberfläche ${q('limitPct', '%', 0)} oder mehr, höchstens ${q('highestPct', '%', 0)}. Bei solcher Feuchte kann Schimmel wachsen, ohne dass Wasser zu sehen ist.`,
          whatToDo: [
            ...airing(room),
            `Heizen Sie Tag und Nacht gleichmäßig (${room}), und lassen Sie etwas Luft zwischen Möbeln und der kalten Oberfläche.`,
          ],
        };
      case 'mould-stage':
        return {
          title: `${place}: Schimmelindex über Stufe ${w.number(num('stage'))} von 6`,
          what: `Der Schimmelindex, aus jeder Stunde seit Beginn der Messwerte wie für kartonbeschichtete Platten berechnet, erreichte ${w.number(num('index'), 1)} von 6: ${mouldStages[num('stage')]}.`,
          whatToDo: [
            data.visible === true
              ? `Sehen Sie sich die Stelle bei gutem Licht an (${place}). Wo Schimmel ist, lassen Sie ihn entfernen, bevor er verdeckt wird.`
              : `Sehen Sie sich die Stelle hin und wieder bei gutem Licht an (${place}), und halten Sie sie trockener: wärmere Oberfläche, weniger Feuchte in der Luft.`,
          ],
        };
      case 'hidden-layer-damp':
        return {
          title: `${place}: feucht im Verborgenen`,
          what: `In ${q('dampSharePct', '%', 0)} der letzten ${w.number(num('days'))} Tage betrug die Feuchte dort ${q('limitPct', '%', 0)} oder mehr; zuletzt ${figure('humidityPct', 'humidityPlusMinusPct', '%', 0)} bei ${q('temperatureC', '°C', 1)}.`,
          whatToDo: [advise('check-lining', { place, humidityPct: num('humidityPct') })],
        };
      case 'loft-wetter':
        return {
          title: `${place}: feuchter als ${known('beforePa') ? 'vor den Arbeiten' : 'durch die Außenluft erklärbar'}`,
          what: `Im Mittel von ${w.number(num('days'))} Tagen enthielt die Luft ${q('excessPa', 'Pa', 0)} mehr Wasserdampf als außen${known('beforePa') ? `; vor den Arbeiten waren es ${q('beforePa', 'Pa', 0)}` : ''}. Gemeldet ab ${q('limitPa', 'Pa', 0)}.`,
          whatToDo: [advise('check-eaves', { because: 'loft-air', place, excessPa: num('excessPa') })],
        };
      case 'timber-wet':
        return {
          title: `${place}: Holzfeuchte über ${q('limitPct', '%', 0)}`,
          what: `Das Mittel von ${w.number(num('hours'))} Stunden betrug ${q('moisturePct', '%', 1)} der Trockenmasse. Holz, das über ${q('limitPct', '%', 0)} bleibt, kann faulen.`,
          whatToDo: [advise('check-eaves', { because: 'timber', place, timberMoisturePct: num('moisturePct') })],
        };
      case 'room-too-cold':
        return {
          title: `${place}: zu kalt, um die Oberflächen trocken zu halten`,
          what: `Das Mittel von ${w.number(num('days'))} Tagen betrug ${q('roomC', '°C', 1)}, weniger als ${q('belowC', '°C', 1)}, bei ${q('outdoorsC', '°C', 1)} außen. In einem kalten Raum genügt gewöhnliche Feuchte, damit es feucht wird.`,
          whatToDo: [
            `Heizen Sie beständig, und sei es nur wenig (${place}): Ein Raum, der auskühlt, wird in seinen kältesten Ecken feucht.`,
          ],
        };
      case 'room-too-moist':
        return {
          title: `${place}: mehr Feuchte, als die Bauteile vertragen`,
          what: `Im Mittel von ${w.number(num('days'))} Tagen brachten ${q('roomC', '°C', 1)}${known('roomHumidityPct') ? ` und ${q('roomHumidityPct', '%', 0)}` : ''} im Raum eine Oberfläche (${data.surface}, ${q('surfaceC', '°C', 1)}) auf ${q('humidityPct', '%', 0)}.${
            known('factor') && known('factorWanted')
              ? ` Die Oberfläche hält ${w.number(num('factor'), 2)} des Wegs von der Außen- zur Raumtemperatur und bräuchte ${w.number(num('factorWanted'), 2)}.`
              : ''
          }`,
          whatToDo: [
            ...airing(place),
            'Trocknen Sie Wäsche anderswo, decken Sie Töpfe zu, lüften Sie nach dem Duschen. Wo das schon geschieht, muss sich die kalte Oberfläche ändern und nicht die Lebensweise.',
          ],
        };
      case 'sensor-trouble':
        return {
          title: `Sensor ${data.sensor} braucht einen Blick`,
          what: sensor({
            code: data.code,
            data,
            effect: { kind: data.effect },
            message: data.message,
            whatToDo: data.whatToDo,
          } as unknown as Parameters<typeof sensor>[0]),
          whatToDo: [],
        };
      case 'readings-stopped':
        return {
          title: 'Es kommen gar keine Messwerte',
          what: `Seit ${count('hours', 'Stunde', 'Stunden')} war von keinem Sensor etwas zu hören, also lässt sich auch nichts anderes beobachten.`,
          whatToDo: [
            'Prüfen Sie den Strom von Broker oder Router und das Netz; sehen Sie dann unter Sensoren und im Protokoll dieses Programms nach.',
          ],
        };
      case 'not-stored':
        return {
          title: 'Messwerte ließen sich nicht speichern',
          what: `${storingWords[data.fault as keyof typeof storingWords]} Nichts Bestätigtes ist verloren; was inzwischen gesendet wurde, blieb unbestätigt. Sensoren, die auf die Bestätigung warten, senden es noch einmal; bei den anderen bleibt eine Lücke.`,
          whatToDo: [
            data.fault === 'full'
              ? 'Schaffen Sie Platz auf der Platte des Rechners, auf dem coomb läuft. Das Speichern geht von selbst weiter.'
              : 'Sehen Sie im Protokoll dieses Programms nach, und lassen Sie coomb doctor nach der Ursache suchen. Das Speichern geht von selbst weiter.',
          ],
        };
      default:
        return null;
    }
  }

  const since = ({ begunAt, endedAt, endReason, withdrawn }: NoticeFacts, zone: string): string => {
    const begun = w.when(zone, begunAt, 'full');
    if (withdrawn) return `Gemeldet für ${begun}; spätere Messwerte zeigen, dass es nicht so war.`;
    if (endedAt === null) return `Seit ${begun}.`;
    const span = `Von ${begun} bis ${w.when(zone, endedAt, 'full')}, ${spanWords(msOf(endedAt) - msOf(begunAt))}.`;
    if (endReason === 'no-data') return `${span} Wie es weiterging, ist nicht bekannt: Seither kamen keine Messwerte.`;
    if (endReason === 'rule-off') return `${span} Darauf wird nicht mehr geachtet.`;
    return span;
  };

  const msOf = (instant: number | string): number => (typeof instant === 'string' ? Date.parse(instant) : instant);

  const spanWords = (ms: number): string => {
    const minutes = Math.round(ms / 60_000);
    if (minutes < 100) return `${minutes} ${minutes === 1 ? 'Minute' : 'Minuten'}`;
    const hours = Math.round(ms / 3_600_000);
    return hours < 72 ? `${hours} Stunden` : `${w.number(Math.round(hours / 24))} Tage`;
  };

  const howSure = ({ code, chance, howSure: english }: NoticeFacts): string => {
    switch (code) {
      case 'condensation-ahead':
        return `Wahrscheinlichkeit etwa ${w.quantity(100 * (chance ?? 0), '%', 0)}, nach dem, wie solche Nächte zuvor verliefen.`;
      case 'mould-stage':
        return 'Ein Modell des Schimmelwachstums, keine Sichtung: Der wirkliche Bewuchs kann eine Stufe höher oder niedriger liegen.';
      case 'loft-wetter':
        return `Ein Mittel vieler Tage, einzelne Messwerte zählen daher kaum; zwei übliche Feuchtesensoren können sich um etwa ${w.quantity(40, 'Pa', 0)} unterscheiden.`;
      case 'timber-wet':
        return `Einfache Holzfeuchtefühler irren um etwa ${w.quantity(2, '%', 0)}; der Verlauf sagt mehr als der einzelne Wert.`;
      case 'room-too-cold':
      case 'room-too-moist':
        return 'Ein Mittel vieler Messwerte: kaum zu bezweifeln, außer der Sensor hängt an einer ungewöhnlichen Stelle.';
      case 'sensor-trouble':
      case 'readings-stopped':
        return 'In den Messwerten selbst zu sehen.';
      case 'not-stored':
        return 'Vom Programm selbst bemerkt.';
      case 'condensing-now':
      case 'surface-damp':
      case 'hidden-layer-damp': {
        if (chance === null) return 'Wie weit diese Sensoren irren können, ist nicht bekannt.';
        const words =
          chance >= 0.95
            ? 'Fast sicher'
            : chance >= 0.8
              ? 'Wahrscheinlich'
              : chance >= 0.4
                ? 'Beides ist möglich, denn es liegt nahe an der Grenze'
                : 'Eher nicht';
        return `${words}, nach dem, wie weit die Sensoren irren können (${w.quantity(Math.min(99, Math.max(1, 100 * chance)), '%', 0)}).`;
      }
      default:
        return english;
    }
  };

  return (notice, zone) => ({
    ...(body(notice, zone) ?? notice),
    since: since(notice, zone),
    howSure: howSure(notice),
    cautions: notice.cautions.map(({ code, message }) => ({ code, message: deCautions[code] ?? message })),
  });
}
