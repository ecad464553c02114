import express, { type Response, type Router } from 'express';
import type { OutboxStore, Store } from '../store/port.ts';
import { readUnsubscribeToken } from '../watch/installation-key.ts';
import { deliveryWords } from '../words/delivery.ts';
import type { DeliveryWords } from '../words/delivery-words.ts';
import { escaped } from '../words/escaped.ts';

export interface UnsubscribeParts {
  readonly store: Pick<OutboxStore, 'recipients' | 'changeRecipient' | 'installationKey'> & Pick<Store, 'dwellings'>;
  readonly clock: () => number;
  /** something about the recipients of a dwelling changed */
  readonly changed: (dwellingId: number) => void;
}

const STYLE = `
:root { color-scheme: light dark; }
body { max-width: 34rem; margin: 3rem auto; padding: 0 1.25rem; font: 1.0625rem/1.5 Georgia, serif; color: #24211c; background: #faf7f0; }
h1 { font-weight: normal; font-size: 1.6rem; }
button { font: inherit; padding: .6rem 1.1rem; color: #faf7f0; background: #24211c; border: 1px solid #24211c; border-radius: 2px; cursor: pointer; }
button:focus-visible { outline: 3px solid #b3541e; outline-offset: 2px; }
@media (prefers-color-scheme: dark) {
  body { color: #ece6da; background: #1b1915; }
  button { color: #1b1915; background: #ece6da; border-color: #ece6da; }
}
`;

/**
 * The page behind the link in every mail. It needs no sign-in: who has the link was sent it. Looking at it changes nothing
 * (mail programs look at links by themselves); its button, or one click in a mail program (RFC 8058), stops the messages.
 */
export function unsubscribeRouter({ store, clock, changed }: UnsubscribeParts): Router {
  const router = express.Router();

  async function speaksFor(token: string) {
    const link = readUnsubscribeToken(await store.installationKey(), token);
    const dwelling = link && (await store.dwellings()).find(({ id }) => id === link.dwellingId);
    if (!link || !dwelling) return null;
    const recipient = (await store.recipients(dwelling.id)).find(({ id }) => id === link.recipientId);
    return recipient === undefined ? null : { dwelling, recipient, words: deliveryWords(recipient.language) };
  }

  router.use((_request, response, next) => {
    response.set({ 'cache-control': 'no-store', 'referrer-policy': 'no-referrer', 'x-robots-tag': 'noindex' });
    next();
  });

  router.get('/page.css', (_request, response) => {
    response.type('css').send(STYLE);
  });

  router.get('/:token', async (request, response) => {
    const found = await speaksFor(request.params.token);
    if (found === null) return notOurs(response);
    const { dwelling, recipient, words } = found;
    if (recipient.unsubscribedAt !== null) return done(response, recipient.language, words, dwelling.name);
    page(response, recipient.language, words.unsubscribe.title, [
      `<p>${escaped(words.unsubscribe.ask(dwelling.name))}</p>`,
      `<form method="post"><button>${escaped(words.unsubscribe.confirm)}</button></form>`,
    ]);
  });

  router.post('/:token', async (request, response) => {
    const found = await speaksFor(request.params.token);
    if (found === null) return notOurs(response);
    const { dwelling, recipient, words } = found;
    if (recipient.unsubscribedAt === null) {
      const now = clock();
      await store.changeRecipient(dwelling.id, recipient.id, { unsubscribedAt: now }, now);
      changed(dwelling.id);
    }
    done(response, recipient.language, words, dwelling.name);
  });

  return router;
}

function notOurs(response: Response): void {
  const { title, wrong } = deliveryWords('en').unsubscribe;
  page(response.status(404), 'en', title, [`<p>${escaped(wrong)}</p>`]);
}

function done(response: Response, language: string, { unsubscribe }: DeliveryWords, dwelling: string): void {
  page(response, language, unsubscribe.title, [
    `<p role="status">${escaped(unsubscribe.done(dwelling))}</p>`,
    `<p>${escaped(unsubscribe.undo)}</p>`,
  ]);
}

function page(response: Response, language: string, title: string, content: readonly string[]): void {
  response
    .type('html')
    .send(
      [
        `<!doctype html><html lang="${escaped(language)}"><head><meta charset="utf-8">`,
        '<meta name="viewport" content="width=device-width, initial-scale=1"><meta name="color-scheme" content="light dark">',
        `<link rel="stylesheet" href="/unsubscribe/page.css"><title>${escaped(title)}</title></head><body><main><h1>${escaped(title)}</h1>`,
        ...content,
        '</main></body></html>',
      ].join('\n'),
    );
}
