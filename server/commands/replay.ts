import { existsSync } from 'node:fs';
import { Command } from 'commander';
import { DateTime } from 'luxon';
import { momentWords, noticeText } from '../analysis/watch/say-notice.ts';
import { type WatchOverrides, watchFields, watchSettingsOf } from '../analysis/watch/settings.ts';
import { type WatchRule, watchRules } from '../analysis/watch/watch-event.ts';
import { findingsAt } from '../api/sensor-health.ts';
import { type Config, readConfig } from '../config.ts';
import { databaseFile, openStore } from '../main.ts';
import type { Dwelling, Store } from '../store/port.ts';
import { homeNames } from '../watch/home-names.ts';
import { nightsAhead } from '../watch/nights-ahead.ts';
import { anyone, type Replayed, replayHome } from '../watch/replay.ts';

interface Options {
  readonly from: string;
  readonly to: string;
  readonly dwelling?: string;
  readonly data?: string;
  readonly set: readonly string[];
  readonly sensors: boolean;
  readonly forecast: boolean;
  readonly json?: true;
}

const repeated = (value: string, earlier: readonly string[]): readonly string[] => [...earlier, value];

/** `coomb replay`: what watching would have found and sent over a time that is past; nothing is written or sent. */
export function replayCommand(): Command {
  return new Command('replay')
    .description('run the watching over the past and print what would have been told; nothing is written or sent')
    .requiredOption('--from <moment>', 'ISO 8601, local to the home without an offset: 2025-10-01')
    .requiredOption('--to <moment>', 'the same, not included')
    .option('--dwelling <name>', 'short name of the home; needed where there are several')
    .option('--data <folder>', 'data folder, in the place of the one in the settings')
    .option(
      '--set <setting=value>',
      'another setting, as condensing-now.hours=3; may be given more than once',
      repeated,
      [],
    )
    .option('--no-sensors', 'leave sensor trouble out, which takes time')
    .option('--no-forecast', 'leave the night ahead out, which takes most of the time')
    .option('--json', 'print notices and messages as JSON')
    .addHelpText('after', `\nSettings, with what they are by default:\n${settingLines()}`)
    .action(async (options: Options, command: Command) => {
      const config = readConfig(process.env, options.data === undefined ? {} : { dataFolder: options.data });
      try {
        await run(options, config);
      } catch (error) {
        if (!(error instanceof RangeError)) throw error;
        command.error(error.message, { exitCode: 1, code: 'coomb.replay' });
      }
    });
}

const settingLines = (): string =>
  watchRules
    .flatMap((rule) => [
      `  ${rule}.on=true`,
      ...Object.entries(watchFields[rule]).map(([name, { value, unit }]) =>
        `  ${rule}.${name}=${value} ${unit}`.trimEnd(),
      ),
    ])
    .join('\n');

async function run(options: Options, config: Config): Promise<void> {
  if (config.databaseUrl === undefined && !existsSync(databaseFile(config))) {
    throw new RangeError(`There is no database in ${config.dataFolder}: name its folder with --data.`);
  }
  const store = await openStore(config);
  try {
    const dwelling = await chosenDwelling(store, options.dwelling);
    const own = await store.watchOverrides(dwelling.id);
    const off = [
      ...(options.sensors ? [] : ['sensor-trouble.on=false']),
      ...(options.forecast ? [] : ['condensation-ahead.on=false']),
    ];
    const settings = watchSettingsOf(withGiven(own, [...options.set, ...off]));
    const recipients = await store.recipients(dwelling.id);
    const replayed = await replayHome(dwelling, {
      store,
      from: momentOf('--from', options.from, dwelling.zone),
      to: momentOf('--to', options.to, dwelling.zone),
      settings,
      recipients: recipients.length > 0 ? recipients : [anyone(dwelling.id)],
      findings: (home, time) => findingsAt(store, home, time),
      nights: (home, time) => nightsAhead(store, home, time),
    });
    const text = options.json ? asJson(replayed) : await asText(replayed, store, dwelling);
    process.stdout.write(`${text}\n`);
  } finally {
    await store.close();
  }
}

async function chosenDwelling(store: Store, slug: string | undefined): Promise<Dwelling> {
  const dwellings = await store.dwellings();
  const names = dwellings.map((one) => one.slug).join(', ');
  if (dwellings.length === 0) throw new RangeError('There is no home in this database yet.');
  if (slug === undefined && dwellings.length > 1) {
    throw new RangeError(`There are several homes: choose one with --dwelling: ${names}`);
  }
  const chosen = slug === undefined ? dwellings[0] : dwellings.find((one) => one.slug === slug);
  if (chosen === undefined) throw new RangeError(`--dwelling is "${slug}"; there are ${names}`);
  return chosen;
}

function momentOf(option: string, text: string, zone: string): number {
  const moment = DateTime.fromISO(text.replace(' ', 'T'), { zone });
  if (moment.isValid) return moment.toMillis();
  throw new RangeError(`${option} is "${text}"; it must be an ISO 8601 moment such as 2025-10-01 or 2025-10-01T18:00`);
}

function withGiven(own: WatchOverrides, given: readonly string[]): WatchOverrides {
  const all: Record<string, Record<string, number | boolean>> = structuredClone(own) as never;
  for (const text of given) {
    const parts = /^([a-z-]+)\.(\w+)=(.+)$/.exec(text);
    const rule = parts === null ? undefined : watchRules.find((one) => one === parts[1]);
    if (parts === null || rule === undefined) {
      throw new RangeError(`--set is "${text}"; it must be as condensing-now.hours=3. coomb replay --help lists them.`);
    }
    const value = parts[3] === 'true' ? true : parts[3] === 'false' ? false : Number(parts[3]);
    all[rule] = { ...all[rule], [parts[2]!]: value };
  }
  return all as { [R in WatchRule]?: Record<string, number | boolean> };
}

function asJson({ notices, messages }: Replayed): string {
  const instant = (time: number | null): string | null => (time === null ? null : new Date(time).toISOString());
  return JSON.stringify(
    {
      notices: notices.map(({ id, rule, placeId, sensorId, detail, severity, chance, data, endReason, ...times }) => ({
        id,
        code: rule,
        placeId,
        sensorId,
        detail,
        severity,
        begunAt: instant(times.begunAt),
        knownAt: instant(times.knownAt),
        endedAt: instant(times.endedAt),
        endReason,
        chance,
        data,
      })),
      messages: messages.map(({ id, recipientId, noticeId, event, createdAt, body }) => ({
        id,
        recipientId,
        noticeId,
        event,
        at: instant(createdAt),
        subject: body.subject,
        text: body.text,
      })),
    },
    null,
    2,
  );
}

async function asText({ notices, messages }: Replayed, store: Store, dwelling: Dwelling): Promise<string> {
  const names = await homeNames(store, dwelling);
  const { zone } = dwelling;
  const found = notices.map((notice) => {
    const { title, since } = noticeText(notice, names);
    return `  ${String(notice.id).padStart(4)}  ${notice.severity.padEnd(8)} ${title}\n        ${since}`;
  });
  const sent = messages.map(
    ({ createdAt, event, recipientId, body }) =>
      `  ${momentWords(createdAt, zone)}  ${event.padEnd(14)} to ${recipientId === 0 ? 'anyone' : recipientId}  ${body.subject}`,
  );
  const perRule = watchRules.flatMap((rule) => {
    const count = notices.filter((notice) => notice.rule === rule).length;
    return count === 0 ? [] : [`${rule} ${count}`];
  });
  return [
    `${dwelling.name}: ${notices.length} notices${perRule.length === 0 ? '' : ` (${perRule.join(', ')})`}, ${messages.length} messages`,
    ...(found.length === 0 ? [] : ['', 'Notices', ...found]),
    ...(sent.length === 0 ? [] : ['', 'What would have been sent', ...sent]),
  ].join('\n');
}
