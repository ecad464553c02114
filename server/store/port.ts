import type { Calibration } from '../analysis/calibration.ts';
import type { HourRecord } from '../analysis/hour-record.ts';
import type { HourColumnName, PlaceHours } from '../analysis/place-hours.ts';
import type { PhaseKind, PlaceKind } from '../analysis/vocabulary.ts';
import type { Quantity } from '../physics/quantities.ts';
import type { Unit } from '../physics/units.ts';
import type { AccessStore, DeviceAccount } from './port-access.ts';
import type { BuildUpStore } from './port-build-ups.ts';
import type { ForecastStore } from './port-forecasts.ts';
import type { NoticeStore } from './port-notices.ts';
import type { OnboardOutcome, PlaceWanted } from './port-onboarding.ts';
import type { OutboxStore } from './port-outbox.ts';
import type { PhotoStore } from './port-photos.ts';
import type { PortfolioStore, PortfolioView } from './port-portfolio.ts';
import type { ProcessStore } from './port-processes.ts';
import type { ProvenanceStore } from './port-provenance.ts';
import type { NotKept, QuarantineBoundStore } from './port-quarantine.ts';
import type { Change, New } from './port-rows.ts';
import type { ShareStore } from './port-shares.ts';

export * from './port-access.ts';
export * from './port-backup.ts';
export * from './port-build-ups.ts';
export * from './port-forecasts.ts';
export * from './port-notices.ts';
export * from './port-onboarding.ts';
export * from './port-outbox.ts';
export * from './port-photos.ts';
export * from './port-portfolio.ts';
export * from './port-processes.ts';
export * from './port-provenance.ts';
export * from './port-quarantine.ts';
export * from './port-rows.ts';
export * from './port-shares.ts';

/**
 * The Store port: everything the program keeps, and nothing about how. All times are UTC milliseconds. Ids are numbered
 * within a dwelling, and every key leads with the dwelling. Methods reject with {@link StoreError}; a wrong argument is
 * a RangeError.
 */
export type Store = DwellingStore &
  CalibrationStore &
  MappingStore &
  ReadingStore &
  HourStore &
  ExampleStore &
  PhotoStore &
  QuarantineStore &
  BuildUpStore &
  OutboxStore &
  ForecastStore &
  AccessStore &
  ShareStore &
  ProvenanceStore &
  NoticeStore &
  PortfolioStore &
  OnboardStore &
  ProcessStore &
  RestoreStore & { close(): Promise<void> };

/** Simple dimensions from which the section is drawn, mm and degrees. */
export interface SectionDimensions {
  readonly pitchDeg: number;
  readonly slopeLengthMm: number;
  readonly roomHeightMm: number;
  readonly liningThicknessMm: number;
  readonly loftInsulationMm: number;
  readonly eavesGapMm: number;
}

export interface Dwelling {
  readonly id: number;
  /** the dwelling's name in topics and addresses: lower-case letters, digits and hyphens */
  readonly slug: string;
  readonly name: string;
  /** IANA time zone */
  readonly zone: string;
  readonly section: SectionDimensions;
}

/** A dwelling with what the store knows of it beyond what was told. */
export interface KnownDwelling extends Dwelling {
  /** of invented data, and can be removed */
  readonly isExample: boolean;
  /** whether its people have kept the section since the dwelling was added, changed or as it was */
  readonly sectionConfirmed: boolean;
}

/**
 * Where on the drawn section a place is, each from 0 to 1 over the room there is for its kind: along from the ridge side
 * to the eaves side, up from the lowest to the highest. A surface has no height of its own: up is 0 there.
 */
export interface SectionPosition {
  readonly along: number;
  readonly up: number;
}

export interface Place {
  readonly id: number;
  readonly dwellingId: number;
  readonly name: string;
  readonly kind: PlaceKind;
  /** the room air a surface faces; null: the dwelling's first room air */
  readonly facesPlaceId: number | null;
  /** null: where places of its kind usually are */
  readonly position: SectionPosition | null;
}

export type NewPlace = Omit<New<Place>, 'position'> & Partial<Pick<Place, 'position'>>;

export interface Sensor {
  readonly id: number;
  readonly dwellingId: number;
  /** last part of its topic, or its import name */
  readonly key: string;
  readonly name: string;
  /** chip or device type as the user names it, for its data-sheet accuracy */
  readonly model: string | null;
}

/** A sensor stands at a place from a time (inclusive) to a time (exclusive; null: still there). */
export interface Placement {
  readonly id: number;
  readonly dwellingId: number;
  readonly sensorId: number;
  readonly placeId: number;
  readonly from: number;
  readonly to: number | null;
}

export interface Series {
  readonly id: number;
  readonly dwellingId: number;
  readonly sensorId: number;
  readonly quantity: Quantity;
  /** seconds between readings, learned from the first ones or set by the user; null: not known yet */
  readonly intervalSeconds: number | null;
}

export interface Phase {
  readonly id: number;
  readonly dwellingId: number;
  readonly kind: PhaseKind;
  readonly name: string;
  readonly from: number;
  /** exclusive; null: still running */
  readonly to: number | null;
}

export interface DiaryEntry {
  readonly id: number;
  readonly dwellingId: number;
  readonly time: number;
  readonly kind: string;
  readonly text: string;
}

export interface DwellingStore {
  dwellings(): Promise<KnownDwelling[]>;
  /** By its name in topics and addresses; null: there is none. */
  findDwelling(slug: string): Promise<KnownDwelling | null>;
  /** The first that may be seen, in order of id, and the one of a slug where it is named and not among them. */
  someDwellings(view: PortfolioView, most: number, slug: string | null): Promise<KnownDwelling[]>;
  addDwelling(dwelling: New<Dwelling>): Promise<KnownDwelling>;
  /** A section that is given, even one that was there before, is confirmed by it. */
  changeDwelling(id: number, change: Change<Dwelling>): Promise<KnownDwelling>;

  places(dwellingId: number): Promise<Place[]>;
  addPlace(place: NewPlace): Promise<Place>;
  changePlace(dwellingId: number, id: number, change: Change<Place>): Promise<Place>;

  sensors(dwellingId: number): Promise<Sensor[]>;
  /** Finds the sensor of that key or makes one. */
  ensureSensor(dwellingId: number, key: string): Promise<Sensor>;
  changeSensor(dwellingId: number, id: number, change: Change<Sensor>): Promise<Sensor>;

  placements(dwellingId: number): Promise<Placement[]>;
  /**
   * Stands a sensor at a place from a time on; the placement that runs then ends there, and one that begins later
   * bounds the new one. `placeId` null takes the sensor away.
   */
  placeSensor(dwellingId: number, sensorId: number, placeId: number | null, from: number): Promise<void>;

  series(dwellingId: number): Promise<Series[]>;
  setInterval(dwellingId: number, seriesId: number, intervalSeconds: number | null): Promise<void>;

  phases(dwellingId: number): Promise<Phase[]>;
  addPhase(phase: New<Phase>): Promise<Phase>;
  changePhase(dwellingId: number, id: number, change: Change<Phase>): Promise<Phase>;
  removePhase(dwellingId: number, id: number): Promise<void>;

  diary(dwellingId: number): Promise<DiaryEntry[]>;
  addDiaryEntry(entry: New<DiaryEntry>): Promise<DiaryEntry>;
  changeDiaryEntry(dwellingId: number, id: number, change: Change<DiaryEntry>): Promise<DiaryEntry>;
  removeDiaryEntry(dwellingId: number, id: number): Promise<void>;
}

/** A dwelling of invented data, to try the program with. Only such a one can ever be removed. */
export interface Example {
  readonly dwellingId: number;
  /** it is being removed: it is no longer among the dwellings, and what is left of it goes */
  readonly leaving: boolean;
}

export interface SensorWanted {
  readonly key: string;
  readonly name: string;
  readonly model: string | null;
  /** name of the place where it stands, where it has stood nowhere yet; null: it is placed later */
  readonly place: string | null;
  /** how the topic it sends on is read, where that is not its own; null: its own */
  readonly mapping: Pick<Mapping, 'topicPattern' | 'values'> | null;
  /** what it signs in with, where there is no such account yet; null: none */
  readonly account: Pick<DeviceAccount, 'username' | 'passwordHash'> | null;
}

/** A home with all that is to be there of it. */
export interface HomeWanted {
  /** its section is that of a new one */
  readonly dwelling: New<Dwelling>;
  /** null: left as it is */
  readonly area: string | null;
  readonly buildType: string | null;
  /** name of a group that it is put into as well; made where there is none; null: none */
  readonly group: string | null;
  /** a place that another faces stands before it */
  readonly places: readonly PlaceWanted[];
  readonly sensors: readonly SensorWanted[];
}

export interface OnboardStore {
  /**
   * Adds what is not there yet of a home, by its slug, names of places and keys of sensors: all of it or nothing. What is
   * there stays as it is, so that the same can be asked for again.
   *
   * @param at from when on sensors stand where they are placed, UTC milliseconds
   * @throws StoreError `not-found` for a place that is neither there nor wanted, `already-there` for an account's name
   * that another home has
   */
  onboard(home: HomeWanted, at: number): Promise<OnboardOutcome>;
}

export interface ExampleStore {
  /** Adds a dwelling as an example. One that was added otherwise can never become an example. */
  addExample(dwelling: New<Dwelling>): Promise<Dwelling>;
  /** In order of id, those being removed too. */
  examples(): Promise<Example[]>;
  /**
   * Takes an example out of the dwellings at once; {@link removeSome} then removes what belongs to it.
   *
   * @throws StoreError `not-found` when it is no example
   */
  beginRemoval(dwellingId: number): Promise<void>;
  /**
   * Removes up to `most` rows of an example that is being removed, in one transaction, and at last the example itself.
   *
   * @returns whether it is gone
   * @throws StoreError `not-found` when it is no example that is being removed
   */
  removeSome(dwellingId: number, most: number): Promise<'more' | 'gone'>;
}

/** A calibration as it is kept: once made it never changes, and can only be withdrawn. */
export interface CalibrationRecord extends Calibration {
  readonly id: number;
  readonly dwellingId: number;
  /** what the people want to remember of it; may be empty */
  readonly note: string;
}

export interface CalibrationStore {
  /** All calibrations ever made, withdrawn ones too, in order of id. */
  calibrations(dwellingId: number): Promise<CalibrationRecord[]>;
  /** Keeps all of them or none, and marks the hours they change as stale. They are in use at once. */
  addCalibrations(
    dwellingId: number,
    calibrations: readonly Omit<CalibrationRecord, 'id' | 'dwellingId' | 'withdrawnAt'>[],
  ): Promise<CalibrationRecord[]>;
  /**
   * Takes a calibration back from all the hours it was applied to; its row stays. One that is withdrawn already keeps
   * its first time.
   */
  withdrawCalibration(dwellingId: number, id: number, withdrawnAt: number): Promise<CalibrationRecord>;
}

export const timeForms = ['iso-8601', 'epoch-s', 'epoch-ms'] as const;
export type TimeForm = (typeof timeForms)[number];

/** Where in a message a value stands, and what it is: `value * scale + offset` in `unit`. */
export interface MappedValue {
  /** JSON Pointer; empty: the message itself is the value */
  readonly pointer: string;
  readonly quantity: Quantity;
  readonly unit: Unit;
  readonly scale: number;
  readonly offset: number;
  /** template of the key where this value is of another sensor than the rest; null: it is not */
  readonly sensorKey: string | null;
}

export interface MappedTime {
  /** JSON Pointer */
  readonly pointer: string;
  readonly form: TimeForm;
}

/** How messages of any other form are read. */
export interface Mapping {
  readonly id: number;
  readonly dwellingId: number;
  /** an MQTT topic filter in which a level may hold a named part: `attic/{sensor}/state` */
  readonly topicPattern: string;
  /** template of the sensor's key, made of text and the named parts: `attic-{sensor}` */
  readonly sensorKey: string;
  /** none: the messages name their quantities themselves, flat or in SenML */
  readonly values: readonly MappedValue[];
  /** null: the time of receipt */
  readonly time: MappedTime | null;
}

export interface MappingStore {
  /** Of all dwellings, in order of dwelling and id. */
  mappings(): Promise<Mapping[]>;
  addMapping(mapping: New<Mapping>): Promise<Mapping>;
  changeMapping(dwellingId: number, id: number, change: Change<Mapping>): Promise<Mapping>;
  removeMapping(dwellingId: number, id: number): Promise<void>;
}

export interface IncomingReading {
  readonly dwellingId: number;
  readonly sensorKey: string;
  readonly quantity: Quantity;
  readonly time: number;
  readonly value: number;
}

/** A message that could not be understood, kept as it came. */
export interface QuarantinedMessage {
  readonly receivedAt: number;
  /** 'mqtt', 'mqtt-retained' (a broker's copy of an old message), 'http' or 'import' */
  readonly source: string;
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly code: string;
  readonly message: string;
}

/** What one commit writes: all of it, or nothing. */
export interface Batch {
  readonly receivedAt: number;
  readonly readings: readonly IncomingReading[];
  readonly quarantined: readonly QuarantinedMessage[];
  /** messages out of quarantine from which readings of this batch were read in */
  readonly resolved?: readonly ResolvedMessage[];
  /** messages that were not kept, to be counted */
  readonly notKept?: readonly NotKept[];
  /** the import that the readings came out of; left out: none */
  readonly importId?: number | null;
}

export interface ResolvedMessage {
  /** of the row in quarantine */
  readonly id: number;
  readonly at: number;
}

export interface AppendOutcome {
  readonly stored: number;
  /** the same reading again */
  readonly repeated: number;
  /** another value for an instant that has one: kept aside for the user to see */
  readonly conflicting: number;
}

/** One series as columns, in time order. */
export interface SeriesColumns {
  readonly seriesId: number;
  readonly sensorId: number;
  readonly quantity: Quantity;
  readonly intervalSeconds: number | null;
  readonly times: Float64Array;
  readonly values: Float64Array;
}

export interface LastReading {
  readonly seriesId: number;
  readonly time: number;
  readonly value: number;
}

export interface Conflict {
  readonly seriesId: number;
  readonly time: number;
  readonly keptValue: number;
  readonly otherValue: number;
  readonly receivedAt: number;
}

export interface ReadingStore {
  /** Writes a batch in one durable transaction and marks the hours it touches as stale. Unknown sensors are made. */
  append(batch: Batch): Promise<AppendOutcome>;
  /** Readings with `from <= time < to` of a dwelling, a column pair per series that has any. */
  seriesColumns(dwellingId: number, from: number, to: number): Promise<SeriesColumns[]>;
  /** The same of one series; null where it has none. */
  oneSeriesColumns(dwellingId: number, seriesId: number, from: number, to: number): Promise<SeriesColumns | null>;
  /** Readings of one series, oldest first. */
  readings(dwellingId: number, seriesId: number, from: number, to: number, limit: number): Promise<LastReading[]>;
  lastReadings(dwellingId: number): Promise<LastReading[]>;
  countReadings(dwellingId: number): Promise<number>;
  conflicts(dwellingId: number, limit: number): Promise<Conflict[]>;
}

export interface QuarantineRow extends QuarantinedMessage {
  readonly id: number;
  /** when it was read in after all; null: not yet */
  readonly resolvedAt: number | null;
}

/** The last message of a topic in quarantine that was not read in yet, and how many there are with that reason. */
export interface QuarantineGroup {
  readonly topic: string;
  readonly code: string;
  readonly message: string;
  readonly count: number;
  readonly firstAt: number;
  readonly lastAt: number;
  /** at most 64 KiB and a byte of it */
  readonly lastPayload: Uint8Array;
}

export interface QuarantineStore extends QuarantineBoundStore {
  quarantineGroups(limit: number): Promise<QuarantineGroup[]>;
  /** The last messages of a topic, read in or not. */
  quarantined(topic: string, limit: number): Promise<QuarantineRow[]>;
  /** Messages not read in yet. */
  countQuarantined(): Promise<number>;
  /** Topics with messages not read in yet, after `after` in order of code points. */
  unresolvedTopics(after: string, limit: number): Promise<string[]>;
  /** Messages of a topic not read in yet, oldest first, after an id; fewer than `limit` where they are large. */
  unresolved(topic: string, afterId: number, limit: number): Promise<QuarantineRow[]>;
}

/** An hour whose records no longer match the readings. `mark` changes when it becomes stale again. */
export interface StaleHour {
  readonly dwellingId: number;
  readonly hour: number;
  readonly mark: number;
}

export interface HourStore {
  /** Dwellings that have stale hours, in order of id. */
  staleDwellings(): Promise<number[]>;
  /** Up to `limit` stale hours of a dwelling from a time on, in order of time. */
  staleHours(dwellingId: number, from: number, limit: number): Promise<StaleHour[]>;
  /** Stale hours of all dwellings. */
  countStaleHours(): Promise<number>;
  /**
   * Puts `records` in the place of all records of these hours and clears the marks that have not changed since.
   * One transaction.
   */
  replaceHours(dwellingId: number, hours: readonly StaleHour[], records: readonly HourRecord[]): Promise<void>;
  /** Deletes every hour record of the dwelling and marks every hour that has readings as stale. */
  discardHours(dwellingId: number): Promise<void>;
  hourRecords(dwellingId: number, placeId: number, from: number, to: number): Promise<HourRecord[]>;
  /** The columns named, an entry per whole hour of `[from, to)`; what is not known or too little covered is NaN. */
  hourColumns<Name extends HourColumnName>(
    dwellingId: number,
    placeId: number,
    from: number,
    to: number,
    names: readonly Name[],
  ): Promise<Record<Name, Float64Array>>;
  /** Columns over the whole hours of `[from, to)`; hours with too little coverage are NaN. */
  placeHours(dwellingId: number, placeId: number, from: number, to: number): Promise<PlaceHours>;
  /** First and last hour with a record, or null. */
  hourSpan(dwellingId: number): Promise<{ first: number; last: number } | null>;
}

/** A dwelling and all that is known of it but its readings, with the ids it has. */
export interface DwellingContents {
  readonly dwelling: Dwelling;
  readonly places: readonly Place[];
  readonly sensors: readonly Sensor[];
  readonly series: readonly Series[];
  readonly placements: readonly Placement[];
  readonly phases: readonly Phase[];
  readonly calibrations: readonly CalibrationRecord[];
  readonly diary: readonly DiaryEntry[];
}

export interface RestoreStore {
  /**
   * Puts a dwelling into a store that has none, under the ids it had, so that what was worked out elsewhere can be
   * worked out again. All or nothing.
   */
  restore(contents: DwellingContents): Promise<void>;
}

/** What a look at a store from outside shows, before it is opened for work. */
export interface StoreInspection {
  /** version of the schema it was left with, and the one this program works with */
  readonly schemaVersion: number;
  readonly knownVersion: number;
  /** what is damaged, as the engine says it; empty: nothing */
  readonly damage: readonly string[];
}

export type StoreFault =
  | 'not-found'
  | 'already-there'
  | 'newer-schema'
  | 'full'
  | 'read-only'
  | 'busy'
  /** the engine is elsewhere and does not answer: may be tried again */
  | 'unreachable'
  | 'failed';

/** The store could not do what was asked. `fault` says why. */
export class StoreError extends Error {
  readonly fault: StoreFault;
  constructor(fault: StoreFault, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = 'StoreError';
    this.fault = fault;
  }
}
