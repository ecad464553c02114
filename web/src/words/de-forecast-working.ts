import type { enForecastWorking } from './en-forecast-working.ts';
import type { Same } from './same.ts';

/** How tonight's forecast of a surface was worked out, in German. */
export const deForecastWorking: Same<typeof enForecastWorking> = {
  chanceOf: (surface) => `Kondensat heute Nacht, ${surface}`,
  lowestOf: (surface) => `Kleinster Abstand heute Nacht, ${surface}`,
  chance:
    'Anteil der Verläufe, in denen der Abstand mindestens eine Stunde der Nacht bei 0 oder darunter liegt. Ein Verlauf ist die Nacht, wie sie erwartet wird, zuzüglich der Fehler, die dieselbe Vorhersage in einer vergangenen Nacht machte; jeder ist verwischt um das, was davon bleibt, und um das, was die Sensoren falsch gehen können',
  lowest:
    'Mitte der kleinsten Abstände der Verläufe. Ein Verlauf ist die Nacht, wie sie erwartet wird, Oberfläche minus Taupunkt Stunde für Stunde, zuzüglich der Fehler, die dieselbe Vorhersage in einer vergangenen Nacht machte. Oberfläche = kalte Seite + Achsenabschnitt + f (Raum - kalte Seite), beide verzögert',
  names: {
    pastNights: 'vergangene Nächte, deren Fehler addiert werden',
    pastRate: 'davon Nächte mit Kondensat',
    f: 'f der letzten Nächte',
    coldLag: 'Verzögerung der kalten Seite',
    roomLag: 'Verzögerung des Raums',
    hoursSeen: 'Stunden der Nacht, die vorbei sind',
    lowestSeen: 'kleinster Abstand darin',
    error: 'Standardabweichung früherer Fehler des kleinsten Abstands',
    sensors: 'Standardunsicherheit des Abstands durch die Sensoren',
    surface: 'zu dieser Stunde erwartet: Oberfläche',
    room: 'zu dieser Stunde erwartet: Raum',
    cold: 'zu dieser Stunde erwartet: kalte Seite',
    dewPoint: 'zu dieser Stunde erwartet: Taupunkt des Raums',
    basis: 'kalte Seite dieser Nacht',
    feed: 'Außenvorhersage vom',
  },
  chanceUncertain:
    'Sie ist schon eine Wahrscheinlichkeit. Wie oft solche in vergangenen Nächten eintrafen, steht unter den früheren Vorhersagen.',
  lowestUncertain:
    'Das Intervall enthält neun von zehn Verläufen: Frühere Fehler und Sensoren sind darin, eine Nacht wie keine zuvor ist es nicht.',
  source:
    'eigenes Verfahren; Fehler ganzer vergangener Nächte über einer Vorhersage: Efron & Tibshirani (1993), Kapitel 9; f: ISO 13788:2012, 3.1.2; Taupunkt: ISO 13788:2012, Anhang E',
};
