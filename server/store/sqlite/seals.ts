import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import { quantities } from '../../physics/quantities.ts';
import { filled, spanBound, wholeTime } from '../arguments.ts';
import { spansOfDay, visibleArrivals } from '../arrival-spans.ts';
import { byBytes, DAY_MS, seriesPrefix } from '../canonical.ts';
import { StoreError } from '../port.ts';
import type { Arrival, DaySeal, ImportedFile, JournalEntry, ProvenanceStore, SeriesSeal } from '../port-provenance.ts';
import { inSealingOrder, nextLink, type SealedSeries, type Span, sealFaults, sumUp } from '../seal-sums.ts';
import { quantityOfWire } from '../wire.ts';
import type { ArrivalKeeper } from './arrivals.ts';
import { type Connection, write } from './database.ts';
import { idGiver } from './ids.ts';
import { noteChange, storyNow } from './journal.ts';
import { requireDwelling } from './rows.ts';
import { unitValue } from './value.ts';

export function provenanceStore(db: Connection, arrivals: ArrivalKeeper): ProvenanceStore {
  const nextId = idGiver(db);
  const countSpan = db
    .prepare<[number, number, number, number], number>(
      'SELECT count(*) FROM reading WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time <= ?',
    )
    .pluck();
  const arrivalColumns = 'from_time AS "from", to_time AS "to", day, import_id AS "importId"';
  const arrivalHull = db.prepare<[number, number, number], { from: number | null; to: number | null }>(
    'SELECT min(from_time) AS "from", max(to_time) AS "to" FROM arrival WHERE dwelling_id = ? AND series_id = ? AND day = ?',
  );
  const arrivalsOver = db.prepare<[number, number, number, number], Arrival>(
    `SELECT ${arrivalColumns} FROM arrival
     WHERE dwelling_id = ? AND series_id = ? AND to_time >= ? AND from_time <= ? ORDER BY id`,
  );

  /** The series of a dwelling in the order in which they are summed up. */
  function seriesOf(dwellingId: number): SealedSeries[] {
    requireDwelling(db, dwellingId);
    return inSealingOrder(
      db
        .prepare<[number], { id: number; sensorId: number; wire: string }>(
          'SELECT id, sensor_id AS "sensorId", quantity AS wire FROM series WHERE dwelling_id = ?',
        )
        .all(dwellingId)
        .map(({ id, sensorId, wire }) => ({ id, sensorId, quantity: quantityOfWire.get(wire)! })),
    );
  }

  /** The spans of time in which readings of a series lie that arrived in a day. */
  function spansOf(dwellingId: number, seriesId: number, day: number): Span[] {
    const own = { from: day * DAY_MS, to: (day + 1) * DAY_MS - 1 };
    const hull = arrivalHull.get(dwellingId, seriesId, day)!;
    const over = arrivalsOver.all(
      dwellingId,
      seriesId,
      Math.min(own.from, hull.from ?? own.from),
      Math.max(own.to, hull.to ?? own.to),
    );
    return spansOfDay(visibleArrivals(over), own, day);
  }

  const page = db
    .prepare<[number, number, number, number, number], [number, number]>(
      `SELECT time, ${unitValue('value')} FROM reading
       WHERE dwelling_id = ? AND series_id = ? AND time >= ? AND time <= ? ORDER BY time LIMIT ?`,
    )
    .raw();
  const pageOf =
    (dwellingId: number, seriesId: number) =>
    ({ from, to }: Span, limit: number): [number, number][] =>
      page.all(dwellingId, seriesId, from, to, limit);

  async function sumUpDay(dwellingId: number, day: number): Promise<SeriesSeal[]> {
    const seals: SeriesSeal[] = [];
    for (const series of seriesOf(dwellingId)) {
      const spans = spansOf(dwellingId, series.id, day);
      const sum = await sumUp(series.prefix, spans, pageOf(dwellingId, series.id));
      if (sum !== null) seals.push({ day, sensorId: series.sensorId, quantity: series.quantity, ...sum });
      await setImmediate();
    }
    return seals;
  }

  const changesBetween = (dwellingId: number, after: number, to: number): JournalEntry[] =>
    db
      .prepare<[number, number, number], JournalEntry>(
        `SELECT id, at, subject, subject_id AS "subjectId", content FROM journal
         WHERE dwelling_id = ? AND id > ? AND id <= ? ORDER BY id`,
      )
      .all(dwellingId, after, to);

  const sealColumns = `day, readings, readings_digest AS "readingsDigest", first_change AS "firstChange",
    last_change AS "lastChange", changes_digest AS "changesDigest", previous, entry, sealed_at AS "sealedAt"`;
  const lastSeal = (dwellingId: number): DaySeal | undefined =>
    db
      .prepare<[number], DaySeal>(`SELECT ${sealColumns} FROM day_seal WHERE dwelling_id = ? ORDER BY day DESC LIMIT 1`)
      .get(dwellingId);

  const countOf = (dwellingId: number, day: number): number =>
    seriesOf(dwellingId).reduce(
      (sum, series) =>
        sum +
        spansOf(dwellingId, series.id, day).reduce(
          (own, { from, to }) => own + countSpan.get(dwellingId, series.id, from, to)!,
          0,
        ),
      0,
    );

  /** Writes the seals of a day; false: more has arrived while it was summed up. */
  function keepSeals(dwellingId: number, day: number, seals: readonly SeriesSeal[], sealedAt: number): boolean {
    return write(db, () => {
      const before = lastSeal(dwellingId);
      if (before !== undefined && before.day >= day) return true;
      if (countOf(dwellingId, day) !== seals.reduce((sum, { readings }) => sum + readings, 0)) return false;
      const sealedThrough = db
        .prepare<[number], number | null>('SELECT max(last_change) FROM day_seal WHERE dwelling_id = ?')
        .pluck()
        .get(dwellingId);
      const changes = changesBetween(dwellingId, sealedThrough ?? 0, Number.MAX_SAFE_INTEGER);
      const seal = nextLink(day, seals, changes, before);
      db.prepare(
        `INSERT INTO day_seal (dwelling_id, day, readings, readings_digest, first_change, last_change, changes_digest, previous, entry, sealed_at)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      ).run(
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
      );
      const insert = db.prepare(
        `INSERT INTO series_seal (dwelling_id, day, sensor_id, quantity, readings, first_time, last_time, digest)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
      );
      for (const { sensorId, quantity, readings: count, first, last, digest } of seals) {
        const { wire } = quantities[quantity];
        insert.run(dwellingId, day, sensorId, wire, count, first, last, Buffer.from(digest, 'hex'));
      }
      return true;
    });
  }

  const seriesSealsOf = (dwellingId: number, fromDay: number, toDay: number): SeriesSeal[] =>
    db
      .prepare<[number, number, number], Omit<SeriesSeal, 'digest' | 'quantity'> & { digest: Buffer; wire: string }>(
        `SELECT day, sensor_id AS "sensorId", quantity AS wire, readings, first_time AS "first", last_time AS "last", digest
         FROM series_seal WHERE dwelling_id = ? AND day >= ? AND day < ?`,
      )
      .all(dwellingId, fromDay, toDay)
      .map(({ wire, digest, ...rest }) => ({
        ...rest,
        quantity: quantityOfWire.get(wire)!,
        digest: digest.toString('hex'),
      }))
      .sort((a, b) => a.day - b.day || byBytes(seriesPrefix(a), seriesPrefix(b)));

  const daySealsOf = (dwellingId: number, fromDay: number, toDay: number): DaySeal[] =>
    db
      .prepare<[number, number, number], DaySeal>(
        `SELECT ${sealColumns} FROM day_seal WHERE dwelling_id = ? AND day >= ? AND day < ? ORDER BY day`,
      )
      .all(dwellingId, fromDay, toDay);

  const importColumns = `id, dwelling_id AS "dwellingId", at, name, bytes, file_digest AS "fileDigest", stored,
    stored_digest AS "storedDigest"`;
  const importOf = (dwellingId: number, id: number): ImportedFile => {
    const found = db
      .prepare<[number, number], ImportedFile>(
        `SELECT ${importColumns} FROM import_file WHERE dwelling_id = ? AND id = ?`,
      )
      .get(dwellingId, id);
    if (found !== undefined) return found;
    throw new StoreError('not-found', `Dwelling ${dwellingId} has no import ${id}.`);
  };

  const store: ProvenanceStore = {
    async sealing(dwellingId) {
      requireDwelling(db, dwellingId);
      return (
        db
          .prepare<[number], { firstDay: number | null; lastDay: number | null; textKey: string }>(
            `SELECT first_day AS "firstDay", (SELECT max(day) FROM day_seal WHERE day_seal.dwelling_id = sealing.dwelling_id)
               AS "lastDay", text_key AS "textKey" FROM sealing WHERE dwelling_id = ?`,
          )
          .get(dwellingId) ?? null
      );
    },

    async sealNextDay(dwellingId, beforeDay, sealedAt) {
      wholeTime('sealedAt', sealedAt);
      const sealing = await store.sealing(dwellingId);
      if (sealing === null || sealing.firstDay === null) return null;
      const day = sealing.lastDay === null ? sealing.firstDay : sealing.lastDay + 1;
      if (day >= beforeDay) return null;
      while (!keepSeals(dwellingId, day, await sumUpDay(dwellingId, day), sealedAt));
      arrivals.forget();
      return daySealsOf(dwellingId, day, day + 1)[0]!;
    },

    async daySeals(dwellingId, fromDay, toDay) {
      requireDwelling(db, dwellingId);
      return daySealsOf(dwellingId, spanBound('fromDay', fromDay), spanBound('toDay', toDay));
    },

    async seriesSeals(dwellingId, fromDay, toDay) {
      requireDwelling(db, dwellingId);
      return seriesSealsOf(dwellingId, spanBound('fromDay', fromDay), spanBound('toDay', toDay));
    },

    async arrivals(dwellingId, seriesId) {
      requireDwelling(db, dwellingId);
      return visibleArrivals(
        db
          .prepare<[number, number], Arrival>(
            `SELECT ${arrivalColumns} FROM arrival WHERE dwelling_id = ? AND series_id = ? ORDER BY id`,
          )
          .all(dwellingId, seriesId),
      );
    },

    async journal(dwellingId) {
      requireDwelling(db, dwellingId);
      return changesBetween(dwellingId, 0, Number.MAX_SAFE_INTEGER);
    },

    async storyNow(dwellingId, textKey) {
      requireDwelling(db, dwellingId);
      return storyNow(db, dwellingId, textKey);
    },

    async imports(dwellingId) {
      requireDwelling(db, dwellingId);
      return db
        .prepare<[number], ImportedFile>(`SELECT ${importColumns} FROM import_file WHERE dwelling_id = ? ORDER BY id`)
        .all(dwellingId);
    },

    async beginImport({ dwellingId, at, name, bytes, fileDigest }) {
      filled('name', name);
      wholeTime('at', at);
      return write(db, () => {
        requireDwelling(db, dwellingId);
        const id = nextId(dwellingId, 'import_file');
        db.prepare(
          'INSERT INTO import_file (dwelling_id, id, at, name, bytes, file_digest) VALUES (?, ?, ?, ?, ?, ?)',
        ).run(dwellingId, id, at, name, bytes, fileDigest);
        noteChange(db, 'import_file', dwellingId, id);
        return importOf(dwellingId, id);
      });
    },

    async finishImport(dwellingId, id) {
      importOf(dwellingId, id);
      const hash = createHash('sha256');
      let stored = 0;
      for (const series of seriesOf(dwellingId)) {
        const all = await store.arrivals(dwellingId, series.id);
        const sum = await sumUp(
          series.prefix,
          all.filter(({ importId }) => importId === id),
          pageOf(dwellingId, series.id),
          [hash],
        );
        stored += sum?.readings ?? 0;
      }
      return write(db, () => {
        db.prepare('UPDATE import_file SET stored = ?, stored_digest = ? WHERE dwelling_id = ? AND id = ?').run(
          stored,
          hash.digest('hex'),
          dwellingId,
          id,
        );
        noteChange(db, 'import_file', dwellingId, id);
        return importOf(dwellingId, id);
      });
    },

    async checkSeals(dwellingId) {
      const sealing = await store.sealing(dwellingId);
      if (sealing === null) return [];
      return sealFaults({
        firstDay: sealing.firstDay ?? 0,
        seals: daySealsOf(dwellingId, 0, Number.MAX_SAFE_INTEGER),
        journal: changesBetween(dwellingId, 0, Number.MAX_SAFE_INTEGER),
        story: storyNow(db, dwellingId, sealing.textKey),
        sealed: (day) => seriesSealsOf(dwellingId, day, day + 1),
        found: (day) => sumUpDay(dwellingId, day),
      });
    },
  };
  return store;
}
