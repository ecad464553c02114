import { Worker } from 'node:worker_threads';

const fromSource = import.meta.url.endsWith('.ts');

/**
 * Starts a thread that speaks MQTT: the compiled file, or from source what tsx makes of it, which a thread has to be told in
 * its first line. A fault in it ends the program, as one in the program would.
 */
export function startThread(name: 'broker-thread' | 'subscription-thread', workerData: unknown): Worker {
  const { href } = new URL(`./${name}.${fromSource ? 'ts' : 'js'}`, import.meta.url);
  if (!fromSource) return new Worker(new URL(href), { workerData });
  const first = `import('tsx/esm/api').then(({ register }) => { register(); return import('${href}'); })`;
  return new Worker(first, { eval: true, workerData });
}
