import { fork } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import type { AddressInfo } from 'node:net';
import { uptime } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Logger } from 'pino';
import { STATE_ROOT } from './analysis/delivery-vocabulary.ts';
import { HOUR_MS } from './analysis/vocabulary.ts';
import { type Access, createAccess } from './api/access/access.ts';
import { CANNOT_STORE, createApp } from './api/app.ts';
import { type ArrivalWatch, createArrivalWatch } from './api/arrivals.ts';
import { createAssessor } from './api/assessor.ts';
import { createComparer } from './api/comparison.ts';
import { keepComparisonsReady } from './api/comparisons-ready.ts';
import type { Health } from './api/contract/figures.ts';
import { createExampleHome, type ExampleSource } from './api/example.ts';
import { createFellows, type Word } from './api/fellows.ts';
import { createLiveHub, type LiveHub, readingEvent } from './api/live.ts';
import type { Metric } from './api/metrics.ts';
import { readLatest, readNow } from './api/now.ts';
import { createPackMaker } from './api/packs.ts';
import { createRevisions, type Revisions } from './api/revisions.ts';
import { createHealthReader, findingsAt } from './api/sensor-health.ts';
import { createShares } from './api/shares.ts';
import { createSummaryKeeper, keptElsewhere } from './api/summaries.ts';
import { toInstant } from './api/views.ts';
import type { ExampleOrder, ExampleReport } from './commands/example-process.ts';
import { type Config, ConfigError, commaList, dutiesOf, isLoopback, mailSettings } from './config.ts';
import { KEY_FILE } from './evidence/key.ts';
import { type Account, fullAccount } from './ingest/account.ts';
import { brokerOptions, openBroker } from './ingest/broker.ts';
import { clockMemoryAt } from './ingest/clock-memory.ts';
import { watchClockSteps } from './ingest/clock-steps.ts';
import { flowLimit } from './ingest/flow-limit.ts';
import { withOutdoorForecasts } from './ingest/forecast-receiver.ts';
import { createGroupMember, type GroupMember } from './ingest/group-member.ts';
import { subscriberOptions, subscribeTo } from './ingest/mqtt.ts';
import { limitQuarantine } from './ingest/quarantine-limit.ts';
import { createReceiver, type Intake } from './ingest/receiver.ts';
import { createRereader } from './ingest/reread.ts';
import type { RetainedPublisher } from './ingest/retained.ts';
import { watchStoring } from './ingest/storing-watch.ts';
import { createWriter, writerOptions } from './ingest/writer.ts';
import { createPictureCleaner } from './pictures/clean.ts';
import { endedWords } from './processes/ended-words.ts';
import { createBackups } from './store/backups.ts';
import { type InspectionDepth, inspectStoreAt, openStoreAt, type StorePlace } from './store/engine.ts';
import { createKeeper, type Keeper } from './store/keeper.ts';
import type { DaySeal, Store, StoreInspection } from './store/port.ts';
import { reserveAt } from './store/reserve.ts';
import { createSealer } from './store/sealer.ts';
import { inspectAtStart, type StartInspection } from './store/start-inspection.ts';
import { whileThere } from './store/while-there.ts';
import { readMailSettings } from './watch/channels/mail-server.ts';
import { tellSeals } from './watch/daily-digest.ts';
import { type Delivery, type DeliverySettings, openDelivery } from './watch/delivery.ts';
import { createForecastKeeper } from './watch/forecast-keeper.ts';
import { nightsAhead, nightsAheadByHour } from './watch/nights-ahead.ts';
import { createRounds } from './watch/rounds.ts';
import { createStateTeller, type StateTeller } from './watch/state-teller.ts';
import { createWatcher } from './watch/watcher.ts';

/** Hours of so many homes are worked out at a time where the store is on a server. */
const HOMES_AT_A_TIME = 3;
/** Readings that close a group for a store on a server, where each commit is a way there and back. */
const GROUP_FOR_SERVER = 5_000;

/** Homes are looked at so often for what to give notice of, ms. */
const WATCH_EVERY_MS = 60_000;

/** Programs that listen on the broker hear of a change within this, ms. */
const TELL_EVERY_MS = 60_000;

/** Homes are looked at so often for whether their line among many is due, ms. */
const SUMMARISE_EVERY_MS = 60_000;

/** Comparisons that somebody may ask for are worked out anew so often, where something changed, ms. */
const COMPARE_EVERY_MS = 60_000;

/** What came while the program was off is judged so long after the start, ms, and comparisons worked out. */
const WATCH_AFTER_MS = 1000;
const COMPARE_AFTER_MS = 5_000;

/** The clock of this computer is looked at so often for whether it was set, ms. */
const CLOCK_EVERY_MS = 10_000;

/**
 * How long a connection is kept open between two requests. Whoever opened it is to close it first: a request sent on one that
 * is just being closed here would be lost. A proxy keeps one for a minute.
 *
 * @source RFC 9112, 9.5; the minute is common practice, no source
 */
const KEPT_OPEN_MS = 75_000;

/** A running coomb. */
export interface Coomb {
  /** where the page is, e.g. http://127.0.0.1:8420 */
  readonly address: string;
  /** where sensors publish, e.g. mqtt://127.0.0.1:1883 */
  readonly mqttAddress: string;
  readonly store: Store;
  /** Resolves when every hour record matches the readings. */
  settled(): Promise<void>;
  /** Resolves when every home has been looked at for what to give notice of. */
  watched(): Promise<void>;
  /** Resolves when the line of every home in the list of many is as it should be now. */
  summarised(): Promise<void>;
  /** Resolves when what was set aside while this computer's clock stood back has been read in, if it was set since. */
  clockSeen(): Promise<void>;
  /** what is being closed at the moment; null: nothing */
  closing(): string | null;
  close(): Promise<void>;
}

const root = fileURLToPath(new URL('.', import.meta.url));

/** The folder with package.json: the same from server/ and from dist/server/. */
const projectFolder = root.includes(`${join('dist', 'server')}`) ? join(root, '..', '..') : join(root, '..');

export const version: string = JSON.parse(readFileSync(join(projectFolder, 'package.json'), 'utf8')).version;
export const sampleFolder = join(projectFolder, 'sample-data');

export const databaseFile = (config: Config): string => join(config.dataFolder, 'coomb.db');

/** Where readings and all that belongs to them are kept. */
export const storePlace = (config: Config): StorePlace =>
  config.databaseUrl === undefined
    ? { engine: 'sqlite', file: resolve(databaseFile(config)) }
    : { engine: 'postgres', url: config.databaseUrl };

/** Holds nothing: see {@link reserveAt}. */
const reserveFile = (config: Config): string => join(config.dataFolder, 'reserve');

/** What else in the data folder must not be lost. */
export const filesBeside = (config: Config): string[] => [join(config.dataFolder, KEY_FILE)];

export async function openStore(config: Config): Promise<Store> {
  mkdirSync(config.dataFolder, { recursive: true });
  return openStoreAt(storePlace(config));
}

/** Looks at the store without changing it; null: there is none yet. */
export const inspectStore = (config: Config, depth: InspectionDepth): Promise<StoreInspection | null> =>
  inspectStoreAt(storePlace(config), depth);

/**
 * Composes and starts the parts. The path of a reading: broker or HTTP -> receiver -> writer -> store; then the keeper
 * rebuilds the hours it touched, and the live hub tells open pages.
 */
export async function startCoomb(config: Config, log: Logger, clock: () => number = Date.now): Promise<Coomb> {
  const store = await openStore(config);
  const access = await createAccess(store, clock);
  requirePassphrase(config, access);
  const tls = readTls(config);
  const duties = dutiesOf(config);
  const fellows = createFellows(store, log);
  const hub = createLiveHub();
  const live: LiveHub = {
    ...hub,
    publish(dwellingId, event) {
      hub.publish(dwellingId, event);
      fellows.tell({ kind: 'event', dwellingId, event });
    },
    came(readings) {
      hub.came(readings);
      if (!store.isShared) return;
      for (const reading of readings)
        fellows.tell({ kind: 'event', dwellingId: reading.dwellingId, event: readingEvent(reading) });
    },
  };
  // the work of upkeep is never given to a process that has other duties
  const kept: Store = duties.has('upkeep')
    ? store
    : { ...store, doAlone: async () => null, takeCharge: async () => false };
  const limited = limitQuarantine(store, clock, undefined, log);
  const reserve = reserveAt(reserveFile(config));
  const groupReadings = store.isShared ? GROUP_FOR_SERVER : writerOptions.groupReadings;
  const writer = createWriter(limited, { ...writerOptions, groupReadings, isRoomy: reserve.isRoomy }, log);
  const revisions = createRevisions(clock, (dwellingId) => summaries.storyChanged(dwellingId));
  const receiver = withOutdoorForecasts(createReceiver(store, writer, clock), store, writer, clock, (dwellingId) => {
    revisions.storyChanged(dwellingId);
    live.publish(dwellingId, { name: 'story', data: {} });
  });
  const rereader = createRereader(store, receiver, writer, clock);
  const clockSteps = createRounds(
    CLOCK_EVERY_MS,
    await watchClockSteps(
      store,
      rereader,
      clock,
      () => uptime() * 1000,
      clockMemoryAt(join(config.dataFolder, 'clock-stretches.json')),
      (messages, behindMs) =>
        log.info(
          { messages, behindSeconds: Math.round(behindMs / 1000) },
          "this computer's clock was set forward: what was set aside as from the future was read in",
        ),
    ),
  );
  const arrivals = createArrivalWatch(clock);
  const assessor = createAssessor();
  const comparer = createComparer({ store, assessor, revisions, clock });
  let rebuilds = 0;
  const rebuilt = (dwellingId: number, from: number, to: number): void => {
    rebuilds++;
    revisions.hoursRebuilt(dwellingId, from);
    // the hour that still runs is in no line
    if (from < Math.floor(clock() / HOUR_MS) * HOUR_MS) summaries.changed(dwellingId);
    live.publish(dwellingId, { name: 'hours', data: { from: toInstant(from), to: toInstant(to) } });
  };
  const keeper = createKeeper(kept, log, rebuilt, {
    doAlone: (id, task) => kept.doAlone('hours', id, () => whileThere(store, id, task)),
    atATime: store.isShared ? HOMES_AT_A_TIME : 1,
  });
  const { backupFolder, backupEveryHours, backupKeep } = config;
  const backups = createBackups({
    place: storePlace(config),
    beside: filesBeside(config),
    program: version,
    settings: { folder: backupFolder ?? null, everyHours: backupEveryHours, keep: backupKeep },
    clock,
    log,
  });
  const tellSealed = (dwellingId: number): void => {
    teller.changed(dwellingId);
    tellSeals(store, dwellingId, clock()).then(
      () => delivery.sender.wake(),
      (error: unknown) =>
        log.error({ err: error }, 'a seal could not be put into the outbox; tried again with the next'),
    );
  };
  const sealer = createSealer(kept, clock, log, tellSealed);
  const readHealth = createHealthReader({ store, clock, revisions, arrivals });
  // two weeks of readings are looked through for it: too much for every home in every minute
  const readHealthHourly = createHealthReader({ store, clock, revisions, arrivals }, HOUR_MS);
  const nightsByHour = nightsAheadByHour(store);
  const summaries = duties.has('upkeep')
    ? createSummaryKeeper({
        store,
        comparer,
        nights: nightsByHour,
        clock,
        log,
        everyMs: SUMMARISE_EVERY_MS,
      })
    : keptElsewhere;
  const teller = createStateTeller({
    dwellings: () => store.dwellings(),
    stateOf: async (dwelling, time) => {
      const [now, nights, notices, seal] = await Promise.all([
        readNow(store, readHealthHourly, dwelling, time),
        nightsByHour(dwelling, time),
        store.openNotices(dwelling.id),
        lastSeal(store, dwelling.id),
      ]);
      return { slug: dwelling.slug, name: dwelling.name, now, nights, notices, seal };
    },
    publish: (topic, payload) => source.publish(topic, payload),
    clock,
    takeCharge: () => kept.takeCharge('states'),
    everyMs: TELL_EVERY_MS,
    log,
  });
  const delivery = openDelivery(store, deliverySettings(config), {
    clock,
    chance: Math.random,
    log,
    onChanged: (dwellingId) => live.publish(dwellingId, { name: 'deliveries', data: {} }),
  });
  const lookedAt = new Map<number, number>();
  const watcher = createWatcher({
    store: kept,
    clock,
    log,
    everyMs: WATCH_EVERY_MS,
    others: { lookedAt, looked: (dwellingId) => fellows.tell({ kind: 'watched', dwellingId }), share: Math.random() },
    findings: (dwelling, time) => findingsAt(store, dwelling, time),
    nights: (dwelling, time) => nightsAhead(store, dwelling, time),
    troubles: () => storing.troubles(),
    latest: async (dwelling, time) => (await readLatest(store, dwelling, time)).places,
    onChanged: (dwellingId) => {
      summaries.changed(dwellingId);
      teller.changed(dwellingId);
      live.publish(dwellingId, { name: 'notice', data: {} });
      live.publish(dwellingId, { name: 'deliveries', data: {} });
      delivery.sender.wake();
    },
  });
  const storing = watchStoring(writer, clock, (fault) => {
    if (fault === 'full') reserve.release();
    else if (fault === null) keepReserve();
    store
      .dwellings()
      .then((dwellings) => {
        // of this process alone: others may well be storing
        for (const { id } of dwellings) hub.publish(id, { name: 'storing', data: {} });
        return watcher.look();
      })
      .catch((error: unknown) =>
        log.error({ err: error }, 'that readings cannot be stored could not be made a notice'),
      );
  });
  const keepReserve = (): void => {
    try {
      reserve.keep();
    } catch (error) {
      log.warn({ err: error }, 'no space can be kept aside for word of a full disk');
    }
  };
  keepReserve();
  writer.onCommitted((readings) => {
    keeper.wake();
    arrivals.came(readings);
    live.came(readings);
    for (const { dwellingId } of readings) teller.changed(dwellingId);
  });

  const forget = (): void => {
    receiver.forget();
    fellows.tell({ kind: 'dwellings' });
  };
  const hoursChanged = (): void => {
    keeper.wake();
    fellows.tell({ kind: 'stale' });
  };
  const reload = async (): Promise<void> => {
    await access.reload();
    fellows.tell({ kind: 'access' });
  };
  access.onEnded((sessionId) => fellows.tell({ kind: 'session-ended', sessionId }));
  const group = createGroupMember(
    store,
    () => fellows.tell({ kind: 'leaves-group' }),
    () => config.ingestGroup !== undefined && duties.has('readings') && source.state().connected,
  );
  await fellows.listen(
    (word) => {
      hear(word, { hub, revisions, arrivals, teller, keeper, delivery, receiver, access, group, lookedAt, clock, log });
    },
    () => {
      log.warn({}, 'what other processes said may have been missed: looking anew');
      receiver.forget();
      revisions.anyChanged();
      keeper.wake();
      delivery.sender.wake();
      reloadQuietly(access, log);
      hub.startAnew();
    },
  );
  // what was said before this process listened
  if (store.isShared) await access.reload();

  const source = await openSource(config, receiver, access, tls, group, log);
  let inspection: StartInspection | null = null;
  const health = (): Omit<Health, 'version'> => {
    const broker = source.state();
    const writing = writer.state();
    const reasons = [
      ...(broker.connected ? [] : [`no connection to the broker: ${broker.lastError ?? 'connecting'}`]),
      ...source.crowding(),
      ...(limited.full().length === 0
        ? []
        : [
            `messages that are not understood are no longer kept, from ${limited.full().join(', ')}: see Sensors, Messages that were not understood`,
          ]),
      ...(writing.healthy ? [] : [`${CANNOT_STORE}: ${writing.lastError ?? 'unknown'}`]),
      ...(keeper.lastError() === null ? [] : [`hour records cannot be rebuilt: ${keeper.lastError()}`]),
      ...(watcher.lastError() === null ? [] : [`homes cannot be watched: ${watcher.lastError()}`]),
      ...(clockSteps.lastError() === null
        ? []
        : [`what was set aside while the clock stood back cannot be read in: ${clockSteps.lastError()}`]),
      ...(summaries.lastError() === null ? [] : [`lines of homes cannot be worked out: ${summaries.lastError()}`]),
      ...(delivery.sender.lastError() === null ? [] : [`messages cannot be sent: ${delivery.sender.lastError()}`]),
      ...backups.reasons(),
      ...(inspection?.reasons() ?? []),
    ];
    const trouble = storing.now();
    return {
      status: reasons.length === 0 ? 'ok' : 'degraded',
      reasons,
      trouble: trouble === null ? null : { code: trouble.fault, since: toInstant(trouble.from) },
      broker: { kind: source.kind, address: source.address, connected: broker.connected },
    };
  };
  const metrics = async (): Promise<Metric[]> => {
    const { messages, readings, quarantined } = receiver.counts();
    const { commitSeconds, heldReadings } = writer.state();
    const newest = backups.newestAt();
    const watched = duties.has('upkeep') ? watcher.lastSeconds() : null;
    const [waiting, stale] = await Promise.all([store.countWaiting(), store.countStaleHours()]);
    const counter = (name: string, help: string, value: number): Metric => ({ type: 'counter', name, help, value });
    const gauge = (name: string, help: string, value: number): Metric => ({ type: 'gauge', name, help, value });
    return [
      counter('coomb_messages_total', 'messages that came in', messages),
      counter('coomb_readings_total', 'readings that were taken from them', readings),
      counter('coomb_quarantined_total', 'messages set aside', quarantined),
      counter('coomb_quarantine_not_kept_total', 'messages not kept for want of room in quarantine', limited.notKept()),
      counter('coomb_hour_rebuilds_total', 'times that hour records were worked out again', rebuilds),
      { type: 'histogram', name: 'coomb_commit_seconds', help: 'how long commits took', value: commitSeconds },
      gauge('coomb_held_readings', 'readings that wait to be stored', heldReadings),
      gauge('coomb_open_streams', 'pages that listen', live.count()),
      gauge('coomb_outbox_waiting', 'messages to people that wait to be sent', waiting),
      gauge('coomb_stale_hours', 'hours of homes whose records wait to be worked out', stale),
      ...(watched === null
        ? []
        : [gauge('coomb_watch_round_seconds', 'how long the last look at every home took', watched)]),
      gauge('coomb_healthy', '1 when nothing is wrong, else 0', health().reasons.length === 0 ? 1 : 0),
      ...(newest === null
        ? []
        : [gauge('coomb_backup_age_seconds', 'since the last backup', (clock() - newest) / 1000)]),
      gauge('process_resident_memory_bytes', 'memory of this process', process.memoryUsage.rss()),
    ];
  };
  const pictures = createPictureCleaner();
  const example = createExampleHome({
    store,
    source: exampleSource(config),
    log,
    dwellingsChanged() {
      forget();
      hoursChanged();
    },
  });
  const packs = createPackMaker({
    store,
    place: storePlace(config),
    dataFolder: resolve(config.dataFolder),
    version,
    clock,
  });
  const shares = createShares({ store, dataFolder: resolve(config.dataFolder), clock, readyPack: packs.ready });
  const app = createApp({
    store,
    receiver: { ...receiver, forget },
    rereader,
    topicFilters: config.mqttUrl === undefined ? null : topicFilters(config),
    live,
    servesPages: duties.has('pages'),
    assessor,
    comparer,
    revisions,
    arrivals,
    access: { ...access, reload },
    devicesChanged: () => source.devicesChanged(),
    readHealth,
    delivery,
    clock,
    hoursChanged,
    pictures,
    uploadFolder: join(config.dataFolder, 'uploads'),
    example: example.handlers,
    packs: packs.handlers,
    shares,
    backups,
    log,
    version,
    health,
    metrics,
    trustedProxies: commaList(config.trustedProxies),
    metricsToken: config.metricsToken ?? null,
    isProxied: config.trustedProxies !== '' || (config.publicAddress !== undefined && isLoopback(config.httpHost)),
    webFolder: join(projectFolder, 'dist', 'web'),
  });
  const server = tls === null ? createServer(app) : createTlsServer(tls, app);
  server.keepAliveTimeout = KEPT_OPEN_MS;
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(config.httpPort, config.httpHost, resolve);
  });
  void teller.tell();
  keeper.wake();
  const forecastKeeper = createForecastKeeper({ store: kept, clock, log });
  const comparisonsReady = keepComparisonsReady(
    { dwellings: async () => (duties.has('pages') ? store.dwellings() : []) },
    comparer,
    clock,
    COMPARE_EVERY_MS,
  );
  // once the first pages have their answers; failures are kept in lastError and tried again
  setTimeout(() => {
    keeper
      .settled()
      .then(watcher.look)
      .catch(() => undefined);
  }, WATCH_AFTER_MS).unref();
  setTimeout(() => void comparisonsReady.look().catch(() => undefined), COMPARE_AFTER_MS).unref();
  // what was sealed just before the program stopped
  if (duties.has('upkeep')) for (const id of await store.digestDwellings()) tellSealed(id);
  await example.resume();
  const { port } = server.address() as AddressInfo;
  let closing: string | null = null;
  inspection = inspectAtStart(storePlace(config), log);
  const host = config.httpHost.includes(':') ? `[${config.httpHost}]` : config.httpHost;
  return {
    address: `${tls === null ? 'http' : 'https'}://${host}:${port}`,
    mqttAddress: source.address,
    store,
    settled: keeper.settled,
    watched: watcher.look,
    summarised: summaries.look,
    clockSeen: clockSteps.look,
    closing: () => closing,
    async close() {
      live.close();
      server.closeIdleConnections();
      const closed = new Promise((resolve) => server.close(resolve));
      const inOrder: readonly (readonly [part: string, close: () => Promise<unknown>])[] = [
        ['the look through the database', async () => inspection?.close()],
        ['backups', backups.close],
        ['word to listeners on the broker', teller.close],
        ['broker', source.close],
        // what it is reading again is stored by the writer, which closes meanwhile
        ['readings', () => Promise.all([clockSteps.close(), rereader.close(), writer.close()])],
        ['example', example.close],
        ['packs', packs.close],
        ['messages', delivery.sender.close],
        ['hour records', keeper.close],
        ['forecasts', forecastKeeper.close],
        ['seals', sealer.close],
        ['notices', watcher.close],
        ['summaries', summaries.close],
        // one that is being worked out is broken off
        ['comparisons', () => Promise.all([comparisonsReady.close(), assessor.close()])],
        ['pictures', pictures.close],
        ['word to other processes', fellows.close],
      ];
      for (const [part, close] of inOrder) {
        closing = part;
        await close();
      }
      closing = 'pages';
      server.closeAllConnections();
      await closed;
      closing = 'store';
      await store.close();
    },
  };
}

interface Hearing {
  readonly hub: LiveHub;
  readonly revisions: Revisions;
  readonly arrivals: ArrivalWatch;
  readonly teller: StateTeller;
  readonly keeper: Keeper;
  readonly delivery: Delivery;
  readonly receiver: Intake;
  readonly access: Access;
  readonly group: GroupMember;
  readonly lookedAt: Map<number, number>;
  readonly clock: () => number;
  readonly log: Logger;
}

/** Does what another process asks for by telling what happened there. */
function hear(word: Word, parts: Hearing): void {
  const { hub, revisions, arrivals, teller, keeper, delivery, receiver, access, group, lookedAt, clock, log } = parts;
  if (word.kind === 'dwellings') receiver.forget();
  else if (word.kind === 'access') reloadQuietly(access, log);
  else if (word.kind === 'session-ended') hub.endSession(word.sessionId);
  else if (word.kind === 'stale') keeper.wake();
  else if (word.kind === 'watched') lookedAt.set(word.dwellingId, clock());
  else if (word.kind === 'leaves-group') group.othersLeave().catch(() => undefined);
  else {
    const { dwellingId, event } = word;
    if (event.name === 'reading') {
      keeper.wake();
      arrivals.came([{ dwellingId, sensorKey: event.data.sensorKey, time: Date.parse(event.data.time) }]);
      teller.changed(dwellingId);
    } else if (event.name === 'hours') revisions.hoursRebuilt(dwellingId, Date.parse(event.data.from));
    else if (event.name === 'story') {
      revisions.storyChanged(dwellingId);
      receiver.forget();
    } else if (event.name === 'notice') teller.changed(dwellingId);
    else if (event.name === 'deliveries') delivery.sender.wake();
    hub.publish(dwellingId, event);
  }
}

const reloadQuietly = (access: Access, log: Logger): void => {
  access.reload().catch((error: unknown) => log.error({ err: error }, 'people and devices could not be read again'));
};

async function lastSeal(store: Store, dwellingId: number): Promise<DaySeal | null> {
  const last = (await store.sealing(dwellingId))?.lastDay ?? null;
  return last === null ? null : ((await store.daySeals(dwellingId, last, last + 1))[0] ?? null);
}

/** What is open to others than this machine needs a passphrase. */
function requirePassphrase({ httpHost, trustedProxies }: Config, access: Access): void {
  if ((isLoopback(httpHost) && trustedProxies === '') || access.isGuarded()) return;
  const where = isLoopback(httpHost) ? 'through a proxy' : `on ${httpHost}`;
  throw new ConfigError(
    `The page is to be served ${where}, where others can reach it, and there is no passphrase yet. ` +
      'Set one with: coomb passphrase. Or serve it on 127.0.0.1 without a proxy.',
  );
}

/** Certificate chain and key in PEM. */
interface Tls {
  readonly cert: string;
  readonly key: string;
}

/** @throws ConfigError when the file that a setting names cannot be read */
function readSetting(setting: string, path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (cause) {
    throw new ConfigError(`${setting} names ${path}, which cannot be read: ${(cause as Error).message}`, { cause });
  }
}

function readTls({ tlsCertificate, tlsKey }: Config): Tls | null {
  if (tlsCertificate === undefined || tlsKey === undefined) return null;
  return {
    cert: readSetting('COOMB_TLS_CERTIFICATE', tlsCertificate),
    key: readSetting('COOMB_TLS_KEY', tlsKey),
  };
}

function deliverySettings(config: Config): DeliverySettings {
  const { smtpUrl, publicAddress, webhookRanges, caFile } = config;
  const mail = smtpUrl === undefined ? null : readMailSettings(mailSettings(config, smtpUrl));
  return {
    mailServer: mail?.kind === 'ready' ? mail.server : null,
    publicAddress: publicAddress ?? null,
    webhookRanges: commaList(webhookRanges),
    authorities: caFile === undefined ? [] : [readSetting('COOMB_CA_FILE', caFile)],
    version,
  };
}

/** Loads the invented home in a process of its own: it takes memory and time, and readings must not wait. */
function exampleSource(config: Config): ExampleSource {
  const fromSource = import.meta.url.endsWith('.ts');
  const script = fileURLToPath(new URL(`./commands/example-process.${fromSource ? 'ts' : 'js'}`, import.meta.url));
  const scenario = JSON.parse(readFileSync(join(sampleFolder, 'scenario.json'), 'utf8')) as {
    dwelling: { name: string };
  };
  return {
    name: scenario.dwelling.name,
    load(progress, signal) {
      const child = fork(script, { execArgv: fromSource ? ['--import', 'tsx'] : [], signal, killSignal: 'SIGKILL' });
      return new Promise((resolve, reject) => {
        child.on('message', (report: ExampleReport) => {
          if (report.kind === 'progress') progress(report.step, report.share);
          else if (report.kind === 'done') resolve();
          else reject(new Error(report.reason));
        });
        child.once('error', reject);
        child.once('exit', (code, by) => reject(new Error(endedWords(code, by))));
        child.send({ place: storePlace(config), folder: sampleFolder } satisfies ExampleOrder);
      });
    },
  };
}

interface Source {
  readonly kind: Health['broker']['kind'];
  readonly address: string;
  state(): { connected: boolean; lastError: string | null };
  /** what devices do too much of at this moment, in words */
  crowding(): string[];
  /** accounts of devices changed */
  devicesChanged(): void;
  /** keeps a retained message of ours on the broker; an empty one takes it away */
  publish(topic: string, payload: string): void;
  close(): Promise<void>;
}

/** The broker that sensors publish to: embedded unless an external one is named. */
async function openSource(
  config: Config,
  receiver: Intake,
  access: Access,
  tls: Tls | null,
  group: GroupMember,
  log: Logger,
): Promise<Source> {
  const { mqttHost: host, mqttPort: port, mqttUser, mqttPassword } = config;
  if (config.mqttUrl !== undefined) return subscribeOutside(config, config.mqttUrl, receiver, group, log);
  if (!dutiesOf(config).has('readings')) return elsewhere('', { publish() {}, close: async () => {} });
  const ofSettings = mqttUser === undefined ? [] : [fullAccount(mqttUser, mqttPassword!)];
  const accounts = (): Account[] => [...ofSettings, ...access.deviceTopics()];
  const flow = config.mqttRate === 0 ? null : { ...flowLimit, perSecond: config.mqttRate };
  const broker = await openBroker(receiver, { ...brokerOptions, host, port, accounts, tls, flow }, log);
  return {
    kind: 'embedded',
    address: `${tls === null ? 'mqtt' : 'mqtts'}://${host.includes(':') ? `[${host}]` : host}:${broker.port}`,
    state: () => ({ connected: true, lastError: broker.state().lastError }),
    crowding() {
      const { slowed, full } = broker.state();
      return [
        ...(slowed.length === 0
          ? []
          : [`devices send more than is taken from one and are slowed: ${slowed.join(', ')}`]),
        ...(full ? ['devices are turned away: as many are connected as may be'] : []),
      ];
    },
    devicesChanged: () => broker.expelUnknown(),
    publish: broker.publish,
    close: () => broker.close(),
  };
}

/** Other processes take the readings; this one at most says how homes are. */
const elsewhere = (address: string, states: Pick<RetainedPublisher, 'publish' | 'close'>): Source => ({
  kind: 'elsewhere',
  address,
  state: () => ({ connected: true, lastError: null }),
  crowding: () => [],
  devicesChanged() {},
  publish: states.publish,
  close: () => states.close(),
});

const topicFilters = (config: Config): string[] => config.mqttTopics.split(',').map((topic) => topic.trim());

async function subscribeOutside(
  config: Config,
  url: string,
  receiver: Intake,
  group: GroupMember,
  log: Logger,
): Promise<Source> {
  const connection = {
    url,
    ...(config.mqttUser === undefined ? {} : { username: config.mqttUser, password: config.mqttPassword! }),
    clientId: config.mqttClientId,
  };
  const statusTopic = `${STATE_ROOT}/program/${config.mqttClientId}`;
  const { publishRetained } = await import('./ingest/retained.ts');
  const states = publishRetained({ ...connection, statusTopic }, log);
  const { protocol, host } = new URL(url);
  const address = `${protocol}//${host}`;
  if (!dutiesOf(config).has('readings')) return elsewhere(address, states);
  const options = {
    ...subscriberOptions,
    ...connection,
    topics: topicFilters(config),
    group: config.ingestGroup ?? null,
  };
  const subscriber = subscribeTo(receiver, options, Date.now, log);
  return {
    kind: 'external',
    address,
    state: () => subscriber.state(),
    // the other broker's to see to
    crowding: () => [],
    devicesChanged() {},
    publish: states.publish,
    async close() {
      await states.close();
      if (config.ingestGroup !== undefined && (await group.mayLeave())) await subscriber.leave();
      await subscriber.close();
    },
  };
}
