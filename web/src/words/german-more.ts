/** German of all screens but the first. */
export { deAccess as access } from './de-access.ts';
export { deBackups as backups } from './de-backups.ts';
export { deCalibrating as calibrating } from './de-calibrating.ts';
export { deCharts as charts } from './de-charts.ts';
export { deComparing as comparing } from './de-comparing.ts';
export { deConnecting as connecting } from './de-connecting.ts';
export { deEvidence as evidence } from './de-evidence.ts';
export { deExporting as exporting } from './de-exporting.ts';
export { deForecastScore as forecastScore } from './de-forecast-score.ts';
export { deImporting as importing } from './de-importing.ts';
export { deLining as lining } from './de-lining.ts';
export { deNotices as notices } from './de-notices.ts';
export { dePhotos as photos } from './de-photos.ts';
export { dePlacing as placing } from './de-placing.ts';
export { deRecipients as recipients } from './de-recipients.ts';
export { deSaid as said } from './de-said.ts';
export { deSettings as settings } from './de-settings.ts';
