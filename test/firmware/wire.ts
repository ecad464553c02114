import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { type AddressInfo, connect, createServer, type Server, type Socket } from 'node:net';
import { join } from 'node:path';
import { createServer as createTlsServer } from 'node:tls';

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

function openssl(folder: string, ...words: string[]): void {
  const { status, stderr } = spawnSync('openssl', words, { cwd: folder, encoding: 'utf8' });
  if (status !== 0) throw new Error(`openssl ${words.join(' ')}: ${stderr}`);
}

/** The commands of firmware-notes/credentials.md: a certificate authority, a server certificate for localhost, DER. */
export function makeCertificates(folder: string): void {
  openssl(
    folder,
    ...'req -x509 -newkey rsa:2048 -nodes -days 3650 -keyout ca.key -out ca.pem -subj /CN=home'.split(' '),
  );
  openssl(folder, ...'req -newkey rsa:2048 -nodes -keyout server.key -out server.csr -subj /CN=localhost'.split(' '));
  writeFileSync(join(folder, 'names.txt'), 'subjectAltName=DNS:localhost\n');
  openssl(
    folder,
    ...'x509 -req -in server.csr -CA ca.pem -CAkey ca.key -CAcreateserial -days 825 -out server.pem -extfile names.txt'.split(
      ' ',
    ),
  );
  openssl(folder, ...'x509 -in ca.pem -outform der -out ca.der'.split(' '));
}
