import { enSettings } from './en-settings.ts';

export const settingsWords: typeof enSettings = enSettings;
