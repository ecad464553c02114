import { createServer, connect as dial, type Server, type Socket } from 'node:net';
import { freePort } from '../ingest/processes.ts';

/** The way from a browser to a program, which can be cut and mended: a program that cannot be reached, or a network that is gone. */
export interface Line {
  readonly address: string;
  /** Breaks every connection; from then on nobody answers. */
  cut(): Promise<void>;
  mend(): Promise<void>;
}

export async function layLine(to: string): Promise<Line> {
  const { hostname, port } = new URL(to);
  const open = new Set<Socket>();
  // nobody is given it while the line is cut
  const at = await freePort();
  let server: Server | null = null;
  const mend = async (): Promise<void> => {
    if (server !== null) return;
    const listening = createServer((near) => {
      const far = dial(Number(port), hostname);
      for (const [one, other] of [
        [near, far],
        [far, near],
      ] as const) {
        open.add(one);
        one.on('error', () => other.destroy());
        one.on('close', () => {
          open.delete(one);
          other.destroy();
        });
        one.pipe(other);
      }
    });
    server = listening;
    await new Promise<void>((resolve) => listening.listen(at, '127.0.0.1', resolve));
  };
  const cut = async (): Promise<void> => {
    const was = server;
    server = null;
    if (was === null) return;
    const closed = new Promise((resolve) => was.close(resolve));
    for (const socket of open) socket.destroy();
    await closed;
  };
  await mend();
  return { address: `http://127.0.0.1:${at}`, cut, mend };
}
