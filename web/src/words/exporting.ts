import { enExporting } from './en-exporting.ts';

/** Text about plain exports. It comes with its screen, not with the first. */
export const exportingWords: typeof enExporting = enExporting;
