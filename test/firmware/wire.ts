import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { type AddressInfo, connect, createServer, type Server, type Socket } from 'node:net';
import { join } from 'node:path';
import { createServer as createTlsServer } from 'node:tls';
import { fileURLToPath } from 'node:url';

/** Something between the board and the broker. */
export interface Wire {
  readonly port: number;
  close(): Promise<void>;
}

async function listen(server: Server): Promise<Wire> {
  const sockets = new Set<Socket>();
  server.on('connection', (socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    async close() {
      const closed = new Promise((resolve) => server.close(resolve));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}

/** First bytes: a PUBLISH at QoS 1 as a board sends it, and a PUBACK. */
const breakingBytes = { publish: 0x32, acknowledgement: 0x40 } as const;

/**
 * A wire that breaks at the n-th packet of a kind and lets nothing of it through: a publish then never reaches the
 * broker; of an acknowledgement the board never hears, though the message is on disk. Later connections pass
 * undisturbed.
 */
export function wireThatBreaksAt(kind: keyof typeof breakingBytes, nth: number, brokerPort: number): Promise<Wire> {
  let seen = 0;
  const breaks = (data: Buffer): boolean => data[0] === breakingBytes[kind] && ++seen === nth;
  return listen(
    createServer((board) => {
      const broker = connect(brokerPort, '127.0.0.1');
      const pass = (from: Socket, to: Socket): void => {
        from.on('data', (data: Buffer) => {
          if (breaks(data)) {
            board.destroy();
            broker.destroy();
          } else to.write(data);
        });
        from.on('error', () => undefined);
        from.on('close', () => to.destroy());
      };
      pass(board, broker);
      pass(broker, board);
    }),
  );
}

/** TLS in front of the broker, as a reverse proxy or another broker would give it. */
export function tlsFront(brokerPort: number, folder: string): Promise<Wire> {
  const server = createTlsServer(
    { key: readFileSync(join(folder, 'server.key')), cert: readFileSync(join(folder, 'server.pem')) },
    (board) => {
      const broker = connect(brokerPort, '127.0.0.1');
      board.pipe(broker).pipe(board);
      for (const socket of [board, broker]) socket.on('error', () => undefined);
    },
  );
  server.on('tlsClientError', () => undefined);
  return listen(server);
}

export const hasOpenssl = spawnSync('openssl', ['version']).status === 0;
export const opensslMissing = 'openssl is not on PATH; on Debian: apt-get install -y openssl';

/** Runs the commands of firmware-notes/credentials.md for a server called localhost. */
export function makeCertificates(folder: string): void {
  const page = fileURLToPath(new URL('../../firmware-notes/credentials.md', import.meta.url));
  const commands = /```sh certificates\n([\s\S]*?)```/.exec(readFileSync(page, 'utf8'))![1]!;
  const env = { ...process.env, NAME: 'localhost' };
  const { status, stderr } = spawnSync('sh', ['-e', '-c', commands], { cwd: folder, env, encoding: 'utf8' });
  if (status !== 0) throw new Error(`the commands of credentials.md failed: ${stderr}`);
}
