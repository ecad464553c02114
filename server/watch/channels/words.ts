import { type MessageLanguage, messageLanguages } from '../../analysis/delivery-vocabulary.ts';

/** What every mail carries beside the message itself, and the page behind its link, in one language. */
export interface DeliveryWords {
  readonly why: (dwelling: string) => string;
  readonly indicates: string;
  /** before the link that stops the messages */
  readonly stop: string;
  /** where there is no link */
  readonly stopByAsking: string;
  readonly test: { readonly subject: (dwelling: string) => string; readonly text: (name: string) => string };
  readonly unsubscribe: {
    readonly title: string;
    readonly ask: (dwelling: string) => string;
    readonly confirm: string;
    readonly done: (dwelling: string) => string;
    readonly undo: string;
    readonly wrong: string;
  };
}

const en: DeliveryWords = {
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

const inLanguage: Readonly<Record<MessageLanguage, DeliveryWords>> = { en };

/** The words in a language (BCP 47), English where there are none. */
export function deliveryWords(language: string): DeliveryWords {
  const known = messageLanguages.find((one) => one === language.split('-')[0]);
  return inLanguage[known ?? 'en'];
}
