/** Text about plain exports in English. */
export const enExporting = {
  title: 'Plain exports',
  lead: 'The same span as a file for a spreadsheet or a program of yours: all places, with names, without proof. It may take a while.',
  what: {
    readings: 'Readings as they came, before any correction',
    hours: 'Hours as this program works them out, corrected',
  },
  formats: { csv: 'CSV', json: 'JSON Lines', parquet: 'Parquet' },
  save: (what: string, format: string) => `${what}: save as ${format}`,
  hint: 'Names of columns end in their unit. Times are UTC. An empty cell is unknown. In CSV, a text that a spreadsheet would take for a formula stands in quotation marks.',
};
