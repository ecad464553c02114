/** English of all screens but the first. */
export { enAccess as access } from './en-access.ts';
export { enBackups as backups } from './en-backups.ts';
export { enCalibrating as calibrating } from './en-calibrating.ts';
export { enCharts as charts } from './en-charts.ts';
export { enComparing as comparing } from './en-comparing.ts';
export { enConnecting as connecting } from './en-connecting.ts';
export { enEvidence as evidence } from './en-evidence.ts';
export { enExporting as exporting } from './en-exporting.ts';
export { enForecastScore as forecastScore } from './en-forecast-score.ts';
export { enImporting as importing } from './en-importing.ts';
export { enLining as lining } from './en-lining.ts';
export { enNotices as notices } from './en-notices.ts';
export { enPhotos as photos } from './en-photos.ts';
export { enPlacing as placing } from './en-placing.ts';
export { enRecipients as recipients } from './en-recipients.ts';
export { enSaid as said } from './en-said.ts';
export { enSettings as settings } from './en-settings.ts';
