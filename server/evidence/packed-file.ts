import type { Entry } from 'yauzl';

/** Longest member that is read whole, bytes. */
const MOST_BYTES = 256 * 2 ** 20;

/**
 * One member of a pack of our own, by its path inside the pack's folder; null where there is none. For packs of others
 * see {@link unpack}.
 */
export async function packedFile(file: string, path: string): Promise<Buffer | null> {
  const { default: yauzl } = await import('yauzl');
  return new Promise((resolve, reject) => {
    yauzl.open(file, { lazyEntries: true }, (error, zip) => {
      if (error) return reject(error);
      zip.on('error', reject);
      zip.on('end', () => resolve(null));
      zip.on('entry', (entry: Entry) => {
        if (entry.fileName.slice(entry.fileName.indexOf('/') + 1) !== path) return zip.readEntry();
        if (entry.uncompressedSize > MOST_BYTES) return reject(new RangeError(`${path} is too large to be read whole`));
        zip.openReadStream(entry, (cause, stream) => {
          if (cause) return reject(cause);
          const parts: Buffer[] = [];
          stream.on('data', (part: Buffer) => parts.push(part));
          stream.on('error', reject);
          stream.on('end', () => {
            zip.close();
            resolve(Buffer.concat(parts));
          });
        });
      });
      zip.readEntry();
    });
  });
}
