/** Text about the evidence pack in English. */
export const enEvidence = {
  title: 'Evidence',
  lead: 'Make one file with the readings, everything that was done to them, and every figure. Whoever gets it can check the figures without this program and without trusting you.',
  caution:
    'When people were at home, asleep or away can be read out of temperature and humidity. Give the file only to people who may know that.',
  from: 'From',
  to: 'Until',
  places: 'Places',
  placesHint: 'A place brings along those its figures rest on: the room it faces, outdoors, the loft.',
  everything: 'All places',
  some: 'Only these',
  words: 'Names, notes and photos',
  withWords: 'Include names, notes, photos and messages that were not understood',
  withoutWords: 'Leave them out: places and sensors get numbers',
  inside: 'What will be in it',
  place: 'Place',
  known: 'Hours known',
  comesAlong: 'comes along',
  knownOf: (share: string, known: string, hours: string) => `${share} (${known} of ${hours} h)`,
  counts: (notes: number, photos: number, calibrations: number) =>
    [
      `${calibrations} ${calibrations === 1 ? 'calibration' : 'calibrations'}`,
      `${notes} ${notes === 1 ? 'note' : 'notes'}`,
      `${photos} ${photos === 1 ? 'photo' : 'photos'}`,
    ].join(', '),
  size: (size: string) => `About ${size}.`,
  sealed: (first: string, last: string, days: number) =>
    `Sealed against later change: what arrived from ${first} to ${last}, ${days} ${days === 1 ? 'day' : 'days'}. Readings that arrived before were not sealed.`,
  notSealed:
    'No day is sealed yet. Each day is sealed once it has passed; from then on a change of its readings shows.',
  proof:
    'The seal shows later changes, but whoever owns this computer could make everything anew. To rule that out, let somebody else keep an entry of the chain as the days pass.',
  key: 'It will be signed with the key of this computer. Tell the other side this fingerprint by telephone or on paper:',
  make: 'Make the pack',
  making: 'Making the pack',
  steps: {
    waiting: 'Beginning',
    copying: 'Copying readings',
    hours: 'Working out the hours',
    figures: 'Working out the figures',
    writing: 'Writing the file',
  },
  stop: 'Stop',
  stopped: 'Stopped. Nothing was kept.',
  ready: (size: string) => `The pack is ready: ${size}. It stays here for an hour.`,
  download: 'Save the pack',
  failed: (why: string) => `The pack could not be made: ${why}`,
  howToCheck:
    'The pack holds a README that says in plain steps how to check it, with common tools or with the script inside.',
  notChosen: 'Choose from when until when, and at least one place.',
};
