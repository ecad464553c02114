/** What a report is asked to show: the cause of a cold corner, proof that works helped, a season watched. */
export const reportKinds = ['cause', 'works', 'season'] as const;
export type ReportKind = (typeof reportKinds)[number];

/** Sizes of paper a report is set for. */
export const paperSizes = ['A4', 'Letter'] as const;
export type PaperSize = (typeof paperSizes)[number];
