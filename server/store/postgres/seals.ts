import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import { quantities } from '../../physics/quantities.ts';
import { filled, spanBound, wholeTime } from '../arguments.ts';
import { spansOfDay, visibleArrivals } from '../arrival-spans.ts';
import { byBytes, DAY_MS, seriesPrefix } from '../canonical.ts';
import { StoreError } from '../port.ts';
import type {
  Arrival,
  DaySeal,
  ImportedFile,
  JournalEntry,
  ProvenanceStore,
  Sealing,
  SeriesSeal,
} from '../port-provenance.ts';
import { inSealingOrder, nextLink, type SealedSeries, type Span, sealFaults, sumUp } from '../seal-sums.ts';
import { quantityOfWire } from '../wire.ts';
import { int4s, int8s, numbersIn, sendAll } from './arrays.ts';
import type { Connection, Database } from './database.ts';
import { nextId } from './ids.ts';
import { noteChange, storyNow } from './journal.ts';
import { requireDwelling } from './rows.ts';
import { changeVersions } from './turns.ts';

const arrivalColumns = 'from_time AS "from", to_time AS "to", day, import_id AS "importId"';
const sealColumns = `day, readings, readings_digest AS "readingsDigest", first_change AS "firstChange",
  last_change AS "lastChange", changes_digest AS "changesDigest", previous, entry, sealed_at AS "sealedAt"`;
const importColumns = `id, dwelling_id AS "dwellingId", at, name, bytes, file_digest AS "fileDigest", stored,
  stored_digest AS "storedDigest"`;

/** Days and numbers of changes stand in columns of four bytes. */
const whole4 = (value: number): number => Math.min(value, 0x7fff_ffff);

/** The series of a dwelling in the order in which they are summed up. */
async function seriesOf(db: Connection, dwellingId: number): Promise<SealedSeries[]> {
  const rows = await db.all<{ id: number; sensorId: number; wire: string }>(
    'SELECT id, sensor_id AS "sensorId", quantity AS wire FROM series WHERE dwelling_id = $1',
    [dwellingId],
  );
  return inSealingOrder(rows.map(({ id, sensorId, wire }) => ({ id, sensorId, quantity: quantityOfWire.get(wire)! })));
}

/** The spans of time, by series, in which readings lie that arrived in a day. */
async function spansOf(db: Connection, dwellingId: number, day: number): Promise<(seriesId: number) => Span[]> {
  const own = { from: day * DAY_MS, to: (day + 1) * DAY_MS - 1 };
  const over = await db.all<Arrival & { seriesId: number }>(
    `SELECT arrival.series_id AS "seriesId", ${arrivalColumns}
     FROM arrival LEFT JOIN (
       SELECT series_id, min(from_time) AS first, max(to_time) AS last FROM arrival
       WHERE dwelling_id = $1 AND day = $2 GROUP BY series_id) AS hull USING (series_id)
     WHERE dwelling_id = $1 AND to_time >= least($3, hull.first) AND from_time <= greatest($4, hull.last)
     ORDER BY arrival.series_id, arrival.id`,
    [dwellingId, day, own.from, own.to],
  );
  const bySeries = new Map<number, Arrival[]>();
  for (const { seriesId, ...arrival } of over) {
    const known = bySeries.get(seriesId);
    if (known === undefined) bySeries.set(seriesId, [arrival]);
    else known.push(arrival);
  }
  return (seriesId) => spansOfDay(visibleArrivals(bySeries.get(seriesId) ?? []), own, day);
}

const pageOf =
  (db: Connection, dwellingId: number, seriesId: number) =>
  async ({ from, to }: Span, limit: number): Promise<[number, number][]> => {
    const sent = (await db.first<{ times: Buffer | null; values: Buffer | null }>(
      `SELECT ${sendAll('time')} AS times, ${sendAll('value')} AS values
       FROM (SELECT time, value FROM reading
             WHERE dwelling_id = $1 AND series_id = $2 AND time >= $3 AND time <= $4 ORDER BY time LIMIT $5) AS page`,
      [dwellingId, seriesId, from, to, limit],
    ))!;
    const values = numbersIn(sent.values);
    return Array.from(numbersIn(sent.times), (time, k) => [time, values[k]!]);
  };

async function sumUpDay(db: Connection, dwellingId: number, day: number): Promise<SeriesSeal[]> {
  const seals: SeriesSeal[] = [];
  const spans = await spansOf(db, dwellingId, day);
  for (const { id, prefix, sensorId, quantity } of await seriesOf(db, dwellingId)) {
    const sum = await sumUp(prefix, spans(id), pageOf(db, dwellingId, id));
    if (sum !== null) seals.push({ day, sensorId, quantity, ...sum });
    await setImmediate();
  }
  return seals;
}

async function countOf(db: Connection, dwellingId: number, day: number): Promise<number> {
  const spansOfSeries = await spansOf(db, dwellingId, day);
  const spans = (await seriesOf(db, dwellingId)).flatMap(({ id }) =>
    spansOfSeries(id).map((span) => ({ id, ...span })),
  );
  const { count } = (await db.first<{ count: number }>(
    `SELECT count(*) AS count FROM unnest($2::int[], $3::bigint[], $4::bigint[]) AS span (series_id, first, last)
     JOIN reading ON dwelling_id = $1 AND reading.series_id = span.series_id AND time BETWEEN first AND last`,
    [
      dwellingId,
      int4s(spans.map(({ id }) => id)),
      int8s(spans.map(({ from }) => from)),
      int8s(spans.map(({ to }) => to)),
    ],
  ))!;
  return count;
}

const changesBetween = (db: Connection, dwellingId: number, after: number, to: number): Promise<JournalEntry[]> =>
  db.all<JournalEntry>(
    `SELECT id, at, subject, subject_id AS "subjectId", content FROM journal
     WHERE dwelling_id = $1 AND id > $2 AND id <= $3 ORDER BY id`,
    [dwellingId, after, whole4(to)],
  );

const daySealsOf = (db: Connection, dwellingId: number, fromDay: number, toDay: number): Promise<DaySeal[]> =>
  db.all<DaySeal>(
    `SELECT ${sealColumns} FROM day_seal WHERE dwelling_id = $1 AND day >= $2 AND day < $3 ORDER BY day`,
    [dwellingId, whole4(fromDay), whole4(toDay)],
  );

async function seriesSealsOf(
  db: Connection,
  dwellingId: number,
  fromDay: number,
  toDay: number,
): Promise<SeriesSeal[]> {
  const rows = await db.all<Omit<SeriesSeal, 'digest' | 'quantity'> & { digest: Buffer; wire: string }>(
    `SELECT day, sensor_id AS "sensorId", quantity AS wire, readings, first_time AS "first", last_time AS "last", digest
     FROM series_seal WHERE dwelling_id = $1 AND day >= $2 AND day < $3`,
    [dwellingId, whole4(fromDay), whole4(toDay)],
  );
  return rows
    .map(({ wire, digest, ...rest }) => ({
      ...rest,
      quantity: quantityOfWire.get(wire)!,
      digest: digest.toString('hex'),
    }))
    .sort((a, b) => a.day - b.day || byBytes(seriesPrefix(a), seriesPrefix(b)));
}

async function importOf(db: Connection, dwellingId: number, id: number): Promise<ImportedFile> {
  const found = await db.first<ImportedFile>(
    `SELECT ${importColumns} FROM import_file WHERE dwelling_id = $1 AND id = $2`,
    [dwellingId, id],
  );
  if (found !== undefined) return found;
  throw new StoreError('not-found', `Dwelling ${dwellingId} has no import ${id}.`);
}

export function provenanceStore(db: Database): ProvenanceStore {
  /** Writes the seals of a day; false: more has arrived while it was summed up. */
  const keepSeals = (
    dwellingId: number,
    day: number,
    seals: readonly SeriesSeal[],
    sealedAt: number,
  ): Promise<boolean> =>
    db.inTurn(dwellingId, async (tx) => {
      const before = await tx.first<DaySeal & { sealedThrough: number | null }>(
        `SELECT ${sealColumns}, (SELECT max(last_change) FROM day_seal WHERE dwelling_id = $1) AS "sealedThrough"
         FROM day_seal WHERE dwelling_id = $1 ORDER BY day DESC LIMIT 1`,
        [dwellingId],
      );
      if (before !== undefined && before.day >= day) return true;
      const readings = seals.reduce((sum, seal) => sum + seal.readings, 0);
      if ((await countOf(tx, dwellingId, day)) !== readings) return false;
      const changes = await changesBetween(tx, dwellingId, before?.sealedThrough ?? 0, Number.MAX_SAFE_INTEGER);
      const seal = nextLink(day, seals, changes, before);
      await tx.run(
        `INSERT INTO day_seal (dwelling_id, day, readings, readings_digest, first_change, last_change, changes_digest,
           previous, entry, sealed_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
        [
          dwellingId,
          day,
          seal.readings,
          seal.readingsDigest,
          seal.firstChange,
          seal.lastChange,
          seal.changesDigest,
          seal.previous,
          seal.entry,
          sealedAt,
        ],
      );
      await tx.run(
        `INSERT INTO series_seal (dwelling_id, day, sensor_id, quantity, readings, first_time, last_time, digest)
         SELECT $1, $2, sensor_id, quantity, readings, first_time, last_time, decode(digest, 'hex')
         FROM unnest($3::int[], $4::text[], $5::int[], $6::bigint[], $7::bigint[], $8::text[])
           AS sealed (sensor_id, quantity, readings, first_time, last_time, digest)`,
        [
          dwellingId,
          day,
          int4s(seals.map(({ sensorId }) => sensorId)),
          seals.map(({ quantity }) => quantities[quantity].wire),
          int4s(seals.map((each) => each.readings)),
          int8s(seals.map(({ first }) => first)),
          int8s(seals.map(({ last }) => last)),
          seals.map(({ digest }) => digest),
        ],
      );
      // the next day is the open one now
      await changeVersions(tx, [dwellingId]);
      return true;
    });

  const store: ProvenanceStore = {
    async sealing(dwellingId) {
      await requireDwelling(db, dwellingId);
      const found = await db.first<Sealing>(
        `SELECT first_day AS "firstDay", text_key AS "textKey",
           (SELECT max(day) FROM day_seal WHERE day_seal.dwelling_id = sealing.dwelling_id) AS "lastDay"
         FROM sealing WHERE dwelling_id = $1`,
        [dwellingId],
      );
      return found ?? null;
    },

    async sealNextDay(dwellingId, beforeDay, sealedAt) {
      wholeTime('sealedAt', sealedAt);
      const sealing = await store.sealing(dwellingId);
      if (sealing === null || sealing.firstDay === null) return null;
      const day = sealing.lastDay === null ? sealing.firstDay : sealing.lastDay + 1;
      if (day >= beforeDay) return null;
      while (!(await keepSeals(dwellingId, day, await sumUpDay(db, dwellingId, day), sealedAt)));
      return (await daySealsOf(db, dwellingId, day, day + 1))[0]!;
    },

    async daySeals(dwellingId, fromDay, toDay) {
      await requireDwelling(db, dwellingId);
      return daySealsOf(db, dwellingId, spanBound('fromDay', fromDay), spanBound('toDay', toDay));
    },

    async seriesSeals(dwellingId, fromDay, toDay) {
      await requireDwelling(db, dwellingId);
      return seriesSealsOf(db, dwellingId, spanBound('fromDay', fromDay), spanBound('toDay', toDay));
    },

    async arrivals(dwellingId, seriesId) {
      await requireDwelling(db, dwellingId);
      const recorded = await db.all<Arrival>(
        `SELECT ${arrivalColumns} FROM arrival WHERE dwelling_id = $1 AND series_id = $2 ORDER BY id`,
        [dwellingId, seriesId],
      );
      return visibleArrivals(recorded);
    },

    async journal(dwellingId) {
      await requireDwelling(db, dwellingId);
      return changesBetween(db, dwellingId, 0, Number.MAX_SAFE_INTEGER);
    },

    async storyNow(dwellingId, textKey) {
      await requireDwelling(db, dwellingId);
      return storyNow(db, dwellingId, textKey);
    },

    async imports(dwellingId) {
      await requireDwelling(db, dwellingId);
      return db.all<ImportedFile>(`SELECT ${importColumns} FROM import_file WHERE dwelling_id = $1 ORDER BY id`, [
        dwellingId,
      ]);
    },

    async beginImport({ dwellingId, at, name, bytes, fileDigest }) {
      filled('name', name);
      wholeTime('at', at);
      return db.inTurn(dwellingId, async (tx) => {
        const id = await nextId(tx, dwellingId, 'import_file');
        await tx.run(
          'INSERT INTO import_file (dwelling_id, id, at, name, bytes, file_digest) VALUES ($1, $2, $3, $4, $5, $6)',
          [dwellingId, id, at, name, bytes, fileDigest],
        );
        await noteChange(tx, 'import_file', dwellingId, id);
        return importOf(tx, dwellingId, id);
      });
    },

    async finishImport(dwellingId, id) {
      await importOf(db, dwellingId, id);
      const hash = createHash('sha256');
      let stored = 0;
      for (const series of await seriesOf(db, dwellingId)) {
        const all = await store.arrivals(dwellingId, series.id);
        const own = all.filter(({ importId }) => importId === id);
        const sum = await sumUp(series.prefix, own, pageOf(db, dwellingId, series.id), [hash]);
        stored += sum?.readings ?? 0;
      }
      const digest = hash.digest('hex');
      return db.inTurn(dwellingId, async (tx) => {
        await tx.run('UPDATE import_file SET stored = $3, stored_digest = $4 WHERE dwelling_id = $1 AND id = $2', [
          dwellingId,
          id,
          stored,
          digest,
        ]);
        await noteChange(tx, 'import_file', dwellingId, id);
        return importOf(tx, dwellingId, id);
      });
    },

    async checkSeals(dwellingId) {
      const sealing = await store.sealing(dwellingId);
      if (sealing === null) return [];
      return sealFaults({
        firstDay: sealing.firstDay ?? 0,
        seals: await daySealsOf(db, dwellingId, 0, Number.MAX_SAFE_INTEGER),
        journal: await changesBetween(db, dwellingId, 0, Number.MAX_SAFE_INTEGER),
        story: await storyNow(db, dwellingId, sealing.textKey),
        sealed: (day) => seriesSealsOf(db, dwellingId, day, day + 1),
        found: (day) => sumUpDay(db, dwellingId, day),
      });
    },
  };
  return store;
}
