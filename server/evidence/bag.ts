import { createHash, type KeyObject } from 'node:crypto';
import { Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import yazl from 'yazl';
import { fingerprintOf, publicPem, signed } from './key.ts';

/** A file of a pack: where it stands under `data/`, or beside it for a `tag` file, and what is in it. */
export interface PackMember {
  /** lower-case letters, digits, `.`, `-`, `_`, and `/` between folders */
  readonly path: string;
  /** made when its turn comes, a piece at a time */
  readonly contents: () => AsyncIterable<string | Uint8Array> | Iterable<string | Uint8Array>;
  /** already compressed: not to be compressed again */
  readonly compressed?: true;
}

/** A path that is safe in every file system, in a zip, and in a manifest without any escaping. */
const SAFE_PATH = /^[a-z0-9][a-z0-9._-]*(\/[a-z0-9][a-z0-9._-]*)*$/;

/** Every entry of every pack has this time, so that the same contents give the same bytes: 1 January 2000, UTC. */
const ENTRY_TIME = new Date(Date.UTC(2000, 0, 1));
const COMPRESSION = 6;

/**
 * Writes a bag as a zip, in constant memory: payload under `data/`, manifests, and a signed statement over the tag manifest.
 *
 * @param folder name of the one folder in the zip
 * @param info labels and values of bag-info.txt
 * @throws RangeError for a path that is not safe or comes twice
 * @source RFC 8493: 2.1 required elements, 2.2.1 tag manifest, 2.2.2 bag-info.txt, 4 serialisation
 */
export async function writeBag(
  output: NodeJS.WritableStream,
  folder: string,
  payload: readonly PackMember[],
  tags: readonly PackMember[],
  info: readonly (readonly [label: string, value: string])[],
  signing: { readonly key: KeyObject; readonly at: number },
): Promise<void> {
  const seen = new Set<string>();
  for (const { path } of [...payload, ...tags]) {
    if (!SAFE_PATH.test(path) && !tags.some((tag) => tag.path === path && /^[A-Za-z0-9._-]+$/.test(path))) {
      throw new RangeError(`${path} is no safe path for a file of a pack`);
    }
    if (seen.has(path)) throw new RangeError(`${path} comes twice`);
    seen.add(path);
  }
  const zip = new yazl.ZipFile();
  const failed = new Promise<never>((_, reject) => zip.once('error', reject));
  const payloadDigests: string[] = [];
  const tagDigests: string[] = [];
  let bytes = 0;

  const add = (path: string, contents: PackMember['contents'], into: string[] | null, compressed?: true): void => {
    zip.addReadStreamLazy(
      `${folder}/${path}`,
      {
        mtime: ENTRY_TIME,
        mode: 0o100644,
        forceDosTimestamp: true,
        ...(compressed ? { compress: false } : { compressionLevel: COMPRESSION }),
      },
      (give) => {
        const hash = createHash('sha256');
        const summing = new Transform({
          transform(chunk: Buffer, _encoding, done) {
            hash.update(chunk);
            if (into === payloadDigests) bytes += chunk.length;
            done(null, chunk);
          },
          flush(done) {
            // RFC 8493, 2.1.3: digest, white space, path; two blanks are what sha256sum writes
            into?.push(`${hash.digest('hex')}  ${path}\n`);
            done();
          },
        });
        const source = Readable.from(gathered(contents()), { objectMode: false });
        source.once('error', (error) => summing.destroy(error));
        summing.once('error', (error) => zip.emit('error', error));
        give(null, source.pipe(summing));
      },
    );
  };

  for (const { path, contents, compressed } of payload) add(`data/${path}`, contents, payloadDigests, compressed);
  for (const { path, contents } of tags) add(path, contents, tagDigests);
  add('bagit.txt', () => ['BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n'], tagDigests);
  add('manifest-sha256.txt', () => [[...payloadDigests].sort(byPath).join('')], tagDigests);
  add(
    'bag-info.txt',
    () => [
      [...info, ['Payload-Oxum', `${bytes}.${payload.length}`] as const]
        .map(([label, value]) => `${label}: ${value.replaceAll(/\s+/g, ' ')}\n`)
        .join(''),
    ],
    tagDigests,
  );
  let tagManifest = '';
  add(
    'tagmanifest-sha256.txt',
    () => {
      tagManifest = [...tagDigests].sort(byPath).join('');
      return [tagManifest];
    },
    null,
  );
  // these stand outside every manifest: they speak of the tag manifest, and change with the time of signing
  let statement = '';
  add(
    'signature/statement.txt',
    () => {
      statement = statementOf(tagManifest, signing);
      return [statement];
    },
    null,
  );
  add('signature/statement.sig', () => [signed(statement, signing.key)], null);
  add('signature/public-key.pem', () => [publicPem(signing.key)], null);
  zip.end();
  await Promise.race([pipeline(zip.outputStream, output), failed]);
}

const byPath = (a: string, b: string): number => (a.slice(66) < b.slice(66) ? -1 : 1);

export const statementOf = (tagManifest: string, { key, at }: { key: KeyObject; at: number }): string =>
  [
    'coomb evidence statement, version 1',
    `tagmanifest-sha256.txt: ${createHash('sha256').update(tagManifest).digest('hex')}`,
    `signed at, by the clock of the computer that signed: ${new Date(at).toISOString()}`,
    `signed by the key with fingerprint: ${fingerprintOf(key)}`,
    '',
  ].join('\n');

const PIECE = 1 << 16;

/** Small pieces of text together: a stream pays for each piece, not for each byte. */
async function* gathered(pieces: AsyncIterable<string | Uint8Array> | Iterable<string | Uint8Array>) {
  let text = '';
  for await (const piece of pieces) {
    if (typeof piece !== 'string') {
      if (text !== '') yield Buffer.from(text);
      text = '';
      yield piece;
      continue;
    }
    text += piece;
    if (text.length >= PIECE) {
      yield Buffer.from(text);
      text = '';
    }
  }
  if (text !== '') yield Buffer.from(text);
}
