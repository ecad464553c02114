import { copyFileSync, existsSync, mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import express, { type Response, type Router } from 'express';
import { packedFile } from '../evidence/packed-file.ts';
import { styleSource } from '../evidence/report/html.ts';
import type { Dwelling, ShareLink, Store } from '../store/port.ts';
import { digestOf, newToken } from './access/token.ts';
import type { ShareLinkWire } from './contract/shares.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

const DAY_MS = 86_400_000;

/** A report shows itself, and neither does nor loads anything. */
const policy = (styles: string): string =>
  `default-src 'none'; style-src ${styles}; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`;

export interface ShareParts {
  readonly store: Store;
  readonly dataFolder: string;
  readonly clock: () => number;
  /** file of a pack that is ready, and the name to save it under; null: there is none */
  readonly readyPack: (dwellingId: number, id: string) => { readonly path: string; readonly file: string } | null;
}

/** Links that show the report of one pack to who holds them: the pack is kept as it was when the link was made. */
export interface Shares {
  readonly handlers: Pick<Handlers, 'listShareLinks' | 'addShareLink' | 'revokeShareLink'>;
  /** what a link leads to; open to everybody */
  readonly router: Router;
}

export function createShares({ store, dataFolder, clock, readyPack }: ShareParts): Shares {
  const folder = join(dataFolder, 'shared');
  const fileOf = ({ dwellingId, id }: Pick<ShareLink, 'dwellingId' | 'id'>): string =>
    join(folder, `${dwellingId}-${id}.zip`);
  function stateOf(link: ShareLink): ShareLinkWire['state'] {
    if (link.revokedAt !== null) return 'revoked';
    if (link.expiresAt <= clock()) return 'expired';
    // backups hold links and not their packs, so that a link taken back since does not open again with a restore
    return existsSync(fileOf(link)) ? 'open' : 'lost';
  }
  const view = (link: ShareLink) => ({
    id: link.id,
    label: link.label,
    createdAt: toInstant(link.createdAt),
    expiresAt: toInstant(link.expiresAt),
    revokedAt: link.revokedAt === null ? null : toInstant(link.revokedAt),
    opened: link.opened,
    openedAt: link.openedAt === null ? null : toInstant(link.openedAt),
    state: stateOf(link),
  });
  const dwellingOf = async (slug: string): Promise<Dwelling> => {
    const dwelling = await store.findDwelling(slug);
    if (dwelling === null) throw new RequestProblem('not-found', `There is no dwelling ${slug}.`);
    return dwelling;
  };

  const router = express.Router();
  router.use((_request, response, next) => {
    response.set({
      'cache-control': 'no-store',
      'x-robots-tag': 'noindex, nofollow, noarchive',
      'referrer-policy': 'no-referrer',
      'content-security-policy': policy("'none'"),
    });
    next();
  });

  /** The link, if it may be looked at. Who guesses learns nothing: what never was and what is over look the same. */
  async function openLink(token: string): Promise<ShareLink> {
    const link = await store.findShareLink(digestOf(token));
    if (link === null || stateOf(link) !== 'open') {
      throw new RequestProblem(
        'not-found',
        'This link leads nowhere: it was mistyped, has expired or was taken back. Ask whoever gave it to you for a new one.',
      );
    }
    return link;
  }

  const send = async (response: Response, link: ShareLink, path: string, type: string): Promise<void> => {
    const bytes = await packedFile(fileOf(link), path);
    if (bytes === null) throw new RequestProblem('not-found', 'That is not in the pack.');
    response.type(type).send(bytes);
  };

  router.get('/:token', async (request, response) => {
    const link = await openLink(request.params.token);
    await store.noteShareOpened(link.dwellingId, link.id, clock());
    const html = await packedFile(fileOf(link), 'data/report/report.html');
    if (html === null) throw new RequestProblem('not-found', 'The pack of this link holds no report.');
    const report = html.toString('utf8');
    response
      .set('content-security-policy', policy(styleSource(report)))
      .type('html')
      .send(withLinks(report, request.params.token, link));
  });
  router.get('/:token/report.pdf', async (request, response) => {
    const link = await openLink(request.params.token);
    await send(response, link, 'data/report/report.pdf', 'application/pdf');
  });
  router.get('/:token/pack.zip', async (request, response) => {
    const link = await openLink(request.params.token);
    response.download(fileOf(link), link.fileName);
  });

  return {
    router,
    handlers: {
      async listShareLinks({ params }) {
        const dwelling = await dwellingOf(params.dwelling);
        return (await store.shareLinks(dwelling.id)).map(view).reverse();
      },

      async addShareLink({ params, body }) {
        const dwelling = await dwellingOf(params.dwelling);
        const ready = readyPack(dwelling.id, body.pack);
        if (ready === null) {
          throw new RequestProblem('not-found', 'There is no such pack that is ready: make one, then share it.');
        }
        const token = newToken();
        const link = await store.addShareLink({
          dwellingId: dwelling.id,
          tokenHash: digestOf(token),
          label: body.label,
          fileName: ready.file,
          createdAt: clock(),
          expiresAt: clock() + body.days * DAY_MS,
        });
        mkdirSync(folder, { recursive: true, mode: 0o700 });
        copyFileSync(ready.path, fileOf(link));
        return { ...view(link), path: `/shared/${token}` };
      },

      async revokeShareLink({ params }) {
        const dwelling = await dwellingOf(params.dwelling);
        const link = await store.revokeShareLink(dwelling.id, params.id, clock());
        rmSync(fileOf(link), { force: true });
        return view(link);
      },
    },
  };
}

/** The report with a line on top that leads to the PDF and the pack, and says until when. */
const withLinks = (html: string, token: string, { expiresAt }: ShareLink): string =>
  html.replace(
    '<main>',
    `<main><p class="small"><a href="/shared/${token}/report.pdf">PDF</a> · <a href="/shared/${token}/pack.zip">Evidence pack, with README.txt on how to check it</a> · This link works until ${toInstant(expiresAt).slice(0, 10)}.</p>`,
  );
