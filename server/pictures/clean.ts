import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
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

export function createPictureCleaner(options: CleanerOptions = cleanerOptions): PictureCleaner {
  let child: ChildProcess | null = null;
  let idle: NodeJS.Timeout | null = null;
  let last: Promise<unknown> = Promise.resolve();
  let closed = false;

  function stop(): void {
    if (idle !== null) clearTimeout(idle);
    child?.kill('SIGKILL');
    child = null;
  }

  function started(): ChildProcess {
    if (child !== null) return child;
    const begun = fork(script, { serialization: 'advanced', execArgv: fromSource ? ['--import', 'tsx'] : [] });
    child = begun;
    // one that ended, be it while it had nothing to do, is asked nothing more
    const forget = (): void => {
      if (child === begun) child = null;
    };
    begun.on('error', forget);
    begun.once('exit', forget);
    return begun;
  }

  function run(bytes: Uint8Array): Promise<CleanedPicture> {
    if (idle !== null) clearTimeout(idle);
    if (closed) return Promise.reject(new Error('the picture was not looked at: the program is being closed'));
    const running = started();
    return new Promise((resolve, reject) => {
      const settle = (finish: () => void): void => {
        clearTimeout(limit);
        running.off('message', answered).off('error', broken).off('exit', ended);
        idle = setTimeout(stop, options.idleMs);
        idle.unref();
        finish();
      };
      const limit = setTimeout(() => {
        stop();
        settle(() => reject(new PictureRefused('too-slow', 'It takes too long to decode.')));
      }, options.longestMs);
      const broken = (cause: unknown): void =>
        settle(() => reject(new PictureRefused('broken', 'It cannot be decoded: the file is damaged.', cause)));
      const ended = (code: number | null, signal: NodeJS.Signals | null): void => broken(signal ?? code);
      const answered = (message: unknown): void => {
        const reply = message as CleanReply;
        if ('error' in reply) broken(reply.error);
        else settle(() => resolve(reply.picture));
      };
      running.on('message', answered).on('error', broken).on('exit', ended);
      running.send(bytes);
    });
  }

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
      if (pixels > options.mostPixels) {
        const size = `${header.width} × ${header.height}`;
        throw new PictureRefused(
          'too-many-pixels',
          `It has ${size} pixels; ${options.mostPixels / 1e6} million are the most. Save it smaller.`,
        );
      }
      const result = last.then(() => run(bytes));
      last = result.catch(() => undefined);
      return result;
    },
    async close() {
      closed = true;
      stop();
    },
  };
}
