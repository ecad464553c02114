import type { enExporting } from './en-exporting.ts';
import type { Same } from './same.ts';

/** Text about plain exports in German. */
export const deExporting: Same<typeof enExporting> = {
  title: 'Einfache Ausgabe',
  lead: 'Derselbe Zeitraum als Datei für eine Tabellenkalkulation oder ein eigenes Programm: alle Orte, mit Namen, ohne Nachweis. Es kann eine Weile dauern.',
  what: {
    readings: 'Messwerte, wie sie kamen, vor jeder Korrektur',
    hours: 'Stundenwerte, wie dieses Programm sie berechnet, korrigiert',
  },
  formats: { csv: 'CSV', json: 'JSON Lines', parquet: 'Parquet' },
  save: (what, format) => `${what}: als ${format} speichern`,
  hint: 'Die Namen der Spalten enden auf die Einheit. Zeiten sind in UTC. Eine leere Zelle heißt unbekannt. In CSV steht ein Text, den eine Tabellenkalkulation für eine Formel halten könnte, in Anführungszeichen.',
};
