import { setImmediate } from 'node:timers/promises';
import type { ExportedKind } from '../../analysis/export-vocabulary.ts';
import { HOUR_MS } from '../../analysis/vocabulary.ts';
import { quantities } from '../../physics/quantities.ts';
import type { Dwelling, Store } from '../../store/port.ts';
import { hourPages, readingPages, withArrivals } from '../members.ts';
import type { Table } from '../table.ts';
import * as t from '../tables.ts';

/** A table of an export, and its rows a page at a time. */
export interface Exported<Row> {
  readonly table: Table<Row>;
  readonly pages: () => AsyncIterable<readonly Row[]>;
}

interface Span {
  /** UTC milliseconds, from 0 to infinity; `from` included, `to` excluded, by the hour where hours are exported */
  readonly from: number;
  readonly to: number;
}

type ExportedReading = t.PackedReading & { readonly key: string; readonly quantity: string };

/** As in a pack, but all series in one table: so the quantity is a column, and its unit stands in its cells. */
const readingTable: Table<ExportedReading> = {
  name: 'readings',
  title: 'Raw readings, as they came',
  primaryKey: ['sensor', 'quantity', 'time_utc'],
  fields: [
    {
      name: 'sensor_key',
      type: 'string',
      description: 'last part of its topic, or the name it was imported under',
      required: true,
      of: (row) => row.key,
    },
    {
      name: 'quantity',
      type: 'string',
      description: 'what is measured, and its unit',
      required: true,
      of: (row) => row.quantity,
    },
    ...t
      .readingTable(0, 'temperature')
      .fields.map((field) =>
        field.name === quantities.temperature.wire
          ? { ...field, name: 'value', description: 'the reading, in the unit that the quantity names' }
          : field,
      ),
  ],
};

type ExportedHour = t.PackedHour & { readonly placeName: string };

const hourTable: Table<ExportedHour> = {
  name: 'hours',
  title: 'Hour records',
  primaryKey: ['place', 'hour_utc'],
  fields: [
    { name: 'place', type: 'integer', description: 'number of the place', required: true, of: (row) => row.placeId },
    {
      name: 'place_name',
      type: 'string',
      description: 'as people call it',
      required: true,
      of: (row) => row.placeName,
    },
    ...t.hourTable(0).fields,
  ],
};

/** Raw readings of a dwelling in order of sensor, quantity and time. Other work gets its turn between the pages. */
function readings(store: Store, { id: dwellingId }: Dwelling, { from, to }: Span): Exported<ExportedReading> {
  return {
    table: readingTable,
    async *pages() {
      const keyOf = new Map((await store.sensors(dwellingId)).map(({ id, key }) => [id, key]));
      for (const series of await store.series(dwellingId)) {
        const more = { key: keyOf.get(series.sensorId)!, quantity: quantities[series.quantity].wire };
        const pages = readingPages(store, dwellingId, series.id, from, to);
        for await (const page of withArrivals(store, dwellingId, series, pages)) {
          yield page.map((reading) => ({ ...reading, ...more }));
          await setImmediate();
        }
      }
    },
  };
}

/** Hour records of a dwelling in order of place and time. */
function hours(store: Store, { id: dwellingId }: Dwelling, { from, to }: Span): Exported<ExportedHour> {
  return {
    table: hourTable,
    async *pages() {
      const known = await store.hourSpan(dwellingId);
      if (known === null) return;
      const span = {
        from: Math.max(known.first, Math.floor(from / HOUR_MS) * HOUR_MS),
        to: Math.min(known.last + HOUR_MS, Math.ceil(to / HOUR_MS) * HOUR_MS),
      };
      for (const { id, name } of await store.places(dwellingId)) {
        for await (const page of hourPages(store, dwellingId, id, span)) {
          yield page.map((hour) => ({ ...hour, placeName: name }));
          await setImmediate();
        }
      }
    },
  };
}

/** Hands what is to be exported to `use`, whatever its rows are. */
export function withExported<Result>(
  store: Store,
  dwelling: Dwelling,
  kind: ExportedKind,
  span: Span,
  use: <Row>(exported: Exported<Row>) => Result,
): Result {
  return kind === 'readings' ? use(readings(store, dwelling, span)) : use(hours(store, dwelling, span));
}
