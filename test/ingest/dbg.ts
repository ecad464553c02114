import { everyReading, openHome } from './home.ts';
import { connectTo, startChild, startMosquitto } from './processes.ts';

const home = await openHome();
const m = await startMosquitto('allow_anonymous true', 'max_queued_messages 0');
const url = `mqtt://127.0.0.1:${m.port}`;
let c = await startChild('serve-child.ts', home.path, url);
let n = 0;
const acked = new Set<number>();
let stop = false;
const devs = await Promise.all([1, 2, 3, 4, 5].map(() => connectTo(m.port)));
const lanes = devs.flatMap((dev) =>
  Array.from({ length: 20 }, async () => {
    while (!stop) {
      const k = n++;
      await dev.publishAsync(
        `coomb/gable-cottage/s${k % 7}`,
        JSON.stringify({ time: 1767600000000 + k, temperature_c: 1 }),
        { qos: 1 },
      );
      acked.add(k);
      await new Promise((r) => setTimeout(r, 100));
    }
  }),
);
await c.kill();
for (let round = 0; round < 4; round++) {
  c = await startChild('serve-child.ts', home.path, url);
  await new Promise((resolve) => setTimeout(resolve, Math.random() * 300));
  await c.kill();
  console.log('round', round, acked.size, await home.store.countReadings(home.dwellingId));
}
stop = true;
await Promise.all(lanes);
console.log('stopped', n, acked.size);
c = await startChild('serve-child.ts', home.path, url);
for (let i = 0; i < 10; i++) {
  await new Promise((resolve) => setTimeout(resolve, 300));
  console.log(await home.store.countReadings(home.dwellingId));
}
const seen = new Set((await everyReading(home.store, home.dwellingId)).map((r) => r[2] - 1767600000000));
console.log('missing', [...acked].filter((k) => !seen.has(k)).slice(0, 50), await home.store.countQuarantined());
await c.kill();
await m.stop();
process.exit();
