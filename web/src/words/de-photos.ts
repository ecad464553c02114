import type { enPhotos } from './en-photos.ts';
import type { Same } from './same.ts';

/** Text of the photos in the diary, in German. */
export const dePhotos: Same<typeof enPhotos> = {
  photos: 'Fotos',
  add: 'Fotos hinzufügen',
  addHint: (most) =>
    `JPEG, PNG oder WebP, je bis 20 MB, höchstens ${most}. Wo und womit sie aufgenommen wurden, wird vor dem Aufheben entfernt.`,
  sending: (name, share) => `${name} wird gesendet … ${share}`,
  alt: 'Was zu sehen ist',
  altHint: 'in wenigen Worten, für alle, die es nicht sehen können, und für Sie in zwei Jahren',
  untold: 'Foto, noch nicht beschrieben',
  remove: (n) => `Foto ${n} herausnehmen`,
  takeOut: 'Herausnehmen',
  takenAt: (time) => `Laut Foto aufgenommen ${time}.`,
  useTime: 'Als Zeit der Notiz übernehmen',
  noTime:
    'Das Foto sagt nicht, wann es aufgenommen wurde, oder nennt eine unmögliche Zeit. Prüfen Sie die Zeit der Notiz.',
  tooMany: (most) => `Eine Notiz kann ${most} Fotos haben. Die übrigen wurden weggelassen.`,
  failed: (name, why) => `${name}: ${why}`,
  open: (what) => `In voller Größe zeigen: ${what}`,
};
