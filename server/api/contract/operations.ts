import { z } from 'zod';
import { mouldSensitivities } from '../../physics/mould-sensitivity.ts';
import * as c from './calibrations.ts';
import { comparison, comparisonQuery } from './comparison.ts';
import * as d from './dwelling.ts';
import * as f from './figures.ts';
import * as m from './mapping.ts';
import { night, nightParams } from './played-night.ts';
import * as t from './tonight.ts';
import { track, trackQuery } from './track.ts';
import { sentInstant, slug } from './values.ts';

/** One operation of the API: what it takes, what it gives. The router and the OpenAPI document are both made from it. */
export interface Operation {
  readonly method: 'get' | 'post' | 'patch' | 'delete';
  /** path under /api/v1, parameters as :name */
  readonly path: string;
  readonly summary: string;
  readonly params?: z.ZodObject;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  /** null: answers 204 with nothing */
  readonly response: z.ZodType | null;
  readonly status?: 201;
}

const inDwelling = z.object({ dwelling: slug });
const numbered = z.object({ dwelling: slug, id: z.coerce.number().int().positive() });
const span = { from: sentInstant.optional(), to: sentInstant.optional() };

export const operations = {
  listDwellings: { method: 'get', path: '/dwellings', summary: 'All dwellings', response: z.array(d.dwelling) },
  addDwelling: {
    method: 'post',
    path: '/dwellings',
    summary: 'Add a dwelling',
    body: d.dwelling,
    response: d.dwelling,
    status: 201,
  },
  getDwelling: {
    method: 'get',
    path: '/dwellings/:dwelling',
    summary: 'One dwelling',
    params: inDwelling,
    response: d.dwelling,
  },
  changeDwelling: {
    method: 'patch',
    path: '/dwellings/:dwelling',
    summary: 'Change name, time zone or section',
    params: inDwelling,
    body: d.dwellingChange,
    response: d.dwelling,
  },
  getNow: {
    method: 'get',
    path: '/dwellings/:dwelling/now',
    summary: 'Every place with its latest values and its state in words',
    params: inDwelling,
    response: f.now,
  },
  getTonight: {
    method: 'get',
    path: '/dwellings/:dwelling/tonight',
    summary: 'The chance that tonight is a condensation night at each surface, its lowest margin and when',
    params: inDwelling,
    response: t.tonight,
  },
  getNight: {
    method: 'get',
    path: '/dwellings/:dwelling/nights/:night',
    summary: 'Every place hour by hour from one noon to the next, with its state in words',
    params: z.object({ dwelling: slug, night: nightParams }),
    response: night,
  },
  listPlaces: {
    method: 'get',
    path: '/dwellings/:dwelling/places',
    summary: 'Places being watched',
    params: inDwelling,
    response: z.array(d.place),
  },
  addPlace: {
    method: 'post',
    path: '/dwellings/:dwelling/places',
    summary: 'Add a place',
    params: inDwelling,
    body: d.newPlace,
    response: d.place,
    status: 201,
  },
  changePlace: {
    method: 'patch',
    path: '/dwellings/:dwelling/places/:id',
    summary: 'Change a place',
    params: numbered,
    body: d.placeChange,
    response: d.place,
  },
  getHours: {
    method: 'get',
    path: '/dwellings/:dwelling/places/:id/hours',
    summary: 'Hour records of a place as columns',
    params: numbered,
    query: z.object({
      ...span,
      columns: z.string().optional().meta({ description: 'names of columns, comma-separated; all when left out' }),
    }),
    response: f.hourColumns,
  },
  getTrack: {
    method: 'get',
    path: '/dwellings/:dwelling/places/:id/track',
    summary: 'Figures of a place over time at a wanted resolution, without losing a peak',
    params: numbered,
    query: trackQuery,
    response: track,
  },
  getWinters: {
    method: 'get',
    path: '/dwellings/:dwelling/places/:id/winters',
    summary: 'Cumulative risk hours of a place, winter by winter',
    params: numbered,
    response: f.winters,
  },
  getMould: {
    method: 'get',
    path: '/dwellings/:dwelling/places/:id/mould',
    summary: 'Mould index of a place, hour by hour',
    params: numbered,
    query: z.object({
      ...span,
      sensitivity: z
        .enum(mouldSensitivities)
        .optional()
        .meta({ description: 'class of the material; sensitive (paper, wood-based board) when left out' }),
    }),
    response: f.mould,
  },
  getTimber: {
    method: 'get',
    path: '/dwellings/:dwelling/places/:id/timber',
    summary: 'Timber moisture that the air of a place leads to, hour by hour',
    params: numbered,
    query: z.object(span),
    response: f.timber,
  },
  getComparison: {
    method: 'get',
    path: '/dwellings/:dwelling/comparison',
    summary: 'Before and after the works at one surface: verdict, figures with intervals, reasons',
    params: inDwelling,
    query: comparisonQuery,
    response: comparison,
  },
  listSensors: {
    method: 'get',
    path: '/dwellings/:dwelling/sensors',
    summary: 'Sensors with placements, last readings and health',
    params: inDwelling,
    response: z.array(d.sensor),
  },
  listSensorFindings: {
    method: 'get',
    path: '/dwellings/:dwelling/sensor-findings',
    summary: 'What the last two weeks of readings say about the sensors, and the settings of the rules',
    params: inDwelling,
    response: d.sensorFindings,
  },
  changeSensor: {
    method: 'patch',
    path: '/dwellings/:dwelling/sensors/:id',
    summary: 'Change a sensor’s name or type',
    params: numbered,
    body: d.sensorChange,
    response: d.sensor,
  },
  placeSensor: {
    method: 'post',
    path: '/dwellings/:dwelling/sensors/:id/placements',
    summary: 'Stand a sensor at a place from a time on',
    params: numbered,
    body: d.newPlacement,
    response: d.sensor,
    status: 201,
  },
  listCalibrations: {
    method: 'get',
    path: '/dwellings/:dwelling/calibrations',
    summary: 'Calibrations ever made, the last first, with the drift between two',
    params: inDwelling,
    response: z.array(c.calibration),
  },
  proposeCalibrations: {
    method: 'post',
    path: '/dwellings/:dwelling/calibrations/proposals',
    summary: 'What the readings of a calibration run bear out so far, or why not yet; nothing is kept',
    params: inDwelling,
    body: c.calibrationRun,
    response: c.calibrationProposals,
  },
  addCalibrations: {
    method: 'post',
    path: '/dwellings/:dwelling/calibrations',
    summary: 'Keep calibrations; they correct the hours at once',
    params: inDwelling,
    body: c.newCalibrations,
    response: z.array(c.calibration),
    status: 201,
  },
  withdrawCalibration: {
    method: 'post',
    path: '/dwellings/:dwelling/calibrations/:id/withdrawal',
    summary: 'Take a calibration back; it stays on record',
    params: numbered,
    response: c.calibration,
  },
  listPhases: {
    method: 'get',
    path: '/dwellings/:dwelling/phases',
    summary: 'Phases of the story',
    params: inDwelling,
    response: z.array(d.phase),
  },
  addPhase: {
    method: 'post',
    path: '/dwellings/:dwelling/phases',
    summary: 'Add a phase',
    params: inDwelling,
    body: d.newPhase,
    response: d.phase,
    status: 201,
  },
  changePhase: {
    method: 'patch',
    path: '/dwellings/:dwelling/phases/:id',
    summary: 'Change a phase',
    params: numbered,
    body: d.phaseChange,
    response: d.phase,
  },
  removePhase: {
    method: 'delete',
    path: '/dwellings/:dwelling/phases/:id',
    summary: 'Remove a phase',
    params: numbered,
    response: null,
  },
  listDiary: {
    method: 'get',
    path: '/dwellings/:dwelling/diary',
    summary: 'Diary entries, newest first',
    params: inDwelling,
    response: z.array(d.diaryEntry),
  },
  addDiaryEntry: {
    method: 'post',
    path: '/dwellings/:dwelling/diary',
    summary: 'Add a diary entry',
    params: inDwelling,
    body: d.newDiaryEntry,
    response: d.diaryEntry,
    status: 201,
  },
  changeDiaryEntry: {
    method: 'patch',
    path: '/dwellings/:dwelling/diary/:id',
    summary: 'Change a diary entry',
    params: numbered,
    body: d.diaryEntryChange,
    response: d.diaryEntry,
  },
  removeDiaryEntry: {
    method: 'delete',
    path: '/dwellings/:dwelling/diary/:id',
    summary: 'Remove a diary entry',
    params: numbered,
    response: null,
  },
  listConflicts: {
    method: 'get',
    path: '/dwellings/:dwelling/conflicts',
    summary: 'Instants for which two values came',
    params: inDwelling,
    response: z.array(f.conflict),
  },
  listQuarantine: {
    method: 'get',
    path: '/quarantine',
    summary: 'Messages that were not understood, by topic and reason',
    response: f.quarantine,
  },
  readInQuarantine: {
    method: 'post',
    path: '/quarantine/read-in',
    summary: 'Read in every message in quarantine that is understood by now; doing it again does no more',
    response: m.reread,
  },
  listUnassigned: {
    method: 'get',
    path: '/unassigned',
    summary: 'Topics that no mapping explains yet, each with its last message as a tree of values and guesses',
    response: z.array(m.unassignedTopic),
  },
  listMappings: {
    method: 'get',
    path: '/dwellings/:dwelling/mappings',
    summary: 'How messages of other forms are read',
    params: inDwelling,
    response: z.array(m.mapping),
  },
  addMapping: {
    method: 'post',
    path: '/dwellings/:dwelling/mappings',
    summary: 'Add a mapping and read in the messages in quarantine that it explains',
    params: inDwelling,
    body: m.newMapping,
    response: m.mappingAnswer,
    status: 201,
  },
  changeMapping: {
    method: 'patch',
    path: '/dwellings/:dwelling/mappings/:id',
    summary: 'Change a mapping, for messages from now on and those in quarantine; readings stay as they are',
    params: numbered,
    body: m.mappingChange,
    response: m.mappingAnswer,
  },
  removeMapping: {
    method: 'delete',
    path: '/dwellings/:dwelling/mappings/:id',
    summary: 'Remove a mapping; what it has read in stays',
    params: numbered,
    response: null,
  },
  previewMapping: {
    method: 'post',
    path: '/dwellings/:dwelling/mapping-preview',
    summary: 'What a mapping would read in the last messages kept in quarantine, without keeping anything',
    params: inDwelling,
    body: m.newMapping,
    response: m.preview,
  },
  sendReadings: {
    method: 'post',
    path: '/dwellings/:dwelling/readings/:sensor',
    summary: 'Send the same payload as over MQTT: an object, or an array of buffered ones',
    params: z.object({ dwelling: slug, sensor: z.string().min(1).max(100) }),
    body: z.unknown().meta({ description: 'flat JSON object of quantities, or an array of them' }),
    response: f.receipt,
  },
} as const satisfies Record<string, Operation>;

export type OperationName = keyof typeof operations;
