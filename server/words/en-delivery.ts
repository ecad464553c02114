import type { DeliveryWords } from './delivery-words.ts';

export const enDelivery: DeliveryWords = {
  tag: 'en-GB',
  lead: { begun: '', reminder: 'Still so: ', ended: 'Over: ', withdrawn: 'Taken back: ' },
  summary: {
    quiet: 'the week in short: all quiet',
    open: (count) => `the week in short: ${count} going on`,
    nothingOpen: 'Nothing needs you at the moment.',
    goingOn: 'Going on now:',
    nothingPast: 'Nothing else came up this week.',
    past: 'Came and went this week:',
    more: (count) => `and ${count} more`,
  },
  digest: {
    subject: (dwelling, date) => `${dwelling}: seal of ${date}`,
    text: ({ dwelling, date, day, readings, entry }) => [
      `The readings of ${dwelling} that arrived on ${date} (UTC) were sealed: ${readings} of them.`,
      `Entry of the chain: ${entry}`,
      `Keep this message. Whoever is later given an evidence pack of this home compares this entry with the line of ${day} in chain.csv: if it is the same, no reading of that day or of any day before it was changed since.`,
    ],
  },
  why: (dwelling) => `You get this because your address was put down for word of ${dwelling}.`,
  indicates: 'coomb indicates; it does not certify, and is no medical or legal advice.',
  stop: 'To stop these messages:',
  stopByAsking: 'To stop these messages, ask whoever looks after coomb there.',
  test: {
    subject: (dwelling) => `Test from coomb: ${dwelling}`,
    text: (name) =>
      `Hello ${name},\n\nthis is a test. If you can read it, word of damp will reach you here. There is nothing you have to do.`,
  },
  unsubscribe: {
    title: 'Stop these messages',
    ask: (dwelling) => `Stop all messages from coomb about ${dwelling} to this address?`,
    confirm: 'Stop the messages',
    done: (dwelling) => `You will get no more messages about ${dwelling}.`,
    undo: 'If that was a mistake, ask whoever looks after coomb there to switch them on again.',
    wrong:
      'This link does not stop anything: it is not complete, or its recipient has been removed. Copy the whole link from the message.',
  },
};
