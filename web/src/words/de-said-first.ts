import { byEnglish } from './by-english.ts';
import { deRefusals } from './de-refusals.ts';
import type { SaidFirst, Write } from './said.ts';

/** German for the states, headlines and problems of the server. */
export const deSaidFirst = (w: Write): SaidFirst => {
  const refusal = byEnglish(deRefusals, w.number);
  return {
    state({ kind, state, surfaceHumidity }) {
      switch (state.code) {
        case 'clear':
          return 'unbedenklich';
        case 'close':
          return 'nahe am Taupunkt';
        case 'risk':
          return surfaceHumidity === null
            ? 'Schimmel kann wachsen'
            : `${w.quantity(surfaceHumidity.value, '%', 0)} an der Oberfläche: Schimmel kann wachsen`;
        case 'condensing':
          return 'Feuchte schlägt sich nieder';
        case 'dry':
          return kind === 'loft-timber' ? `unter ${w.quantity(20, '%', 0)}` : `unter ${w.quantity(80, '%', 0)}`;
        case 'damp':
          return `feucht: ${w.quantity(80, '%', 0)} oder mehr`;
        case 'wet':
          return `über ${w.quantity(20, '%', 0)}: Holz kann faulen`;
        case 'as-measured':
          return state.tone === 'unknown' ? 'keine Raumfeuchte, um es zu beurteilen' : '';
        case 'stale':
          return 'zuletzt nichts gemeldet';
        case 'no-reading':
          return 'noch kein Messwert';
        case 'gap':
          return 'nicht gemessen';
      }
    },
    headline({ headlineAbout: { code, place } }) {
      switch (code) {
        case 'not-judged':
          return 'Keine Oberfläche lässt sich beurteilen.';
        case 'nothing-measured':
          return 'In dieser Stunde wurde nichts gemessen.';
        case 'no-readings':
          return 'Noch keine Messwerte.';
        case 'condensing':
          return `Feuchte schlägt sich nieder: ${place}.`;
        case 'risk':
          return `Zu feucht: ${place}.`;
        case 'close':
          return `Trocken, aber knapp: ${place}.`;
        case 'hidden':
          return `Im Raum trocken, im Verborgenen feucht: ${place}.`;
        case 'dry':
          return 'Trocken.';
      }
    },
    detail({ detail, headlineAbout: { code } }) {
      switch (code) {
        case 'not-judged':
          return 'Dafür braucht es einen frischen Messwert einer Deckenoberfläche und der Temperatur und Luftfeuchte des Raums.';
        case 'no-readings':
          return 'Schließen Sie einen Sensor an, oder lesen Sie eine Datei ein; wie, steht unter Sensoren.';
        default:
          return detail;
      }
    },
    problem: ({ code, detail, title }) => refusal(detail ?? '') ?? problems[code] ?? detail ?? title,
  };
};

const problems: Readonly<Record<string, string>> = {
  'bad-request': 'Die Anfrage ließ sich nicht verstehen. Prüfen Sie, was Sie eingegeben haben.',
  'sign-in-needed': 'Melden Sie sich erst an.',
  'sign-in-refused': 'Name oder Passphrase stimmt nicht.',
  'not-allowed': 'Dazu haben Sie keine Berechtigung.',
  'not-shared': 'Der Haushalt dieser Wohnung hat darin nicht oder nicht mehr eingewilligt.',
  'too-many-tries': 'Zu viele Versuche. Warten Sie einige Minuten.',
  'foreign-origin': 'Die Anfrage kommt von einer anderen Seite und wurde abgewiesen.',
  'not-found': 'Das gibt es hier nicht oder nicht mehr.',
  'method-not-allowed': 'Das geht hier nicht.',
  'already-there': 'Das gibt es schon. Wählen Sie einen anderen Namen oder Zeitpunkt.',
  'too-large': 'Zu viel auf einmal.',
  quarantined: 'Nichts in der Nachricht war brauchbar; sie wird aufgehoben.',
  'unsupported-media-type': 'Diese Art von Daten wird hier nicht angenommen.',
  'storage-unavailable': 'In die Datenbank lässt sich im Augenblick nicht schreiben.',
  failed: 'Im Programm ging etwas schief; es wurde protokolliert.',
};
