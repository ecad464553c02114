import { enBackups } from './en-backups.ts';

export const backupWords: typeof enBackups = enBackups;
