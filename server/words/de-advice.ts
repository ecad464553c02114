import type { Write } from './writing.ts';

export interface SpokenAdvice {
  readonly code: string;
  readonly data: Readonly<Record<string, string | number | null>>;
  /** its English, for a code that is not known yet */
  readonly message: string;
}

/** German of what to do about it, from its code and figures. */
export const deAdvice =
  (w: Write) =>
  ({ code, data, message }: SpokenAdvice): string => {
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
