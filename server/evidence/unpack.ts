import { createHash } from 'node:crypto';
import { createWriteStream, mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import yauzl from 'yauzl';

/** Something in a pack that is not as it must be. */
export interface PackFault {
  readonly part: 'zip' | 'bag' | 'signature' | 'table' | 'chain' | 'story' | 'hours' | 'figures';
  /** the member it is about; null: the pack as a whole */
  readonly member: string | null;
  readonly message: string;
}

export interface Unpacked {
  /** folder of the bag on disk */
  readonly folder: string;
  /** digest of every member by its path in the bag */
  readonly digests: ReadonlyMap<string, string>;
  readonly bytes: ReadonlyMap<string, number>;
}

/** A pack unpacks to less than this; what would not is no pack of ours but an attempt to fill the disk. */
const MOST_BYTES = 16 * 2 ** 30;
const MOST_MEMBERS = 100_000;
const SAFE = /^[A-Za-z0-9][A-Za-z0-9._-]*(\/[A-Za-z0-9][A-Za-z0-9._-]*)*$/;

/**
 * Unpacks a zip into a folder. A member that does not belong inside it is named and left out.
 *
 * @returns null where it is no zip, or its members do not share one folder
 * @source RFC 8493, 4: a serialised bag is one folder
 */
export async function unpack(
  file: string,
  into: string,
  complain: (fault: PackFault) => void,
): Promise<Unpacked | null> {
  const fault = (member: string | null, message: string): void => complain({ part: 'zip', member, message });
  let zip: yauzl.ZipFile;
  try {
    zip = await open(file);
  } catch (error) {
    fault(null, `it cannot be read as a zip: ${(error as Error).message}`);
    return null;
  }
  const digests = new Map<string, string>();
  const bytes = new Map<string, number>();
  let top: string | null = null;
  let total = 0;
  try {
    for await (const entry of entriesOf(zip)) {
      // decodeStrings is off: the path is looked at as it stands
      const path = (entry.fileName as unknown as Buffer).toString('utf8');
      if (path.endsWith('/')) continue;
      if (!SAFE.test(path) || !path.includes('/')) {
        fault(path, 'its path is not one a pack has, and it was not unpacked');
        continue;
      }
      if (((entry.externalFileAttributes >>> 16) & 0o170000) === 0o120000) {
        fault(path, 'it is a link, and was not unpacked');
        continue;
      }
      const slash = path.indexOf('/');
      const folder = path.slice(0, slash);
      const member = path.slice(slash + 1);
      top ??= folder;
      if (folder !== top) {
        fault(path, `it stands outside the folder ${top}`);
        continue;
      }
      if (digests.has(member)) {
        fault(member, 'it is in the zip twice');
        continue;
      }
      total += entry.uncompressedSize;
      if (total > MOST_BYTES || digests.size >= MOST_MEMBERS) {
        fault(member, 'the pack unpacks to more than any pack of ours, and was left there');
        return null;
      }
      try {
        const target = join(into, folder, ...member.split('/'));
        mkdirSync(dirname(target), { recursive: true });
        const hash = createHash('sha256');
        const summing = new Transform({
          transform(chunk: Buffer, _encoding, done) {
            hash.update(chunk);
            done(null, chunk);
          },
        });
        await pipeline(await read(zip, entry), summing, createWriteStream(target, { flags: 'wx' }));
        digests.set(member, hash.digest('hex'));
        bytes.set(member, entry.uncompressedSize);
      } catch (error) {
        fault(member, `it cannot be unpacked: ${(error as Error).message}`);
      }
    }
  } catch (error) {
    fault(null, `the zip is damaged: ${(error as Error).message}`);
  } finally {
    zip.close();
  }
  if (top === null) {
    fault(null, 'there is nothing in it');
    return null;
  }
  return { folder: join(into, top), digests, bytes };
}

const open = (file: string): Promise<yauzl.ZipFile> =>
  new Promise((resolve, reject) => {
    yauzl.open(file, { lazyEntries: true, decodeStrings: false, autoClose: false }, (error, zip) =>
      error ? reject(error) : resolve(zip),
    );
  });

const read = (zip: yauzl.ZipFile, entry: yauzl.Entry): Promise<NodeJS.ReadableStream> =>
  new Promise((resolve, reject) => {
    zip.openReadStream(entry, (error, stream) => (error ? reject(error) : resolve(stream)));
  });

async function* entriesOf(zip: yauzl.ZipFile): AsyncGenerator<yauzl.Entry> {
  for (;;) {
    const entry = await new Promise<yauzl.Entry | null>((resolve, reject) => {
      const settle = (): void => {
        zip.removeAllListeners('entry');
        zip.removeAllListeners('end');
        zip.removeAllListeners('error');
      };
      zip.once('entry', (found: yauzl.Entry) => {
        settle();
        resolve(found);
      });
      zip.once('end', () => {
        settle();
        resolve(null);
      });
      zip.once('error', (error: Error) => {
        settle();
        reject(error);
      });
      zip.readEntry();
    });
    if (entry === null) return;
    yield entry;
  }
}
