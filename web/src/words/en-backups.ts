/** Text about backups, in English. */
export const enBackups = {
  title: 'Backups',
  lead: 'A backup holds everything: readings, diary, photos, and the key that signs evidence packs. Each is read back and compared before it counts.',
  after:
    'After going back to one, everything is as it was then: passphrases, devices’ passwords, and who may see what. Links to reports that were shared lead nowhere afterwards, so that none opens again that was taken back since; share them anew.',
  none: 'No backups are made yet. On the computer that runs this program, set COOMB_BACKUP_FOLDER to a folder, best on another disk, and restart it.',
  elsewhere:
    'Readings, diary and photos of all homes are kept in a PostgreSQL database. Whoever looks after it backs it up with pg_dump, also while this program runs, and keeps a copy of the data folder of this program, which holds the key that signs evidence packs.',
  where: (folder: string, hours: string, keep: string) =>
    `Made into ${folder} every ${hours} hours; the last ${keep} are kept.`,
  sameDisk:
    'That folder is on the same disk as the readings: if the disk dies, both are gone. Copy backups to another now and then.',
  secret:
    'Whoever has a backup can read everything in it and sign packs in your name. Keep it where only you can reach it.',
  last: (time: string, size: string) => `Last one: ${time}, ${size}, compared and found the same.`,
  nothingYet: 'There is none in the folder yet.',
  failed: (time: string, why: string) => `${time}: no backup could be made. ${why}`,
  running: 'A backup is being made. Readings are taken in meanwhile.',
  make: 'Make a backup now',
  older: (count: string) => `Kept backups: ${count}`,
  columns: { at: 'Made', size: 'Size', name: 'File' },
  restore: 'To go back to one: stop the program, then run',
};
