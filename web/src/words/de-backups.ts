import type { enBackups } from './en-backups.ts';
import type { Same } from './same.ts';

/** Text about backups, in German. */
export const deBackups: Same<typeof enBackups> = {
  title: 'Sicherungen',
  lead: 'Eine Sicherung enthält alles: Messwerte, Tagebuch, Fotos und den Schlüssel, mit dem Nachweispakete unterschrieben werden. Jede wird wieder gelesen und verglichen, bevor sie gilt.',
  after:
    'Danach ist alles, wie es damals war: Passphrasen, Passwörter der Geräte, und wer was sehen darf. Geteilte Links zu Berichten führen danach nirgends hin, damit keiner wieder offen ist, der seither zurückgenommen wurde; teilen Sie sie neu.',
  none: 'Es werden noch keine Sicherungen gemacht. Setzen Sie auf dem Rechner, auf dem dieses Programm läuft, COOMB_BACKUP_FOLDER auf einen Ordner, am besten auf einem anderen Datenträger, und starten Sie es neu.',
  elsewhere:
    'Messwerte, Tagebücher und Fotos aller Häuser liegen in einer PostgreSQL-Datenbank. Wer sie betreut, sichert sie mit pg_dump, auch während dieses Programm läuft, und hebt eine Kopie des Datenordners dieses Programms auf; darin liegt der Schlüssel, mit dem Nachweispakete unterschrieben werden.',
  where: (folder, hours, keep) => `Alle ${hours} Stunden nach ${folder}; die letzten ${keep} bleiben.`,
  sameDisk:
    'Dieser Ordner liegt auf demselben Datenträger wie die Messwerte: Fällt er aus, ist beides weg. Kopieren Sie Sicherungen ab und zu auf einen anderen.',
  secret:
    'Wer eine Sicherung hat, kann alles darin lesen und Pakete in Ihrem Namen unterschreiben. Bewahren Sie sie dort auf, wo nur Sie herankommen.',
  last: (time, size) => `Letzte: ${time}, ${size}, verglichen und gleich.`,
  nothingYet: 'Im Ordner ist noch keine.',
  failed: (time, why) => `${time}: Es konnte keine Sicherung gemacht werden. ${why}`,
  running: 'Eine Sicherung wird gemacht. Messwerte werden weiter angenommen.',
  make: 'Jetzt eine Sicherung machen',
  older: (count) => `Aufgehobene Sicherungen: ${count}`,
  columns: { at: 'Gemacht', size: 'Größe', name: 'Datei' },
  restore: 'Um zu einer zurückzukehren: Halten Sie das Programm an und rufen Sie auf',
};
