import type { Row } from './by-english.ts';

/** German of the rule behind each finding of a comparison. */
const rules: Readonly<Record<string, string>> = {
  'a phase of the kind before must exist': 'es muss eine Phase der Art „vorher“ geben',
  'a phase of the kind after must exist': 'es muss eine Phase der Art „nachher“ geben',
  'a phase must end after it begins': 'eine Phase muss enden, nachdem sie begonnen hat',
  'a phase must be at least an hour long': 'eine Phase muss mindestens eine Stunde dauern',
  'a phase must have begun by the last known hour': 'eine Phase muss bis zur letzten bekannten Stunde begonnen haben',
  'the two phases must have no hour in common': 'die beiden Phasen dürfen keine Stunde gemeinsam haben',
  'the after phase must begin after the before phase ends':
    'die Phase „nachher“ muss nach dem Ende der Phase „vorher“ beginnen',
  'a setting must lie between its lowest and highest value':
    'eine Einstellung muss zwischen ihrem kleinsten und größten Wert liegen',
  'the time zone must be one of the IANA list': 'die Zeitzone muss in der IANA-Liste stehen',
  'the mean day outdoors must be warmest between 9:00 and 20:00':
    'der mittlere Tag muss außen zwischen 9:00 und 20:00 am wärmsten sein',
  'the surface must have a temperature in both phases': 'die Oberfläche muss in beiden Phasen eine Temperatur haben',
  'the room must have a temperature in both phases': 'der Raum muss in beiden Phasen eine Temperatur haben',
  'outdoor air must have a temperature in both phases': 'die Außenluft muss in beiden Phasen eine Temperatur haben',
  'humidity of the room, and outdoors, must be known for what rests on it':
    'die Luftfeuchte im Raum und außen muss für alles bekannt sein, was darauf beruht',
  'a published target holds only against outdoor air': 'ein veröffentlichter Zielwert gilt nur gegen Außenluft',
  'nights with surface, room and cold side known, against the nights needed; twice as many are wanted':
    'Nächte, in denen Oberfläche, Raum und kalte Seite bekannt sind, gegen die nötigen; doppelt so viele sind erwünscht',
  '100 × hours known / hours of the phase; under 80 % weakens the evidence':
    '100 × bekannte Stunden / Stunden des Abschnitts; unter 80 % schwächt die Belege',
  'mean room - cold difference in the nights used, against what gives a sharp figure':
    'mittlerer Unterschied Raum - kalte Seite in den verwendeten Nächten, gegen den, ab dem der Wert scharf wird',
  'f with and without the last day, and of the first and the last two thirds of the days, must not differ by more than is allowed (ISO 9869-1:2014, 7.1)':
    'f mit und ohne den letzten Tag und f der ersten und der letzten zwei Drittel der Tage dürfen sich um nicht mehr als erlaubt unterscheiden (ISO 9869-1:2014, 7.1)',
  'half the 95 % interval of f, against the widest that allows a verdict':
    'halbes 95-%-Intervall von f, gegen das weiteste, das ein Urteil erlaubt',
  'f as a ratio and f as a slope must agree within chance and sensor offsets, and 0.05':
    'f als Verhältnis und f als Steigung müssen bis auf Zufall und Versatz der Sensoren, und 0,05, übereinstimmen',
  'half of the hours after must have a room - cold difference that also occurred before':
    'die Hälfte der Stunden nachher muss einen Unterschied Raum - kalte Seite haben, den es auch vorher gab',
  'placements that begin or end within the phase, or a lasting step in the f of the nights':
    'Aufstellungen, die innerhalb des Abschnitts beginnen oder enden, oder ein bleibender Sprung im f der Nächte',
  'calibrations that begin to apply within the phase':
    'Kalibrierungen, die innerhalb des Abschnitts zu gelten beginnen',
  'hours of the phase that fall into the works': 'Stunden des Abschnitts, die in die Arbeiten fallen',
  'hours of the phase that fall into the drying out': 'Stunden des Abschnitts, die in das Austrocknen fallen',
  'a place of the kind control surface should be watched': 'ein Ort der Art Kontrollfläche sollte beobachtet werden',
  'the control surface needs as many nights as the treated one':
    'die Kontrollfläche braucht so viele Nächte wie die behandelte',
  'change of the treated surface less change of the control surface, against the change shown alone':
    'Änderung der behandelten Oberfläche minus Änderung der Kontrollfläche, gegen die Änderung für sich allein',
  'errors of the fitted model by the hour, as a share of the drop room - surface, against ASHRAE Guideline 14-2014':
    'stündliche Fehler des angepassten Modells als Anteil des Abfalls Raum - Oberfläche, gegen ASHRAE Guideline 14-2014',
  'share of the hours after whose room - cold difference lies over 5 K outside what was fitted':
    'Anteil der Stunden nachher, deren Unterschied Raum - kalte Seite mehr als 5 K außerhalb des Angepassten liegt',
  'mean surface - room difference at night, which may not pass 0.5 K':
    'mittlerer nächtlicher Unterschied Oberfläche - Raum, der 0,5 K nicht übersteigen darf',
  'the interval of f must touch the span from 0 to 1': 'das Intervall von f muss den Bereich von 0 bis 1 berühren',
  'a living place does not read the same in every hour': 'ein bewohnter Ort zeigt nicht in jeder Stunde dasselbe',
  'two places may not share a sensor, nor 95 % of their readings':
    'zwei Orte dürfen weder einen Sensor noch 95 % ihrer Messwerte gemeinsam haben',
  'there must be risk hours before to share out': 'vorher muss es Risikostunden geben, die sich aufteilen lassen',
  'a sensor without a calibration or a known type is taken to be as good as a cheap data sheet says':
    'ein Sensor ohne Kalibrierung und bekannten Typ gilt für so gut, wie ein einfaches Datenblatt sagt',
  'a loft sensor should be there to see whether trouble moved':
    'ein Sensor im Dachboden sollte da sein, um zu sehen, ob das Problem wanderte',
  'a sensor behind the lining should be there to see whether trouble moved':
    'ein Sensor hinter der Verkleidung sollte da sein, um zu sehen, ob das Problem wanderte',
};

/** German of the names of the figures a finding is judged by, as the working spells them. */
const inputs: Readonly<Record<string, string>> = {
  'against day earlier': 'gegen den Vortag',
  allowed: 'erlaubt',
  'by chance': 'durch Zufall',
  'by offsets': 'durch Versatz',
  'control change': 'Änderung der Kontrollfläche',
  coverage: 'Abdeckung',
  'cut short': 'gekürzt',
  'cv rmse': 'Streuung des Modells',
  'cv rmse limit': 'Grenze der Streuung',
  days: 'Tage',
  'days ahead': 'Tage voraus',
  'difference in differences': 'Differenz der Differenzen',
  f: 'f',
  'f first': 'f zuerst',
  'f then': 'f danach',
  'first against last': 'erste gegen letzte zwei Drittel',
  'fitted from': 'angepasst von',
  'fitted to': 'angepasst bis',
  'half interval': 'halbes Intervall',
  high: 'höchstens',
  'hours left out': 'ausgelassene Stunden',
  'longest stretch hours': 'längster Abschnitt, Stunden',
  low: 'mindestens',
  'lowest coverage': 'kleinste Abdeckung',
  'mean difference': 'mittlerer Unterschied',
  moves: 'Umstellungen',
  names: 'Namen',
  night: 'Nacht',
  'nights needed': 'nötige Nächte',
  'nights wanted': 'erwünschte Nächte',
  nmbe: 'mittlere Abweichung des Modells',
  'nmbe limit': 'Grenze der mittleren Abweichung',
  'other place': 'anderer Ort',
  outside: 'außerhalb',
  overlap: 'Überschneidung',
  'overlap hours': 'gemeinsame Stunden',
  phase: 'Phase',
  place: 'Ort',
  places: 'Orte',
  ratio: 'Verhältnis',
  recalibrations: 'neue Kalibrierungen',
  setting: 'Einstellung',
  shared: 'gemeinsam',
  slope: 'Steigung',
  temperature: 'Temperatur',
  'treated change': 'Änderung der behandelten Oberfläche',
  treated: 'behandelt',
  'useful difference': 'nötiger Unterschied',
  value: 'Wert',
  warmer: 'wärmer um',
  'warmest hour': 'wärmste Stunde',
  'widest half interval': 'weitestes halbes Intervall',
  zone: 'Zeitzone',
  both: 'beide',
  before: 'vorher',
  after: 'nachher',
  'not one alone': 'keiner allein',
};

export const deFindingRules: readonly Row[] = [rules, inputs].flatMap((of) => Object.entries(of));
