import { fileURLToPath } from 'node:url';
import { createAskedProcess, NoAnswer } from '../processes/asked-process.ts';
import { pictureHeader } from './header.ts';

/** A picture as JPEG files that hold its pixels and nothing else. */
export interface CleanedPicture {
  readonly width: number;
  readonly height: number;
  readonly full: Uint8Array;
  readonly thumbnail: Uint8Array;
}

export type CleanReply = { readonly picture: CleanedPicture } | { readonly error: string };

/** Why a file was not taken as a picture. */
export type PictureFault = 'no-picture' | 'too-many-pixels' | 'broken' | 'too-slow';

export class PictureRefused extends Error {
  readonly fault: PictureFault;
  constructor(fault: PictureFault, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = 'PictureRefused';
    this.fault = fault;
  }
}

/**
 * Makes pictures clean in a process of their own, one at a time, so that neither readings nor memory suffer from a large
 * one, and a file made to break the decoder breaks that process alone.
 */
export interface PictureCleaner {
  /** @throws PictureRefused */
  clean(bytes: Uint8Array): Promise<CleanedPicture>;
  close(): Promise<void>;
}

export interface CleanerOptions {
  /** pixels that are still decoded: at 4 bytes each this bounds the memory */
  readonly mostPixels: number;
  readonly longestMs: number;
  /** a process that has had nothing to do for this long is ended, ms */
  readonly idleMs: number;
}

export const cleanerOptions: CleanerOptions = Object.freeze({ mostPixels: 50e6, longestMs: 20_000, idleMs: 10_000 });

const fromSource = import.meta.url.endsWith('.ts');
const script = fileURLToPath(new URL(fromSource ? './clean-process.ts' : './clean-process.js', import.meta.url));

const broken = (cause: unknown): PictureRefused =>
  new PictureRefused('broken', 'It cannot be decoded: the file is damaged.', cause);

export function createPictureCleaner({
  mostPixels,
  longestMs,
  idleMs,
}: CleanerOptions = cleanerOptions): PictureCleaner {
  const child = createAskedProcess<Uint8Array, CleanReply>({ script, longestMs, idleMs });
  return {
    async clean(bytes) {
      const header = pictureHeader(bytes);
      if (header === null) throw new PictureRefused('no-picture', 'It is no JPEG, PNG or WebP picture.');
      if (!header.whole) {
        throw new PictureRefused(
          'broken',
          'It breaks off: the file ends before the picture does. Copy it again from the phone or camera.',
        );
      }
      const pixels = header.width * header.height;
      if (pixels > mostPixels) {
        const size = `${header.width} × ${header.height}`;
        throw new PictureRefused(
          'too-many-pixels',
          `It has ${size} pixels; ${mostPixels / 1e6} million are the most. Save it smaller.`,
        );
      }
      const reply = await child.ask(bytes).catch((error: unknown) => {
        if (!(error instanceof NoAnswer)) throw error;
        if (error.reason === 'closed') throw new Error(`the picture was not looked at: ${error.message}`);
        if (error.reason === 'too-slow') throw new PictureRefused('too-slow', 'It takes too long to decode.');
        throw broken(error);
      });
      if ('error' in reply) throw broken(reply.error);
      return reply.picture;
    },
    close: () => child.close(),
  };
}
