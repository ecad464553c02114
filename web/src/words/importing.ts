import { enImporting } from './en-importing.ts';

export const importingWords: typeof enImporting = enImporting;
