import { calibrationMethods } from '../analysis/calibration.ts';
import type { HourRecord } from '../analysis/hour-record.ts';
import { phaseKinds, placeKinds } from '../analysis/vocabulary.ts';
import { type Quantity, quantities, quantityNames } from '../physics/quantities.ts';
import { dayText } from '../store/canonical.ts';
import type {
  CalibrationRecord,
  Conflict,
  DaySeal,
  DiaryEntry,
  Dwelling,
  ImportedFile,
  Phase,
  Photo,
  Place,
  Placement,
  QuarantineRow,
  Sensor,
  Series,
  SeriesSeal,
} from '../store/port.ts';
import type { Figure } from './figures.ts';
import type { Field, FieldType, Table } from './table.ts';

/** Every table of a pack. Names of columns end in their unit; times are UTC. */

type Value<Row> = Field<Row>['of'];
const field = <Row>(name: string, type: FieldType, description: string, of: Value<Row>): Field<Row> => ({
  name,
  type,
  description,
  of,
});
const needed = <Row>(name: string, type: FieldType, description: string, of: Value<Row>): Field<Row> => ({
  ...field(name, type, description, of),
  required: true,
});
const chosen = <Row>(name: string, description: string, oneOf: readonly string[], of: Value<Row>): Field<Row> => ({
  ...needed(name, 'string', description, of),
  oneOf,
});
const idOf = <Row extends { id: number }>(what: string): Field<Row> =>
  needed('id', 'integer', `number of the ${what}; other tables refer to it`, (row) => row.id);

const wires = quantityNames.map((name) => quantities[name].wire as string);
export const quantityOfWire = new Map<string, Quantity>(quantityNames.map((name) => [quantities[name].wire, name]));

export const dwellingTable: Table<Dwelling> = {
  name: 'dwelling',
  title: 'The home',
  primaryKey: ['id'],
  fields: [
    idOf('dwelling'),
    needed('slug', 'string', 'its name in topics', (row) => row.slug),
    needed('name', 'string', 'its name', (row) => row.name),
    needed('zone', 'string', 'IANA time zone by which its nights and days are told', (row) => row.zone),
    needed('pitch_deg', 'number', 'pitch of the roof', (row) => row.section.pitchDeg),
    needed('slope_length_mm', 'number', 'length of the slope', (row) => row.section.slopeLengthMm),
    needed('room_height_mm', 'number', 'height of the room', (row) => row.section.roomHeightMm),
    needed('lining_thickness_mm', 'number', 'thickness of the lining', (row) => row.section.liningThicknessMm),
    needed('loft_insulation_mm', 'number', 'thickness of the loft insulation', (row) => row.section.loftInsulationMm),
    needed('eaves_gap_mm', 'number', 'gap at the eaves', (row) => row.section.eavesGapMm),
  ],
};

export const placeTable: Table<Place> = {
  name: 'places',
  title: 'Places that were watched',
  primaryKey: ['id'],
  fields: [
    idOf('place'),
    needed('name', 'string', 'as people call it', (row) => row.name),
    chosen('kind', 'what kind of place it is', placeKinds, (row) => row.kind),
    field('faces_place', 'integer', 'room air that a surface faces; empty: the first room', (row) => row.facesPlaceId),
    field(
      'section_along',
      'number',
      'where it is drawn in the section; empty: where its kind is',
      (row) => row.position?.along ?? null,
    ),
    field('section_up', 'number', 'the same upwards', (row) => row.position?.up ?? null),
  ],
};

export const sensorTable: Table<Sensor> = {
  name: 'sensors',
  title: 'Sensors',
  primaryKey: ['id'],
  fields: [
    idOf('sensor'),
    needed('key', 'string', 'last part of its topic, or the name it was imported under', (row) => row.key),
    needed('name', 'string', 'as people call it', (row) => row.name),
    field('model', 'string', 'type of device or chip', (row) => row.model),
  ],
};

/** A series with the spans of time of which its readings are in the pack. */
export interface PackedSeries extends Series {
  readonly windows: readonly (readonly [from: number, to: number])[];
}

export const seriesTable: Table<PackedSeries> = {
  name: 'series',
  title: 'One quantity of one sensor each',
  primaryKey: ['id'],
  fields: [
    idOf('series'),
    needed('sensor', 'integer', 'number of the sensor', (row) => row.sensorId),
    chosen('quantity', 'what is measured, and its unit', wires, (row) => quantities[row.quantity].wire),
    field('interval_s', 'integer', 'usual time between readings; empty: not known', (row) => row.intervalSeconds),
    needed(
      'windows',
      'array',
      'spans of time of which all readings are in this pack, in UTC milliseconds: from (included), to (excluded)',
      (row) => row.windows,
    ),
  ],
};

export const placementTable: Table<Placement> = {
  name: 'placements',
  title: 'Where each sensor stood, and when',
  primaryKey: ['id'],
  fields: [
    idOf('placement'),
    needed('sensor', 'integer', 'number of the sensor', (row) => row.sensorId),
    needed('place', 'integer', 'number of the place', (row) => row.placeId),
    needed('from_utc', 'datetime', 'from when, included', (row) => row.from),
    field('to_utc', 'datetime', 'until when, excluded; empty: it still stands there', (row) => row.to),
  ],
};

export const phaseTable: Table<Phase> = {
  name: 'phases',
  title: 'Phases of the story',
  primaryKey: ['id'],
  fields: [
    idOf('phase'),
    chosen('kind', 'what kind of phase it is', phaseKinds, (row) => row.kind),
    needed('name', 'string', 'as people call it', (row) => row.name),
    needed('from_utc', 'datetime', 'from when, included', (row) => row.from),
    field('to_utc', 'datetime', 'until when, excluded; empty: it still runs', (row) => row.to),
  ],
};

export const calibrationTable: Table<CalibrationRecord> = {
  name: 'calibrations',
  title: 'Corrections of readings; values are in the unit of the series',
  primaryKey: ['id'],
  fields: [
    idOf('calibration'),
    needed('series', 'integer', 'number of the series', (row) => row.seriesId),
    needed('from_utc', 'datetime', 'from when it applies, until a later one does', (row) => row.from),
    chosen('method', 'how the reference was had', calibrationMethods, (row) => row.method),
    needed('reading_1', 'number', 'what the sensor read', (row) => row.points[0]!.reading),
    needed('reference_1', 'number', 'what it should have read', (row) => row.points[0]!.reference),
    field('reading_2', 'number', 'the same for a second point; empty: none', (row) => row.points[1]?.reading ?? null),
    field('reference_2', 'number', 'and its reference', (row) => row.points[1]?.reference ?? null),
    needed('uncertainty', 'number', 'standard uncertainty (k = 1) of a corrected reading', (row) => row.uncertainty),
    field('shared_source', 'string', 'reference shared with other sensors; empty: none', (row) => row.sharedSource),
    needed('shared_uncertainty', 'number', 'part of it that came with that reference', (row) => row.sharedUncertainty),
    field('note', 'string', 'what people noted of it', (row) => (row.note === '' ? null : row.note)),
    needed('made_at_utc', 'datetime', 'when the sensor was compared', (row) => row.madeAt),
    field('withdrawn_at_utc', 'datetime', 'when it was taken back; empty: in use', (row) => row.withdrawnAt),
  ],
};

export const diaryTable: Table<DiaryEntry> = {
  name: 'diary',
  title: 'What people noted',
  primaryKey: ['id'],
  fields: [
    idOf('entry'),
    needed('time_utc', 'datetime', 'of what is noted', (row) => row.time),
    needed('kind', 'string', 'what it is about', (row) => row.kind),
    needed('text', 'string', 'the note', (row) => row.text),
  ],
};

export const photoTable: Table<Photo & { readonly path: string; readonly digest: string }> = {
  name: 'photos',
  title: 'Photos of diary entries',
  primaryKey: ['id'],
  fields: [
    idOf('photo'),
    field('entry', 'integer', 'number of the diary entry', (row) => row.entryId),
    field('alt', 'string', 'what is seen in it', (row) => (row.alt === '' ? null : row.alt)),
    field('taken_at_utc', 'datetime', 'when it was taken, as its camera said', (row) => row.takenAt),
    needed('added_at_utc', 'datetime', 'when it was added', (row) => row.addedAt),
    needed('sent_sha256', 'string', 'digest of the file as it was sent', (row) => row.sha256),
    needed('file', 'string', 'the picture in this pack, cleared of everything but what is seen', (row) => row.path),
    needed('file_sha256', 'string', 'digest of that picture, which the journal holds too', (row) => row.digest),
  ],
};

export const importTable: Table<ImportedFile> = {
  name: 'imports',
  title: 'Files that were read in',
  primaryKey: ['id'],
  fields: [
    idOf('import'),
    needed('at_utc', 'datetime', 'when it was read in', (row) => row.at),
    needed('name', 'string', 'name of the file', (row) => row.name),
    needed('bytes', 'integer', 'its length', (row) => row.bytes),
    needed('file_sha256', 'string', 'digest of the file, byte for byte', (row) => row.fileDigest),
    field('stored', 'integer', 'readings it brought that were not there; empty: broken off', (row) => row.stored),
    field('stored_sha256', 'string', 'digest of exactly those, in canonical lines', (row) => row.storedDigest),
  ],
};

export const conflictTable: Table<Conflict> = {
  name: 'conflicts',
  title: 'Instants for which two values came: the first is in use',
  primaryKey: ['series', 'time_utc', 'other_value'],
  fields: [
    needed('series', 'integer', 'number of the series', (row) => row.seriesId),
    needed('time_utc', 'datetime', 'of the reading', (row) => row.time),
    needed('kept_value', 'number', 'the value in use, in the unit of the series', (row) => row.keptValue),
    needed('other_value', 'number', 'the value that came later', (row) => row.otherValue),
    needed('received_at_utc', 'datetime', 'when it came', (row) => row.receivedAt),
  ],
};

export const quarantineTable: Table<QuarantineRow> = {
  name: 'quarantine',
  title: 'Messages that were not understood, as they came',
  primaryKey: ['id'],
  fields: [
    idOf('message'),
    needed('received_at_utc', 'datetime', 'when it came', (row) => row.receivedAt),
    needed('source', 'string', 'how it came', (row) => row.source),
    needed('topic', 'string', 'its topic', (row) => row.topic),
    needed('code', 'string', 'why it was not understood', (row) => row.code),
    field('payload_base64', 'string', 'the message, byte for byte', (row) =>
      row.payload.byteLength === 0 ? null : Buffer.from(row.payload).toString('base64'),
    ),
  ],
};

export interface PackedReading {
  readonly sensorId: number;
  readonly time: number;
  readonly value: number;
  /** UTC day on which it arrived, counted from 1970 */
  readonly arrivedOn: number;
  readonly importId: number | null;
}

/** Readings of one series. Its columns stand in the order of a canonical line. */
export const readingTable = (id: number, quantity: Quantity): Table<PackedReading> => ({
  name: `readings-${id}`,
  title: `Raw readings of series ${id}, as they came`,
  primaryKey: ['time_utc'],
  fields: [
    needed('sensor', 'integer', 'number of the sensor', (row) => row.sensorId),
    needed('time_utc', 'datetime', 'of the reading', (row) => row.time),
    needed(quantities[quantity].wire, 'number', `the reading, ${quantities[quantity].unit}`, (row) => row.value),
    needed('arrived_on', 'date', 'UTC day on which it arrived', (row) => dayText(row.arrivedOn)),
    field('import', 'integer', 'the import it came out of; empty: none', (row) => row.importId),
  ],
});

/** An hour record, and whether its figures count. */
export type PackedHour = HourRecord & { readonly leftOut: boolean };

const hourFields: readonly (readonly [keyof HourRecord, string, FieldType, string])[] = [
  ['temperatureMean', 'temperature_mean_c', 'number', 'mean of the readings'],
  ['temperatureMin', 'temperature_min_c', 'number', 'least'],
  ['temperatureMax', 'temperature_max_c', 'number', 'greatest'],
  ['temperatureCount', 'temperature_count', 'integer', 'readings'],
  ['temperatureCoverage', 'temperature_coverage', 'number', 'share of the hour that they speak for'],
  ['humidityMean', 'humidity_mean_pct', 'number', 'mean relative humidity over liquid water'],
  ['humidityMin', 'humidity_min_pct', 'number', 'least'],
  ['humidityMax', 'humidity_max_pct', 'number', 'greatest'],
  ['humidityCount', 'humidity_count', 'integer', 'readings'],
  ['humidityCoverage', 'humidity_coverage', 'number', 'share of the hour that they speak for'],
  ['humidityClamped', 'humidity_clamped', 'integer', 'readings over 100 % that were counted as 100'],
  ['vapourPressure', 'vapour_pressure_pa', 'number', 'of the air; for a surface, of the room it faces'],
  ['dewPoint', 'dew_point_c', 'number', 'dew point of that, frost point below 0 °C'],
  ['marginMean', 'margin_mean_k', 'number', 'mean dew-point margin'],
  ['marginMin', 'margin_min_k', 'number', 'least dew-point margin'],
  ['surfaceHumidityMean', 'surface_humidity_mean_pct', 'number', 'mean relative humidity at the surface'],
  ['surfaceHumidityMax', 'surface_humidity_max_pct', 'number', 'greatest'],
  ['factorOutdoor', 'factor_outdoor', 'number', 'temperature factor of the hour, outdoors as the cold side'],
  ['factorLoft', 'factor_loft', 'number', 'temperature factor of the hour, the loft as the cold side'],
  ['riskHour', 'risk_hour', 'boolean', 'surface humidity at or over 80 % with the surface above 0 °C'],
  ['condensationHour', 'condensation_hour', 'boolean', 'dew-point margin at or below 0 K'],
  ['timberMoisture', 'timber_moisture_pct', 'number', 'mean moisture content'],
  ['co2', 'co2_ppm', 'number', 'mean'],
  ['battery', 'battery_v', 'number', 'mean'],
];

export const hourTable = (placeId: number): Table<PackedHour> => ({
  name: `hours-${placeId}`,
  title: `Hour records of place ${placeId}`,
  primaryKey: ['hour_utc'],
  fields: [
    needed('hour_utc', 'datetime', 'beginning of the hour', (row) => row.hour),
    ...hourFields.map(([key, name, type, description]) =>
      field<PackedHour>(name, type, description, (row) => row[key]),
    ),
    needed(
      'left_out',
      'boolean',
      'true: a sensor it rests on repeated one value, or stood at 100 %, for too long; the hour counts in no figure',
      (row) => row.leftOut,
    ),
  ],
});

export const figureTable: Table<Figure> = {
  name: 'figures',
  title: 'Every figure that is reported',
  primaryKey: ['id'],
  fields: [
    needed('id', 'string', 'names the figure for good', (row) => row.id),
    needed('label', 'string', 'what it is of', (row) => row.label),
    field('value', 'number', 'the figure, in its unit; empty: not known, or said in words', (row) => row.value),
    field('plus_minus', 'number', 'half of the width of its 95 % interval', (row) => row.plusMinus),
    field('low', 'number', 'lower end of that interval', (row) => row.low),
    field('high', 'number', 'upper end of that interval', (row) => row.high),
    field('words', 'string', 'what it says in words', (row) => row.words),
    field('unit', 'string', 'empty for a ratio or an index', (row) => (row.unit === '' ? null : row.unit)),
    needed('formula', 'string', 'how it is worked out', (row) => row.formula),
    needed('inputs', 'array', 'what went in: name, value, unit', (row) => row.inputs),
    needed('source', 'string', 'where the formula is published', (row) => row.source),
  ],
};

export const chainTable: Table<DaySeal> = {
  name: 'chain',
  title: 'The chain of sealed days',
  primaryKey: ['day'],
  fields: [
    needed('day', 'date', 'UTC day', (row) => dayText(row.day)),
    needed('readings', 'integer', 'readings that arrived that day', (row) => row.readings),
    needed('readings_sha256', 'string', 'digest of the lines of that day in series-days', (row) => row.readingsDigest),
    field('first_change', 'integer', 'number in the journal; empty: no change', (row) => row.firstChange),
    field('last_change', 'integer', 'number in the journal; empty: no change', (row) => row.lastChange),
    needed('changes_sha256', 'string', 'digest of these lines of the journal', (row) => row.changesDigest),
    needed('previous', 'string', 'entry of the day before', (row) => row.previous),
    needed('entry', 'string', 'digest of this line up to here, without the comma', (row) => row.entry),
  ],
};

export const seriesDayTable: Table<SeriesSeal> = {
  name: 'series-days',
  title: 'What arrived of each series in each sealed day',
  primaryKey: ['day', 'sensor', 'quantity'],
  fields: [
    needed('day', 'date', 'UTC day', (row) => dayText(row.day)),
    needed('sensor', 'integer', 'number of the sensor', (row) => row.sensorId),
    chosen('quantity', 'what is measured, and its unit', wires, (row) => quantities[row.quantity].wire),
    needed('readings', 'integer', 'how many arrived', (row) => row.readings),
    needed('first_utc', 'datetime', 'time of the first of them', (row) => row.first),
    needed('last_utc', 'datetime', 'time of the last of them', (row) => row.last),
    needed('sha256', 'string', 'digest of their canonical lines', (row) => row.digest),
  ],
};
