/**
 * Runs a simulated board in MicroPython's WebAssembly build, in a thread of its own. MicroPython waits for its sockets, so
 * the thread waits too: each call goes to the main thread, which holds the real socket, and the answer wakes this one.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parentPort, receiveMessageOnPort, workerData } from 'node:worker_threads';
import { loadMicroPython } from '@micropython/micropython-webassembly-pyscript';

const { flash, board, scenario, heapBytes, port, signal } = workerData;
const flag = new Int32Array(signal);

function ask(request) {
  port.postMessage(request);
  for (;;) {
    // The time limit only says how often to look again.
    Atomics.wait(flag, 0, 0, 100);
    Atomics.store(flag, 0, 0);
    const reply = receiveMessageOnPort(port);
    if (reply !== undefined) return reply.message;
  }
}

let out = '';
const micropython = await loadMicroPython({
  heapsize: heapBytes,
  linebuffer: true,
  stdout: (line) => {
    out += `${line}\n`;
  },
});

function copy(from, to) {
  micropython.FS.mkdir(to);
  for (const name of readdirSync(from)) {
    if (name.endsWith('.py')) micropython.FS.writeFile(`${to}/${name}`, readFileSync(join(from, name)));
  }
}
copy(board, '/board');
copy(flash, '/flash');
micropython.registerJsModule('wire', {
  open: (host, number) => ask({ what: 'open', host, port: number }),
  write: (handle, hex) => ask({ what: 'write', handle, hex }),
  read: (handle, count) => ask({ what: 'read', handle, count }),
  close: (handle) => ask({ what: 'close', handle }),
});
micropython.runPython(`
import json, os, sys
sys.path.insert(0, "/board")
import socket_over_wire
sys.modules["socket"] = socket_over_wire
os.chdir("/flash")
import board

class InFlash:
    def __enter__(self):
        pass
    def __exit__(self, *_):
        pass

board.run(json.loads(${JSON.stringify(JSON.stringify(scenario))}), InFlash())

print(json.dumps({"life": 0, "code": 0}))
`);
parentPort.postMessage(out);
