import { Command } from 'commander';
import { type Config, ConfigError, readConfig } from '../config.ts';
import { inspectStore, version } from '../main.ts';
import type { InspectionDepth } from '../store/engine.ts';
import { StoreError } from '../store/port.ts';
import {
  type Check,
  type CheckArea,
  checkBroker,
  checkClock,
  checkContents,
  checkDatabase,
  checkDisk,
  checkFolder,
  checkPage,
  findRunning,
  fine,
  trouble,
  unknown,
} from './doctor-checks.ts';

export function doctorCommand(): Command {
  return new Command('doctor')
    .description('look whether everything is well, and say what to do where it is not')
    .option('--data <folder>', 'data folder, in the place of the one in the settings')
    .option('--thorough', 'check every index of the database against its table too; takes minutes with years of data')
    .option('--json', 'print the checks as JSON')
    .addHelpText(
      'after',
      '\nExit code: 0 all is well; 1 something is wrong; 2 nothing wrong was seen, but not everything could be checked.',
    )
    .action(async (options: { data?: string; thorough?: true; json?: true }) => {
      const checks = await examine(options.data, options.thorough ? 'thorough' : 'quick');
      process.stdout.write(options.json ? asJson(checks) : asText(checks));
      process.exitCode = exitCode(checks);
    });
}

async function examine(dataFolder: string | undefined, depth: InspectionDepth): Promise<Check[]> {
  let config: Config;
  try {
    config = readConfig(process.env, dataFolder === undefined ? {} : { dataFolder });
  } catch (error) {
    if (!(error instanceof ConfigError)) throw error;
    return [trouble('settings', error.message, 'Correct these settings; coomb --help lists them all.')];
  }
  const now = Date.now();
  const running = await findRunning(config);
  const database = await checkDatabase(config, depth);
  const inside = await contents(config, database, () => checkContents(config, now, running));
  return [
    fine('settings', 'All settings can be used.'),
    await checkFolder(config),
    await checkDisk(config),
    checkClock(config, now, inside.lastReading),
    database,
    await checkPage(config, running),
    await checkBroker(config, running),
    ...inside.checks,
  ];
}

type Contents = Awaited<ReturnType<typeof checkContents>>;
const insideAreas: readonly CheckArea[] = ['hour records', 'quarantine', 'sensors'];

/** Opens the store only where that changes nothing: a damaged or differently versioned file is left alone. */
async function contents(config: Config, database: Check, look: () => Promise<Contents>): Promise<Contents> {
  const without = (why: string): Contents => ({
    lastReading: null,
    checks: insideAreas.map((area) => unknown(area, `Not looked at: ${why}`)),
  });
  if (database.outcome === 'unknown') return without('there is no database yet.');
  if (database.outcome !== 'fine') return without('the database cannot be opened.');
  const { schemaVersion, knownVersion } = (await inspectStore(config, 'quick'))!;
  if (schemaVersion !== knownVersion) return without('the database waits to be brought to this version.');
  try {
    return await look();
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    return without(error.message);
  }
}

const exitCode = (checks: readonly Check[]): number => {
  if (checks.some(({ outcome }) => outcome === 'trouble')) return 1;
  return checks.some(({ outcome }) => outcome === 'unknown') ? 2 : 0;
};

const verdicts = [
  'All is well.',
  'Something is wrong: see above.',
  'Nothing wrong was seen, but not all could be checked.',
];

function asJson(checks: readonly Check[]): string {
  return `${JSON.stringify({ version, checkedAt: new Date().toISOString(), exitCode: exitCode(checks), checks }, null, 2)}\n`;
}

const marks = { fine: 'fine   ', trouble: 'TROUBLE', unknown: 'unknown' } as const;

function asText(checks: readonly Check[]): string {
  const lines = checks.flatMap(({ area, outcome, message, whatToDo }) => [
    `${marks[outcome]}  ${area}: ${message.replaceAll('\n', '\n           ')}`,
    ...(whatToDo === null ? [] : [`           What to do: ${whatToDo}`]),
  ]);
  return `\n${lines.join('\n')}\n\n${verdicts[exitCode(checks)]}\n`;
}
