/** What can be exported plainly: raw readings as they came, or hour records. */
export const exportedKinds = ['readings', 'hours'] as const;
export type ExportedKind = (typeof exportedKinds)[number];

/** As what: a table of text, JSON Lines, or Apache Parquet. */
export const exportFormatNames = ['csv', 'json', 'parquet'] as const;
export type ExportFormatName = (typeof exportFormatNames)[number];
