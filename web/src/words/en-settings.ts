import type { Preferences } from '../preferences.ts';

/** Text of the settings, in English. */
export const enSettings = {
  lead: 'What belongs to the home is kept with its readings. What belongs to you is kept in this browser alone.',
  yours: 'For you, in this browser',
  home: 'The home',
  name: 'Name',
  zone: 'Time zone',
  zoneHint: 'as in Europe/London; nights and days are counted by its clock',
  slug: 'Short name for topics',
  slugFixed: 'It stands in the topics of the sensors and cannot be changed.',
  section: 'The drawing',
  sectionLead:
    'The section is drawn to scale from these. They change the drawing, not the figures. Saved as they are, they count as yours.',
  sectionSaved: 'The drawing was changed.',
  labels: {
    temperature: 'Temperatures',
    language: 'Language, numbers and dates',
    theme: 'Light or dark',
    contrast: 'Contrast',
  } satisfies Record<keyof Preferences, string>,
  options: {
    temperature: { celsius: '°C, differences in K', fahrenheit: '°F, differences in °F' },
    language: {
      browser: 'as this browser asks for',
      'en-GB': 'English (UK)',
      'en-US': 'English (US)',
      'de-DE': 'Deutsch (Deutschland)',
      'de-AT': 'Deutsch (Österreich)',
      'de-CH': 'Deutsch (Schweiz)',
    },
    theme: { automatic: 'as the device', light: 'light', dark: 'dark' },
    contrast: { automatic: 'as the device', more: 'high' },
  } satisfies { [K in keyof Preferences]: Record<Preferences[K], string> },
  sample: (temperature: string, difference: string, time: string) =>
    `So it looks: ${temperature}, ${difference} above dew point, ${time}.`,
  temperatureNote: 'Sentences that the program writes, workings and files keep °C and K, as the standards do.',
  limits: 'Limits in use',
  limitsLead: 'Where the words on the screens begin. They are the program’s, not this browser’s.',
  limitColumns: { what: 'What', limit: 'Limit', source: 'Source' },
  limitRows: {
    risk: {
      what: 'Risk hour',
      limit: (humidity: string, freezing: string) =>
        `surface humidity of ${humidity} or more, the surface above ${freezing}`,
      source: 'ISO 13788:2012, 5.3: there a monthly mean; hours are an indicator',
    },
    condensation: {
      what: 'Condensation hour',
      limit: (margin: string) => `dew-point margin of ${margin} or less`,
      source: 'what a dew point is',
    },
    timber: {
      what: 'Wet timber',
      limit: (moisture: string) => `more than ${moisture} of its dry mass`,
      source: 'common practice',
    },
    night: {
      what: 'Night',
      limit: (from: string, to: string) => `${from} to ${to} by the clock of the home`,
      source: 'our own choice',
    },
  },
  offline: 'Without a connection',
  offlineReady: 'This page is kept on this device, and so is what it last showed.',
  offlineNot: 'This page is not kept on this device: browsers allow it only at the address localhost or over https.',
  forget: 'Forget what is kept here',
  forgot: 'What was kept on this device is gone.',
};
