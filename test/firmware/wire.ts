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

const PUBACK = 0x40;

/**
 * A wire that breaks when the broker acknowledges for the n-th time: the message is on disk, and the board never hears
 * of it. Later connections pass undisturbed.
 */
export function wireThatLosesAcknowledgement(brokerPort: number, nth: number): Promise<Wire> {
  let acknowledgements = 0;
  return listen(
    createServer((board) => {
      const broker = connect(brokerPort, '127.0.0.1');
      board.on('data', (data) => broker.write(data));
      broker.on('data', (data) => {
        if (data[0] === PUBACK && ++acknowledgements === nth) {
          board.destroy();
          broker.destroy();
        } else board.write(data);
      });
      for (const socket of [board, broker]) socket.on('error', () => undefined);
      board.on('close', () => broker.destroy());
      broker.on('close', () => board.destroy());
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
