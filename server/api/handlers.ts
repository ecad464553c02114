import { IANAZone } from 'luxon';
import { healthSettings } from '../analysis/health/settings.ts';
import type { DwellingNow } from '../analysis/now.ts';
import { type HourColumnName, hourColumnNames } from '../analysis/place-hours.ts';
import { riskCriterionWords } from '../analysis/risk.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { winterTallies } from '../analysis/winters.ts';
import type { MessageReceiver } from '../ingest/forecast-receiver.ts';
import type { Rereader } from '../ingest/reread.ts';
import { hoursOver } from '../physics/hours-over.ts';
import { cleanSurface, mouldIndex } from '../physics/mould-index.ts';
import { mouldStage } from '../physics/mould-stage.ts';
import { TIMBER_MOISTURE_LIMIT, timberMoisture } from '../physics/timber.ts';
import type { PictureCleaner } from '../pictures/clean.ts';
import type { Backups } from '../store/backups.ts';
import type { Dwelling, KnownDwelling, Phase, Place, Store } from '../store/port.ts';
import type { Delivery } from '../watch/delivery.ts';
import { type AccessParts, accessHandlers } from './access/handlers.ts';
import { viewOf } from './access/homes.ts';
import { adviceHandlers } from './advice.ts';
import type { ArrivalWatch } from './arrivals.ts';
import type { Assessor } from './assessor.ts';
import { backupHandlers } from './backups.ts';
import { calibrationHandlers } from './calibrations.ts';
import type { Comparer } from './comparison.ts';
import type { ExampleHome } from './example.ts';
import { exportHandlers } from './exports.ts';
import { createImportHandlers } from './imports.ts';
import { liningHandlers } from './lining.ts';
import type { LiveHub } from './live.ts';
import { createMappingHandlers, type MappingParts } from './mappings.ts';
import { nightHandlers } from './nights.ts';
import { noticeHandlers } from './notices.ts';
import { type HealthReader, readNow } from './now.ts';
import { onboardingHandlers } from './onboarding.ts';
import type { PackMaker } from './packs.ts';
import { createPhotoHandlers } from './photos.ts';
import { portfolioHandlers } from './portfolio.ts';
import { RequestProblem } from './problem.ts';
import { quarantineHandlers } from './quarantine.ts';
import { recipientHandlers } from './recipients.ts';
import type { Revisions } from './revisions.ts';
import type { Handlers } from './router.ts';
import { findingsAbout, healthOf, healthSpan } from './sensor-health.ts';
import type { Shares } from './shares.ts';
import { tonightHandlers } from './tonight.ts';
import { figuresWanted, readTrack } from './tracks.ts';
import { readTrends } from './trends.ts';
import {
  columnView,
  diaryView,
  dwellingView,
  phaseView,
  placeNowView,
  placeView,
  sensorView,
  toInstant,
} from './views.ts';

export interface ApiParts extends MappingParts, AccessParts {
  readonly store: Store;
  readonly receiver: Pick<MessageReceiver, 'receive' | 'read' | 'forget'>;
  readonly rereader: Pick<Rereader, 'run' | 'runStoodBack'>;
  readonly live: Pick<LiveHub, 'publish'>;
  readonly assessor: Pick<Assessor, 'checkLining'>;
  readonly comparer: Pick<Comparer, 'compare'>;
  readonly revisions: Revisions;
  readonly arrivals: Pick<ArrivalWatch, 'of'>;
  readonly readHealth: HealthReader;
  readonly delivery: Delivery;
  readonly clock: () => number;
  /** hours of a dwelling became stale by a change that was not a reading */
  readonly hoursChanged: () => void;
  readonly pictures: PictureCleaner;
  /** where files that are being imported stay meanwhile */
  readonly uploadFolder: string;
  readonly example: ExampleHome['handlers'];
  readonly packs: PackMaker['handlers'];
  readonly shares: Shares;
  readonly backups: Backups;
}

const MOST_CONFLICTS = 500;
const LONGEST_SPAN_HOURS = 20 * 366 * 24;

/** What the API does for each operation of the contract. */
export function createHandlers(parts: ApiParts): Handlers {
  const { store, receiver, rereader, live, revisions, readHealth, clock, hoursChanged } = parts;
  const dwellingOf = (params: { dwelling: string }): Promise<KnownDwelling> => findDwelling(store, params.dwelling);
  const storyChanged = (dwelling: Dwelling): void => {
    revisions.storyChanged(dwelling.id);
    live.publish(dwelling.id, { name: 'story', data: {} });
  };

  async function sensorsOf(dwelling: Dwelling) {
    const [sensors, placements, places, series, last, calibrations] = await Promise.all([
      store.sensors(dwelling.id),
      store.placements(dwelling.id),
      store.places(dwelling.id),
      store.series(dwelling.id),
      store.lastReadings(dwelling.id),
      store.calibrations(dwelling.id),
    ]);
    const { ofSensor } = await readHealth(dwelling);
    return sensors.map((sensor) => {
      const health = healthOf(ofSensor, sensor.id);
      return sensorView(sensor, { placements, places, series, last, calibrations, health }, clock(), dwelling.zone);
    });
  }

  async function sensorOf(dwelling: Dwelling, id: number) {
    const sensor = (await sensorsOf(dwelling)).find((candidate) => candidate.id === id);
    if (!sensor) throw new RequestProblem('not-found', `There is no sensor ${id} in ${dwelling.slug}.`);
    return sensor;
  }

  const stateOf = (dwelling: Dwelling, time: number): Promise<DwellingNow> =>
    readNow(store, readHealth, dwelling, time);

  return {
    ...createMappingHandlers(parts, dwellingOf),
    ...accessHandlers(parts, dwellingOf),
    ...createPhotoHandlers(parts, dwellingOf),
    ...createImportHandlers(parts, dwellingOf, storyChanged),
    ...parts.example,
    ...parts.packs,
    ...parts.shares.handlers,
    ...backupHandlers(parts.backups),
    ...exportHandlers({ store, dwellingOf }),
    ...quarantineHandlers({ store, receiver, rereader, clock }),
    ...noticeHandlers({ store, clock, live, dwellingOf }),
    ...recipientHandlers({ store, delivery: parts.delivery, clock, dwellingOf }),
    ...tonightHandlers({ store, revisions, clock, dwellingOf }),
    ...portfolioHandlers({ store, clock, dwellingOf }),
    ...onboardingHandlers({
      store,
      clock,
      async changed() {
        receiver.forget();
        await parts.access.reload();
        parts.devicesChanged();
        hoursChanged();
        await rereader.run();
      },
    }),

    async listDwellings({ query, visit }) {
      const view = viewOf(visit.actor, 'figures');
      const { most = Number.MAX_SAFE_INTEGER, with: slug = null } = query;
      return (await store.someDwellings(view, most, slug)).map(dwellingView);
    },

    async addDwelling({ body }) {
      checkZone(body.zone);
      const dwelling = await store.addDwelling(body);
      receiver.forget();
      await rereader.run();
      return dwellingView(dwelling);
    },

    async getDwelling({ params }) {
      return dwellingView(await dwellingOf(params));
    },

    async changeDwelling({ params, body }) {
      const dwelling = await dwellingOf(params);
      if (body.zone !== undefined) checkZone(body.zone);
      const changed = await store.changeDwelling(dwelling.id, body);
      storyChanged(dwelling);
      return dwellingView(changed);
    },

    async getNow({ params }) {
      const dwelling = await dwellingOf(params);
      const time = clock();
      const [places, placements, state, sensors] = await Promise.all([
        store.places(dwelling.id),
        store.placements(dwelling.id),
        stateOf(dwelling, time),
        sensorsOf(dwelling),
      ]);
      const trends = await readTrends(store, dwelling, places, placements, time);
      const placed = sensors.filter(({ placements }) => placements.some(({ to }) => to === null));
      const lastTimes = sensors.flatMap(({ series }) => series.flatMap(({ last }) => (last ? [last.time] : [])));
      return {
        time: toInstant(time),
        headline: state.headline,
        headlineAbout: state.headlineAbout,
        detail: state.detail,
        places: state.places.map((place) =>
          placeNowView(place, {
            findings: findingsAbout(place.placeId, places, sensors),
            trends: trends.get(place.placeId) ?? [],
            position: places.find(({ id }) => id === place.placeId)?.position ?? null,
          }),
        ),
        heard: {
          sensors: placed.length,
          heard: placed.filter(({ health }) => health.state === 'heard').length,
          lastReading: lastTimes.sort().at(-1) ?? null,
        },
      };
    },

    ...nightHandlers({ store, clock, dwellingOf }),
    ...adviceHandlers({ store, clock, dwellingOf, stateOf }),

    async listPlaces({ params }) {
      return (await store.places((await dwellingOf(params)).id)).map(placeView);
    },

    async addPlace({ params, body }) {
      const dwelling = await dwellingOf(params);
      const place = await store.addPlace({ ...body, dwellingId: dwelling.id });
      storyChanged(dwelling);
      return placeView(place);
    },

    async changePlace({ params, body }) {
      const dwelling = await dwellingOf(params);
      const place = await store.changePlace(dwelling.id, params.id, body);
      hoursChanged();
      storyChanged(dwelling);
      return placeView(place);
    },

    async getHours({ params, query }) {
      const dwelling = await dwellingOf(params);
      const place = await findPlace(store, dwelling, params.id);
      const { from, to } = await wholeHours(store, dwelling, query);
      const names = columnsWanted(query.columns);
      const columns = await store.hourColumns(dwelling.id, place.id, from, to, names);
      return {
        placeId: place.id,
        start: toInstant(from),
        hours: (to - from) / HOUR_MS,
        columns: Object.fromEntries(names.map((name) => [name, columnView(columns[name])])),
      };
    },

    async getTrack({ params, query }) {
      const dwelling = await dwellingOf(params);
      const place = await findPlace(store, dwelling, params.id);
      const span = await wholeHours(store, dwelling, query);
      return readTrack(store, dwelling, place, {
        ...span,
        figures: figuresWanted(query.figures),
        points: query.points,
      });
    },

    async getWinters({ params }) {
      const dwelling = await dwellingOf(params);
      const place = await findPlace(store, dwelling, params.id);
      const { from, to } = await wholeHours(store, dwelling, {});
      const hours = await store.placeHours(dwelling.id, place.id, from, to);
      return {
        placeId: place.id,
        criterion: riskCriterionWords(),
        winters: winterTallies(hours, dwelling.zone).map((winter) => ({
          ...winter,
          start: toInstant(winter.start),
          cumulativeRiskHours: [...winter.cumulativeRiskHours],
        })),
      };
    },

    async getMould({ params, query }) {
      const dwelling = await dwellingOf(params);
      const place = await findPlace(store, dwelling, params.id);
      const { from, to } = await wholeHours(store, dwelling, query);
      const { temperature, surfaceHumidity } = await store.placeHours(dwelling.id, place.id, from, to);
      if (place.kind === 'room-air' || place.kind === 'outdoor-air' || place.kind === 'supply-air') {
        throw new RequestProblem('bad-request', `${place.name} is air, and mould grows on surfaces: choose a surface.`);
      }
      const chosen = query.sensitivity === undefined ? {} : { sensitivity: query.sensitivity };
      const { index, state, options } = mouldIndex(temperature, surfaceHumidity, cleanSurface, chosen);
      return {
        placeId: place.id,
        start: toInstant(from),
        hours: index.length,
        index: Array.from(index),
        highest: state.highest,
        stage: mouldStage(state.highest),
        growthHours: state.growthHours,
        unknownHours: state.unknownHours,
        options: { ...options },
        source: 'Hukka & Viitanen (1999); Viitanen & Ojanen (2007); Ojanen et al. (2010)',
      };
    },

    async getTimber({ params, query }) {
      const dwelling = await dwellingOf(params);
      const place = await findPlace(store, dwelling, params.id);
      const { from, to } = await wholeHours(store, dwelling, query);
      const { temperature, humidity } = await store.placeHours(dwelling.id, place.id, from, to);
      const { moisture, state, timeConstantHours } = timberMoisture(temperature, humidity);
      return {
        placeId: place.id,
        start: toInstant(from),
        hours: moisture.length,
        moisture: columnView(moisture),
        hoursOver: hoursOver(moisture, TIMBER_MOISTURE_LIMIT, 'above').hours,
        limit: TIMBER_MOISTURE_LIMIT,
        timeConstantHours,
        unknownHours: state.unknownHours,
        source: 'USDA Wood Handbook (2010), equation 4-5; lag of 10 mm of softwood, diffusivity from memory',
      };
    },

    async getComparison({ params, query }) {
      return parts.comparer.compare(await dwellingOf(params), query);
    },

    async listSensors({ params }) {
      return sensorsOf(await dwellingOf(params));
    },

    async listSensorFindings({ params }) {
      const health = await readHealth(await dwellingOf(params));
      return {
        ...healthSpan(health),
        settings: { ...healthSettings },
        findings: [...health.ofSensor.values()].flatMap(({ findings }) => findings),
      };
    },

    async changeSensor({ params, body }) {
      const dwelling = await dwellingOf(params);
      await store.changeSensor(dwelling.id, params.id, body);
      storyChanged(dwelling);
      return sensorOf(dwelling, params.id);
    },

    async placeSensor({ params, body }) {
      const dwelling = await dwellingOf(params);
      await store.placeSensor(dwelling.id, params.id, body.placeId, Date.parse(body.from));
      hoursChanged();
      storyChanged(dwelling);
      return sensorOf(dwelling, params.id);
    },

    ...calibrationHandlers({
      store,
      clock,
      dwellingOf,
      changed(dwelling) {
        hoursChanged();
        storyChanged(dwelling);
      },
    }),

    ...liningHandlers({ store, assessor: parts.assessor, clock, dwellingOf }),

    async listPhases({ params }) {
      return (await store.phases((await dwellingOf(params)).id)).map(phaseView);
    },

    async addPhase({ params, body }) {
      const dwelling = await dwellingOf(params);
      const phase = { ...body, ...phaseSpan(body.from, body.to), dwellingId: dwelling.id };
      const added = await store.addPhase(phase);
      storyChanged(dwelling);
      return phaseView(added);
    },

    async changePhase({ params, body }) {
      const dwelling = await dwellingOf(params);
      const old = await findPhase(store, dwelling, params.id);
      const span = phaseSpan(
        body.from ?? toInstant(old.from),
        body.to === undefined ? (old.to === null ? null : toInstant(old.to)) : body.to,
      );
      const changed = await store.changePhase(dwelling.id, params.id, { ...body, ...span });
      storyChanged(dwelling);
      return phaseView(changed);
    },

    async removePhase({ params }) {
      const dwelling = await dwellingOf(params);
      await store.removePhase(dwelling.id, params.id);
      storyChanged(dwelling);
      return undefined;
    },

    async listDiary({ params }) {
      const { id } = await dwellingOf(params);
      const [entries, photos] = await Promise.all([store.diary(id), store.photos(id)]);
      return entries.map((entry) => diaryView(entry, photos)).sort((a, b) => (a.time < b.time ? 1 : -1));
    },

    async addDiaryEntry({ params, body }) {
      const dwelling = await dwellingOf(params);
      const { photos, ...told } = body;
      const entry = await store.addDiaryEntry({ ...told, time: Date.parse(told.time), dwellingId: dwelling.id });
      if (photos !== undefined) await store.setEntryPhotos(dwelling.id, entry.id, photos);
      storyChanged(dwelling);
      return diaryView(entry, await store.photos(dwelling.id));
    },

    async changeDiaryEntry({ params, body }) {
      const dwelling = await dwellingOf(params);
      const { time, photos, ...rest } = body;
      const change = time === undefined ? rest : { ...rest, time: Date.parse(time) };
      const entry = await store.changeDiaryEntry(dwelling.id, params.id, change);
      if (photos !== undefined) await store.setEntryPhotos(dwelling.id, entry.id, photos);
      storyChanged(dwelling);
      return diaryView(entry, await store.photos(dwelling.id));
    },

    async removeDiaryEntry({ params }) {
      const dwelling = await dwellingOf(params);
      await store.removeDiaryEntry(dwelling.id, params.id);
      storyChanged(dwelling);
      return undefined;
    },

    async listConflicts({ params }) {
      const dwelling = await dwellingOf(params);
      const [conflicts, series, sensors] = await Promise.all([
        store.conflicts(dwelling.id, MOST_CONFLICTS),
        store.series(dwelling.id),
        store.sensors(dwelling.id),
      ]);
      return conflicts.map((conflict) => {
        const own = series.find(({ id }) => id === conflict.seriesId);
        return {
          sensorKey: sensors.find(({ id }) => id === own?.sensorId)?.key ?? '',
          quantity: own?.quantity ?? '',
          time: toInstant(conflict.time),
          keptValue: conflict.keptValue,
          otherValue: conflict.otherValue,
          receivedAt: toInstant(conflict.receivedAt),
        };
      });
    },

    async sendReadings({ params, body }) {
      const dwelling = await dwellingOf(params);
      const topic = `coomb/${dwelling.slug}/${params.sensor}`;
      const receipt = await receiver.receive('http', topic, body as Uint8Array);
      if (receipt.kind === 'stored') return { readings: receipt.readings, fault: receipt.fault };
      if (receipt.kind === 'quarantined') throw new RequestProblem('quarantined', receipt.fault.message);
      throw new RequestProblem('bad-request', 'Only a broker sends retained messages.');
    },
  };
}

function checkZone(zone: string): void {
  if (IANAZone.isValidZone(zone)) return;
  throw new RequestProblem('bad-request', `${zone} is not an IANA time zone; one is Europe/London.`, [
    { pointer: '/zone', detail: 'not an IANA time zone' },
  ]);
}

async function findDwelling(store: Store, slug: string): Promise<KnownDwelling> {
  const dwelling = await store.findDwelling(slug);
  if (!dwelling) throw new RequestProblem('not-found', `There is no dwelling ${slug}.`);
  return dwelling;
}

async function findPlace(store: Store, dwelling: Dwelling, id: number): Promise<Place> {
  const place = (await store.places(dwelling.id)).find((candidate) => candidate.id === id);
  if (!place) throw new RequestProblem('not-found', `There is no place ${id} in ${dwelling.slug}.`);
  return place;
}

async function findPhase(store: Store, dwelling: Dwelling, id: number): Promise<Phase> {
  const phase = (await store.phases(dwelling.id)).find((candidate) => candidate.id === id);
  if (!phase) throw new RequestProblem('not-found', `There is no phase ${id} in ${dwelling.slug}.`);
  return phase;
}

function phaseSpan(from: string, to: string | null): { from: number; to: number | null } {
  const span = { from: Date.parse(from), to: to === null ? null : Date.parse(to) };
  if (span.to !== null && span.to <= span.from) {
    throw new RequestProblem('bad-request', 'A phase must end after it begins.', [
      { pointer: '/to', detail: 'must be later than from' },
    ]);
  }
  return span;
}

/** The whole hours of a span; where an end is left out, as far as there are hour records. */
async function wholeHours(
  store: Store,
  dwelling: Dwelling,
  query: { from?: string | undefined; to?: string | undefined },
): Promise<{ from: number; to: number }> {
  const span = await store.hourSpan(dwelling.id);
  const first = span?.first ?? 0;
  const end = span ? span.last + HOUR_MS : 0;
  const from = Math.floor((query.from === undefined ? first : Date.parse(query.from)) / HOUR_MS) * HOUR_MS;
  const to = Math.ceil((query.to === undefined ? end : Date.parse(query.to)) / HOUR_MS) * HOUR_MS;
  if (to < from) throw new RequestProblem('bad-request', 'The span must end after it begins.');
  if ((to - from) / HOUR_MS > LONGEST_SPAN_HOURS) throw new RequestProblem('bad-request', 'Ask for at most 20 years.');
  return { from, to };
}

function columnsWanted(list: string | undefined): readonly HourColumnName[] {
  if (list === undefined) return hourColumnNames;
  return list.split(',').map((name) => {
    const known = hourColumnNames.find((candidate) => candidate === name.trim());
    if (!known)
      throw new RequestProblem('bad-request', `There is no column ${name}; there are ${hourColumnNames.join(', ')}.`);
    return known;
  });
}
