import { connect, type Socket } from 'node:net';
import { MessageChannel, Worker } from 'node:worker_threads';
import { type BoardRun, boardFolder, type Life, readReport } from './python-board.ts';

type Request =
  | { readonly what: 'open'; readonly host: string; readonly port: number }
  | { readonly what: 'write'; readonly handle: number; readonly hex: string }
  | { readonly what: 'read'; readonly handle: number; readonly count: number }
  | { readonly what: 'close'; readonly handle: number };

/** What stays free of an ESP32's memory for programs and data, roughly: those chips have 520 KiB in all. */
const HEAP_BYTES = 160 * 1024;

/** One life of a board whose program is run by MicroPython itself. */
export async function powerUpMicroPython({ folder, scenario }: Life): Promise<BoardRun> {
  const { port1: here, port2: there } = new MessageChannel();
  const signal = new SharedArrayBuffer(4);
  const flag = new Int32Array(signal);
  const sockets = new Map<number, Socket>();
  here.on('message', (request: Request) => {
    void answer(sockets, request).then((reply) => {
      here.postMessage(reply);
      Atomics.store(flag, 0, 1);
      Atomics.notify(flag, 0);
    });
  });
  const worker = new Worker(new URL('./micropython-worker.mjs', import.meta.url), {
    workerData: { flash: folder, board: boardFolder, scenario, heapBytes: HEAP_BYTES, port: there, signal },
    transferList: [there],
  });
  try {
    const out = await new Promise<string>((resolve, reject) => {
      worker.on('message', resolve);
      worker.on('error', reject);
      worker.on('exit', (code) => reject(new Error(`MicroPython ended early (${code})`)));
    });
    return readReport(out)[0]!;
  } finally {
    await worker.terminate();
    here.close();
    for (const socket of sockets.values()) socket.destroy();
  }
}

async function answer(sockets: Map<number, Socket>, request: Request): Promise<number | string> {
  if (request.what === 'open') return open(sockets, request.host, request.port);
  const socket = sockets.get(request.handle);
  if (request.what === 'close') {
    sockets.delete(request.handle);
    socket?.end();
    return 0;
  }
  if (socket === undefined) return request.what === 'write' ? 0 : '';
  if (request.what === 'read') return (await readable(socket, request.count)).toString('hex');
  const data = Buffer.from(request.hex, 'hex');
  return new Promise((resolve) => socket.write(data, (error) => resolve(error ? 0 : data.length)));
}

function open(sockets: Map<number, Socket>, host: string, port: number): Promise<number> {
  return new Promise((resolve) => {
    const socket = connect(port, host);
    socket.once('error', () => resolve(-1));
    socket.once('connect', () => {
      const handle = sockets.size + 1;
      sockets.set(handle, socket);
      resolve(handle);
    });
  });
}

/** At least one byte and at most so many, or nothing when the other side has closed. */
async function readable(socket: Socket, most: number): Promise<Buffer> {
  for (;;) {
    const available = socket.readableLength;
    if (available > 0) return socket.read(Math.min(most, available)) as Buffer;
    if (socket.readableEnded || socket.destroyed) return Buffer.alloc(0);
    await new Promise<void>((resolve) => {
      const stop = (): void => {
        for (const event of ['readable', 'end', 'close']) socket.off(event, stop);
        resolve();
      };
      for (const event of ['readable', 'end', 'close']) socket.on(event, stop);
    });
  }
}
