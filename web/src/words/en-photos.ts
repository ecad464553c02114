/** Text of the photos in the diary, in English. */
export const enPhotos = {
  photos: 'Photos',
  add: 'Add photos',
  addHint: (most: string) =>
    `JPEG, PNG or WebP, up to 20 MB each, ${most} at the most. Where and with what they were taken is taken out before they are kept.`,
  sending: (name: string, share: string) => `Sending ${name} … ${share}`,
  alt: 'What is to be seen',
  altHint: 'in a few words, for those who cannot see it, and for you in two years',
  untold: 'photo, not described yet',
  remove: (n: string) => `Take out photo ${n}`,
  takeOut: 'Take out',
  takenAt: (time: string) => `The photo says it was taken ${time}.`,
  useTime: 'Take that for the time of the note',
  noTime: 'The photo does not say when it was taken, or says what cannot be. Check the time of the note.',
  tooMany: (most: string) => `A note may have ${most} photos. The others were left out.`,
  failed: (name: string, why: string) => `${name}: ${why}`,
  open: (what: string) => `Show in full: ${what}`,
};
