import { mkdir, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { constants, gzipSync } from 'node:zlib';
import { makeSampleData } from './sample-home.ts';
import { scenarioSchema } from './scenario.ts';

const folder = fileURLToPath(new URL('../../sample-data/', import.meta.url));
const { scenario, files } = makeSampleData();
scenarioSchema.parse(scenario);
await mkdir(`${folder}readings`, { recursive: true });
let bytes = 0;
for (const [name, text] of files) {
  const packed = gzipSync(text, { level: constants.Z_BEST_COMPRESSION });
  bytes += packed.length;
  await writeFile(folder + name, packed);
}
await writeFile(`${folder}scenario.json`, `${JSON.stringify(scenario, null, 2)}\n`);
const rows = scenario.sensors.reduce((sum, sensor) => sum + sensor.rows, 0);
process.stdout.write(`${files.size} files, ${rows} rows, ${(bytes / 1e6).toFixed(2)} MB packed, in ${folder}\n`);
