import type { Finding } from '../../../server/api/contract/comparison.ts';
import { byEnglish } from './by-english.ts';
import { deCautions } from './de-cautions.ts';
import { deFindingRules } from './de-finding-rules.ts';
import { deFindings } from './de-findings.ts';
import { deLiningNotices } from './de-lining-notices.ts';
import { deNoticeBody } from './de-notice-body.ts';
import { deSensorFindings } from './de-sensor-findings.ts';
import { deSentences } from './de-sentences.ts';
import { deTerms } from './de-terms.ts';
import { deVerdict } from './de-verdict.ts';
import { deWorkings } from './de-workings.ts';
import type { Said, Write } from './said.ts';

/** German for what the server says, from codes and figures. */
export const deSaid = (w: Write): Said => {
  const known = byEnglish([...deTerms, ...deWorkings, ...deFindingRules, ...deSentences], w.number);
  const term = (english: string): string => known(english) ?? english;
  const findings = deFindings(w);
  const finding = (one: Finding): string => findings[one.code]?.(one)[0] ?? one.message;
  const mend = (one: Finding): string | null => (one.mend === null ? null : (findings[one.code]?.(one)[1] ?? one.mend));
  const advice: Said['advice'] = ({ code, data, message }) => {
    const number = (name: string): number => Number(data[name]);
    switch (code) {
      case 'wipe':
        return `Trocknen: ${data.place}. Wischen Sie das Wasser ab und wringen Sie das Tuch über einem Abfluss aus, damit das Wasser nicht zurück in die Luft gelangt.`;
      case 'ventilate':
        return data.excessPa === null
          ? `Öffnen Sie die Fenster zehn Minuten weit und schließen Sie sie dann (${data.room}). Die Außenluft wird hier nicht gemessen; bei kaltem Wetter ist sie fast immer trockener.`
          : `Öffnen Sie die Fenster zehn Minuten weit und schließen Sie sie dann (${data.room}). Die Außenluft enthält ${w.quantity(number('excessPa'), 'Pa', 0)} weniger Wasserdampf.`;
      case 'open-door':
        return `Lassen Sie die Tür offen zwischen ${data.room} und ${data.otherRoom}: Dort ist es ${w.quantity(number('warmerByK'), 'K', 1)} wärmer und nicht feuchter.`;
      case 'heat':
        return number('shortOfK') > 0
          ? `Heizen Sie gleichmäßig (${data.room}, jetzt ${w.quantity(number('roomTemperatureC'), '°C', 1)}): Für die Feuchte in der Luft fehlen an der Stelle ${data.place} noch ${w.quantity(number('shortOfK'), 'K', 1)}.`
          : `Heizen Sie die Nacht über gleichmäßig (${data.room}, jetzt ${w.quantity(number('roomTemperatureC'), '°C', 1)}): ${data.place} folgt der Raumtemperatur.`;
      case 'check-eaves':
        return data.because === 'timber'
          ? `Sehen Sie im Dachboden nach: ${data.place} enthält ${w.quantity(number('timberMoisturePct'), '%', 1)} Feuchte, mehr als ${w.quantity(20, '%', 0)}. Suchen Sie nach Undichtheiten, und prüfen Sie, ob der Luftspalt an der Traufe auf ganzer Länge offen ist.`
          : `Prüfen Sie, ob der Luftspalt an der Traufe auf ganzer Länge offen ist: ${data.place} ist feucht und enthält ${w.quantity(number('excessPa'), 'Pa', 0)} mehr Wasserdampf als die Außenluft. Es kann auch Raumluft einströmen, an der Luke oder an Lampen.`;
      case 'check-lining':
        return `Behalten Sie ${data.place} im Auge: ${w.quantity(number('humidityPct'), '%', 0)}. Eine feuchte Nacht ist kein Mangel; bleibt es wochenlang so, prüfen Sie, ob Fugen, Ränder und Befestigungen auf der Raumseite dicht sind.`;
      case 'check-sensors':
        return data.count === 1
          ? `Sehen Sie nach dem Sensor: ${data.places}. Er hat sich zuletzt nicht gemeldet, und was nicht gemessen wird, lässt sich nicht beurteilen.`
          : `Sehen Sie nach den Sensoren an diesen Orten: ${data.places}. Sie haben sich zuletzt nicht gemeldet, und was nicht gemessen wird, lässt sich nicht beurteilen.`;
      default:
        return message;
    }
  };
  return {
    finding,
    mend,
    ...deVerdict(w, finding, mend, term),
    sensor: deSensorFindings(w),
    advice,
    lining: deLiningNotices(w),
    notice: deNoticeBody(w, advice),
    caution: ({ code, message }) => deCautions[code] ?? message,
    forecastReason: ({ code, data, message }) => {
      const { hours, nights, nightsWanted } = data;
      const silent = (what: string): string =>
        `${what} hat sich seit ${hours} Stunden nicht gemeldet: Sehen Sie nach Batterie oder Funk.`;
      switch (code) {
        case 'room-missing':
          return 'Es gibt keine Raumluft, um diese Oberfläche zu beurteilen: Legen Sie den Raum an und ordnen Sie ihm einen Sensor zu.';
        case 'humidity-missing':
          return `Die Luftfeuchte des Raums wurde seit ${hours} Stunden nicht gemeldet: Ohne sie ist der Taupunkt nicht bekannt.`;
        case 'cold-side-missing':
          return 'Auf der kalten Seite wird nichts gemessen: Setzen Sie einen Sensor ins Freie, in den Schatten, oder wenigstens in den Dachboden.';
        case 'surface-silent':
          return silent('Der Sensor der Oberfläche');
        case 'room-silent':
          return silent('Der Sensor des Raums');
        case 'cold-side-silent':
          return silent('Der Sensor auf der kalten Seite');
        case 'few-nights':
          return `Seit die Decke ist, wie sie ist, sind erst ${nights} Nächte bekannt; es braucht ${nightsWanted}, um zu wissen, wie falsch eine Vorhersage sein kann.`;
        case 'no-response':
          return `Wie die Oberfläche der Luft auf beiden Seiten folgt, lässt sich noch nicht sagen: Es braucht etwa ${nightsWanted} Nächte mit allen drei Sensoren.`;
        default:
          return message;
      }
    },
    term,
  };
};
