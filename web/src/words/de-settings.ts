import type { enSettings } from './en-settings.ts';
import type { Same } from './same.ts';

/** Text of the settings, in German. */
export const deSettings: Same<typeof enSettings> = {
  lead: 'Was zum Zuhause gehört, wird mit seinen Messwerten aufbewahrt. Was zu Ihnen gehört, bleibt allein in diesem Browser.',
  yours: 'Für Sie, in diesem Browser',
  home: 'Das Zuhause',
  name: 'Name',
  zone: 'Zeitzone',
  zoneHint: 'etwa Europe/Berlin; Nächte und Tage werden nach ihrer Uhr gezählt',
  slug: 'Kurzname für Topics',
  slugFixed: 'Er steht in den Topics der Sensoren und lässt sich nicht ändern.',
  section: 'Die Zeichnung',
  sectionLead:
    'Der Schnitt wird nach diesen Maßen maßstäblich gezeichnet. Sie ändern die Zeichnung, nicht die Werte. So gespeichert, wie sie sind, gelten sie als Ihre.',
  sectionSaved: 'Die Zeichnung wurde geändert.',
  labels: {
    temperature: 'Temperaturen',
    language: 'Sprache, Zahlen und Daten',
    theme: 'Hell oder dunkel',
    contrast: 'Kontrast',
  },
  options: {
    temperature: { celsius: '°C, Unterschiede in K', fahrenheit: '°F, Unterschiede in °F' },
    language: {
      browser: 'wie dieser Browser es wünscht',
      'en-GB': 'English (UK)',
      'en-US': 'English (US)',
      'de-DE': 'Deutsch (Deutschland)',
      'de-AT': 'Deutsch (Österreich)',
      'de-CH': 'Deutsch (Schweiz)',
    },
    theme: { automatic: 'wie das Gerät', light: 'hell', dark: 'dunkel' },
    contrast: { automatic: 'wie das Gerät', more: 'hoch' },
  },
  sample: (temperature, difference, time) =>
    `So sieht es aus: ${temperature}, ${difference} über dem Taupunkt, ${time}.`,
  temperatureNote: 'Rechenwege und Dateien behalten °C und K, wie die Normen.',
  limits: 'Geltende Grenzwerte',
  limitsLead: 'Ab wo die Worte in den Ansichten gelten. Sie gehören zum Programm, nicht zu diesem Browser.',
  limitColumns: { what: 'Was', limit: 'Grenze', source: 'Quelle' },
  limitRows: {
    risk: {
      what: 'Risikostunde',
      limit: (humidity, freezing) => `Oberflächenfeuchte von ${humidity} oder mehr, die Oberfläche über ${freezing}`,
      source: 'ISO 13788:2012, 5.3: dort ein Monatsmittel; Stunden sind ein Anhaltspunkt',
    },
    condensation: {
      what: 'Kondensatstunde',
      limit: (margin) => `Abstand zum Taupunkt von ${margin} oder weniger`,
      source: 'die Bedeutung des Taupunkts',
    },
    timber: {
      what: 'Nasses Holz',
      limit: (moisture) => `mehr als ${moisture} seiner Trockenmasse`,
      source: 'übliche Praxis',
    },
    night: {
      what: 'Nacht',
      limit: (from, to) => `${from} bis ${to} Uhr nach der Uhr des Zuhauses`,
      source: 'eigene Festlegung',
    },
  },
  offline: 'Ohne Verbindung',
  offlineReady: 'Diese Seite ist auf diesem Gerät aufgehoben, ebenso was sie zuletzt gezeigt hat.',
  offlineNot:
    'Diese Seite ist nicht auf diesem Gerät aufgehoben: Browser erlauben das nur unter der Adresse localhost oder über https.',
  forget: 'Hier Aufgehobenes vergessen',
  forgot: 'Was auf diesem Gerät aufgehoben war, ist gelöscht.',
};
