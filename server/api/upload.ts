import type { Readable } from 'node:stream';
import { RequestProblem } from './problem.ts';

/** A file as it comes in with a request. */
export interface Upload {
  readonly stream: Readable;
  /** as the sender announced it; null: not announced */
  readonly length: number | null;
}

/** Lets a file through chunk by chunk and stops with a problem where it is larger than it may be. */
export async function* limited({ stream, length }: Upload, most: number, what: string): AsyncGenerator<Buffer> {
  const tooLarge = (): RequestProblem =>
    new RequestProblem('too-large', `${what} may have ${Math.floor(most / (1 << 20))} MiB at the most.`);
  if (length !== null && length > most) throw tooLarge();
  let bytes = 0;
  for await (const chunk of stream.iterator({ destroyOnReturn: false })) {
    bytes += (chunk as Buffer).length;
    if (bytes > most) throw tooLarge();
    yield chunk as Buffer;
  }
}

/** A small file, whole. */
export async function receiveBytes(upload: Upload, most: number, what: string): Promise<Buffer> {
  const chunks: Buffer[] = [];
  for await (const chunk of limited(upload, most, what)) chunks.push(chunk);
  return Buffer.concat(chunks);
}
