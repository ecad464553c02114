import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createServer } from 'node:net';
import cliProgress from 'cli-progress';
import { Command } from 'commander';
import { connectAsync, type MqttClient } from 'mqtt';
import { type Config, readConfig } from '../config.ts';
import { createLog } from '../log.ts';
import { openStore, sampleFolder, startCoomb } from '../main.ts';
import { liveHome } from '../simulate/live.ts';
import { StoreError } from '../store/port.ts';
import { fillToNow, loadSample, type Progress, readScenario, type SampleStep } from './sample.ts';
import { announce, stopOnSignal } from './start.ts';

/** Each sensor of the demo publishes this often, s: faster than a real one, so that the page is seen to live. */
const LIVE_SECONDS = 10;

export function demoCommand(): Command {
  return new Command('demo')
    .description('load the sample home and go on publishing its live readings')
    .option('--data <folder>', 'folder of the demo database', 'coomb-demo')
    .action(async ({ data }: { data: string }) => {
      const config = await withFreePorts(readDemoConfig(data));
      await prepareApart(data);
      const { slug } = (await readScenario(sampleFolder)).dwelling;
      const log = createLog(config);
      const coomb = await startCoomb(config, log);
      const stopLive = await publishLive(coomb.mqttAddress, config, slug);
      stopOnSignal(coomb, log, stopLive);
      announce(coomb);
    });
}

/** Settings of the demo, whose invented readings go into a file of their own and never to a database on a server. */
function readDemoConfig(dataFolder: string): Config {
  const { databaseUrl: _, ...config } = readConfig(process.env, { dataFolder });
  return config;
}

/** What `demo` runs first, in a process of its own. */
export function demoLoadCommand(): Command {
  return new Command('demo-load')
    .description('load the sample home into a database and bring it up to now')
    .option('--data <folder>', 'folder of the demo database', 'coomb-demo')
    .action(({ data }: { data: string }) => prepare(readDemoConfig(data)));
}

/** Loads the sample in another process, so that the memory it takes does not stay with the server. */
async function prepareApart(data: string): Promise<void> {
  const loading = spawn(process.execPath, [...process.execArgv, process.argv[1]!, 'demo-load', '--data', data], {
    stdio: 'inherit',
  });
  const [code] = await once(loading, 'exit');
  if (code !== 0) throw new StoreError('failed', 'The sample home could not be loaded; the reason stands above.');
}

/** Loads the sample and fills in what the home would have sent since. */
async function prepare(config: Config): Promise<void> {
  const store = await openStore(config);
  const progress = progressLine();
  try {
    const dwelling = await loadSample(store, sampleFolder, progress.show);
    await fillToNow(store, dwelling.id, progress.show);
  } finally {
    progress.done();
    await store.close();
  }
}

/** Publishes over MQTT, as sensors do. */
async function publishLive(address: string, config: Config, slug: string): Promise<() => Promise<void>> {
  const home = liveHome();
  const { mqttUser: username, mqttPassword: password } = config;
  const client: MqttClient = await connectAsync(address, {
    clientId: `demo-${process.pid}`,
    ...(username === undefined || password === undefined ? {} : { username, password }),
  });
  let from = Date.now();
  const timer = setInterval(() => {
    const to = Date.now();
    for (const { sensor, payload } of home.messages(from, to, LIVE_SECONDS)) {
      // an acknowledgement that never comes is the client's to repeat
      client.publishAsync(`coomb/${slug}/${sensor}`, JSON.stringify(payload), { qos: 1 }).catch(() => undefined);
    }
    from = Math.max(from, to);
  }, 1_000);
  return async () => {
    clearInterval(timer);
    await client.endAsync(true);
  };
}

/** The usual ports, or any free one where something else has them: a demo should start. */
async function withFreePorts(config: Config): Promise<Config> {
  const [httpPort, mqttPort] = await Promise.all([
    freeOrAny(config.httpHost, config.httpPort),
    freeOrAny(config.mqttHost, config.mqttPort),
  ]);
  return { ...config, httpPort, mqttPort };
}

function freeOrAny(host: string, port: number): Promise<number> {
  return new Promise((resolve) => {
    const probe = createServer();
    probe.once('error', () => resolve(0));
    probe.listen(port, host, () => probe.close(() => resolve(port)));
  });
}

const stepWords: Record<SampleStep, string> = {
  readings: 'reading the sample',
  hours: 'working out the hours',
  now: 'filling in up to now',
};

/** A progress bar on a terminal, a line for each step elsewhere. */
function progressLine(): { show: Progress; done: () => void } {
  if (!process.stderr.isTTY) {
    let last = '';
    const show: Progress = (step) => {
      if (step !== last) process.stderr.write(`  ${stepWords[step]} …\n`);
      last = step;
    };
    return { show, done: () => {} };
  }
  const bar = new cliProgress.SingleBar({
    format: '  {bar} {percentage} %  {what}',
    hideCursor: true,
    clearOnComplete: true,
  });
  let started = false;
  return {
    show(step, share) {
      const what = stepWords[step];
      if (!started) bar.start(1, 0, { what });
      started = true;
      bar.update(share, { what });
    },
    done() {
      if (started) bar.stop();
    },
  };
}
