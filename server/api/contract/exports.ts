import { z } from 'zod';
import { exportedKinds, exportFormatNames } from '../../analysis/export-vocabulary.ts';

/** What is exported, and as what. */
export const exportWanted = {
  what: z.enum(exportedKinds).meta({ description: 'raw readings as they came, or hour records' }),
  format: z
    .enum(exportFormatNames)
    .default('csv')
    .meta({ description: 'csv: RFC 4180, cells as in an evidence pack; json: JSON Lines, an object a line; parquet' }),
};
