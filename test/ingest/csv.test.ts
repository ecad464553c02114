import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { type LogItem, readItems, readLoggerCsv } from '../../server/ingest/csv.ts';
import { type CsvOptions, guessCsv } from '../../server/ingest/csv-guess.ts';
import { planImport, runImport } from '../../server/ingest/import.ts';
import { everyReading, openHome } from './home.ts';

const folder = mkdtempSync(join(tmpdir(), 'coomb-csv-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const london = { fallbackZone: 'Europe/London', latest: Date.UTC(2026, 11, 31) };
let files = 0;
function file(content: string | Uint8Array): string {
  const path = join(folder, `log-${files++}.csv`);
  writeFileSync(path, content);
  return path;
}

const read = (content: string | Uint8Array, options: CsvOptions = {}) => readLoggerCsv(file(content), london, options);

async function items(content: string, options: CsvOptions = {}): Promise<LogItem[]> {
  const path = file(content);
  const all: LogItem[] = [];
  for await (const item of readItems(path, await guessCsv(path, options), london)) all.push(item);
  return all;
}

const iso = (times: Float64Array): string[] => [...times].map((time) => new Date(time).toISOString());
const rows = 'time,temperature_c,humidity_pct\n';

describe('a file of our own column names', () => {
  it('is read with times in UTC', async () => {
    const log = await read(`${rows}2026-01-31T17:20:00Z,12.6,80\n2026-01-31T18:20:00+01:00,12.5,81\n`);
    expect(iso(log.times)).toEqual(['2026-01-31T17:20:00.000Z', '2026-01-31T17:20:00.000Z']);
    expect([...log.temperature]).toEqual([12.6, 12.5]);
    expect([...log.humidity]).toEqual([80, 81]);
    expect(log.rejects).toEqual([]);
    expect(log.guess.zone).toEqual({ kind: 'in-cells' });
  });

  it('may lack a column, and have gaps', async () => {
    const log = await read(
      'time,temperature_c\n2026-01-31T17:20:00Z,12.6\n2026-01-31T17:30:00Z,\n2026-01-31T17:40:00Z,NaN\n',
    );
    expect([...log.temperature]).toEqual([12.6]);
    expect([...log.humidity]).toEqual([Number.NaN]);
    expect(log.rejects).toEqual([]);
  });

  it('that begins with a gap has no second header row', async () => {
    const log = await read(`${rows}2026-01-31T17:20:00Z,,\n2026-01-31T17:30:00Z,NA,NA\n2026-01-31T17:40:00Z,1,50\n`);
    expect(log.guess.headerRows).toBe(1);
    expect(log.times).toHaveLength(1);
  });
});

describe('the shape of a file', () => {
  const winter = [
    ['2026-01-31 17:20:00', '12.6', '80.5'],
    ['2026-01-31 17:30:00', '-12.7', '81'],
  ];
  const same = (log: Awaited<ReturnType<typeof read>>): void => {
    expect(iso(log.times)).toEqual(['2026-01-31T17:20:00.000Z', '2026-01-31T17:30:00.000Z']);
    expect([...log.temperature]).toEqual([12.6, -12.7]);
    expect([...log.humidity]).toEqual([80.5, 81]);
    expect(log.rejects).toEqual([]);
  };
  const table = (
    separator: string,
    end: string,
    change = (cell: string) => cell,
    header = ['time', 'T', 'RH'],
  ): string => [header, ...winter.map((row) => row.map(change))].map((row) => row.join(separator) + end).join('');

  it.each([
    ['commas', table(',', '\n')],
    ['semicolons', table(';', '\n')],
    ['tabs', table('\t', '\n')],
    ['semicolons and decimal commas', table(';', '\n', (cell) => cell.replace('.', ','))],
    [
      'quoted decimal commas between commas',
      table(',', '\n', (cell) => (/^\d{4}/.test(cell) ? cell : `"${cell.replace('.', ',')}"`)),
    ],
    ['line ends of Windows', table(',', '\r\n')],
    ['line ends of old Macs', table(',', '\r')],
    ['mixed line ends and empty lines', `time,T,RH\r\n\r\n${winter[0]!.join(',')}\n\n\r${winter[1]!.join(',')}\r\n`],
    ['no line end at the end', table(',', '\n').trimEnd()],
    ['a byte order mark', `\ufeff${table(';', '\r\n')}`],
    ['a byte order mark and quotes', `\ufeff${table(',', '\n', (cell) => `"${cell}"`, ['"time"', '"T"', '"RH"'])}`],
    ['spaces around', table(', ', '\n')],
    ['two header rows, the second of units', `time;T;RH\n;°C;%\n${winter.map((row) => row.join(';')).join('\n')}`],
    ['a preamble', `Logger 12345\nExported: 2026-02-01\n\n${table(',', '\n')}`],
    ['trailing separators', table(',', ',\n')],
  ])('can be of %s', async (_, content) => same(await read(content)));

  it('can be UTF-16 or of an older code page', async () => {
    const text = table('\t', '\r\n', undefined, ['Zeit', 'Temp °C', 'RH %']);
    same(await read(Buffer.from(`\ufeff${text}`, 'utf16le')));
    same(await read(Buffer.from(`\ufeff${text}`, 'utf16le').swap16()));
    const old = await read(Buffer.from(text, 'latin1'));
    same(old);
    expect(old.guess.encoding).toBe('windows-1252');
    expect(old.guess.quantities[0]?.name).toBe('Temp °C');
  });

  it('keeps line numbers through mixed line ends and empty lines', async () => {
    const log = await read(`time,T\r\n\n2026-01-31 17:20,1\r2026-01-31 17:30,x\n\r\n2026-01-31 17:40,y\n`);
    expect(log.rejects.map(({ line }) => line)).toEqual([4, 6]);
  });

  it('without a header is read in order of columns, with a note', async () => {
    const log = await read('2026-01-31 17:20:00,12.6,80.5\n2026-01-31 17:30:00,-12.7,81\n');
    same(log);
    expect(log.guess.notes.join()).toContain('no header');
  });
});

describe('columns and units', () => {
  it.each<[string, number]>([
    ['Temp °F', 54.68],
    ['Temperature (F)', 54.68],
    ['temperature_f', 54.68],
    ['T', 12.6],
    ['Te', 12.6],
    ['Temperature (°C)', 12.6],
    ['Temp. [C]', 12.6],
    ['temperature_c', 12.6],
  ])('%s holding %d is 12.6 degrees Celsius', async (name, value) => {
    // (54.68 - 32) / 1.8 = 12.6: the definition of the Fahrenheit scale; the tolerance is that of binary fractions
    const log = await read(`Date Time;${name};Relative Humidity (%)\n2026-01-31 17:20:00;${value};80\n`);
    expect(log.temperature[0]).toBeCloseTo(12.6, 10);
    expect(log.humidity[0]).toBe(80);
  });

  it('the dew point is not the temperature', async () => {
    const log = await read(
      'time,Dew point temperature,Temperature,Absolute humidity,RH\n2026-01-31 17:20,9,12.6,8.5,80\n',
    );
    expect([log.temperature[0], log.humidity[0]]).toEqual([12.6, 80]);
    expect(log.guess.ignored).toEqual(['Dew point temperature', 'Absolute humidity']);
  });

  it('a second temperature is pointed out', async () => {
    const log = await read('time,Temp 1,Temp 2\n2026-01-31 17:20,12.6,13\n');
    expect(log.temperature[0]).toBe(12.6);
    expect(log.guess.notes.join()).toContain('"Temp 2"');
  });

  it('can be told by name or number, and by unit', async () => {
    const content = 'when,a,b,c\n2026-01-31 17:20,1,54.68,80\n';
    const log = await read(content, { columns: { temperature: 'B', humidity: '4' }, temperatureUnit: 'F' });
    expect(log.temperature[0]).toBeCloseTo(12.6, 10);
    expect(log.humidity[0]).toBe(80);
    await expect(read(content, { columns: { temperature: 'd' } })).rejects.toMatchObject({
      code: 'unknown-column',
      message: expect.stringContaining('"when", "a", "b", "c"'),
    });
  });

  it('temperatures of seventy are asked about', async () => {
    const log = await read('time,T\n2026-01-31 17:20,68\n2026-01-31 17:30,71\n2026-01-31 17:40,70\n');
    expect(log.guess.notes.join()).toContain('--unit F');
  });
});

describe('times', () => {
  it.each([
    ['2026-01-31 17:20:00', 'ymd'],
    ['2026/01/31 17:20', 'ymd'],
    ['31.01.2026 17:20:00', 'dmy'],
    ['31.01.26 17:20', 'dmy'],
    ['31/01/2026 05:20 PM', 'dmy'],
    ['01/31/2026 5:20:00 pm', 'mdy'],
    ['1769880000', 'epoch'],
    ['1769880000000', 'epoch'],
  ])('%s is in the order %s', async (time, order) => {
    const log = await read(`time,T\n${time},1\n`);
    expect(log.guess.dateOrder).toBe(order);
    expect(iso(log.times)).toEqual(['2026-01-31T17:20:00.000Z']);
  });

  it('can stand in two columns', async () => {
    const log = await read('Date,Time,T\n31.01.2026,17:20:00,1\n31.01.2026,17:30:00,2\n');
    expect(iso(log.times)).toEqual(['2026-01-31T17:20:00.000Z', '2026-01-31T17:30:00.000Z']);
  });

  it('whose day and month could change places are asked about', async () => {
    await expect(read('time,T\n02/03/2026 17:20,1\n02/03/2026 17:30,1\n')).rejects.toMatchObject({
      code: 'ambiguous-dates',
      message: expect.stringContaining('--date-order'),
    });
    const told = await read('time,T\n02/03/2026 17:20,1\n', { dateOrder: 'mdy' });
    expect(iso(told.times)).toEqual(['2026-02-03T17:20:00.000Z']);
  });

  it('show the order of day and month by running on over midnight', async () => {
    const days = (order: (day: number) => string): string =>
      `time,T\n${[3, 4, 5].flatMap((day) => [`${order(day)} 06:00,1`, `${order(day)} 18:00,1`]).join('\n')}\n`;
    const dmy = await read(days((day) => `0${day}/02/2026`));
    expect(iso(dmy.times).at(-1)).toBe('2026-02-05T18:00:00.000Z');
    const mdy = await read(days((day) => `02/0${day}/2026`));
    expect(iso(mdy.times).at(-1)).toBe('2026-02-05T18:00:00.000Z');
  });

  it.each([
    ['t_UTC+2', '2026-01-31T15:20:00.000Z'],
    ['Time (UTC)', '2026-01-31T17:20:00.000Z'],
    ['Date Time, GMT-05:00', '2026-01-31T22:20:00.000Z'],
    ['time', '2026-01-31T17:20:00.000Z'],
  ])('under the header %s are %s', async (header, expected) => {
    expect(iso((await read(`"${header}",T\n2026-01-31 17:20:00,1\n`)).times)).toEqual([expected]);
  });

  it('follow the zone or offset that is given before what the header says', async () => {
    const content = 't_UTC+2,T\n2026-07-31 17:20:00,1\n';
    expect(iso((await read(content, { zone: 'Europe/London' })).times)).toEqual(['2026-07-31T16:20:00.000Z']);
    expect(iso((await read(content, { zone: '+05:30' })).times)).toEqual(['2026-07-31T11:50:00.000Z']);
    await expect(read(content, { zone: 'Moon/Base' })).rejects.toThrow(RangeError);
  });

  it('without an offset are local to the dwelling, summer and winter', async () => {
    const log = await read('time,T\n2026-07-01 12:00,1\n2026-12-01 12:00,1\n');
    expect(iso(log.times)).toEqual(['2026-07-01T11:00:00.000Z', '2026-12-01T12:00:00.000Z']);
  });
});

// The European Union and the United Kingdom put clocks back at 01:00 UTC on the last Sunday of October, which is the
// 25th in 2026, and forward at 01:00 UTC on the last Sunday of March, the 29th (Directive 2000/84/EC; Summer Time Act
// 1972, section 1). So 01:00 to 01:59 London time is shown twice in October and 01:00 to 01:59 never in March.
describe('the night the clock is put back', () => {
  const log = (...times: string[]): string =>
    `time,T\n${times.map((time, n) => `2026-10-25 ${time},${n}`).join('\n')}\n`;

  it('is told by the order of rows where the file shows the hour twice', async () => {
    const { times, rejects } = await read(log('00:30', '01:00', '01:30', '01:00', '01:30', '02:00'));
    expect(rejects).toEqual([]);
    expect(iso(times)).toEqual([
      '2026-10-24T23:30:00.000Z',
      '2026-10-25T00:00:00.000Z',
      '2026-10-25T00:30:00.000Z',
      '2026-10-25T01:00:00.000Z',
      '2026-10-25T01:30:00.000Z',
      '2026-10-25T02:00:00.000Z',
    ]);
  });

  it('is told for hourly rows too, and for a file that runs backwards', async () => {
    expect(iso((await read(log('00:00', '01:00', '01:00', '02:00'))).times)).toEqual([
      '2026-10-24T23:00:00.000Z',
      '2026-10-25T00:00:00.000Z',
      '2026-10-25T01:00:00.000Z',
      '2026-10-25T02:00:00.000Z',
    ]);
    expect(iso((await read(log('02:30', '02:00', '01:30', '01:00', '01:30', '01:00', '00:30'))).times)).toEqual([
      '2026-10-25T02:30:00.000Z',
      '2026-10-25T02:00:00.000Z',
      '2026-10-25T01:30:00.000Z',
      '2026-10-25T01:00:00.000Z',
      '2026-10-25T00:30:00.000Z',
      '2026-10-25T00:00:00.000Z',
      '2026-10-24T23:30:00.000Z',
    ]);
  });

  it('leaves rows out, by line, where the file shows the hour once', async () => {
    const { times, rejects } = await read(log('00:30', '01:00', '01:30', '02:00'));
    expect(iso(times)).toEqual(['2026-10-24T23:30:00.000Z', '2026-10-25T02:00:00.000Z']);
    expect(rejects.map(({ line }) => line)).toEqual([3, 4]);
    expect(rejects[0]?.reason).toContain('--utc-offset');
    const fixed = await read(log('00:30', '01:00', '01:30', '02:00'), { zone: '+00:00' });
    expect(fixed.rejects).toEqual([]);
  });

  it('ends the file in doubt', async () => {
    expect((await read(log('00:30', '01:00'))).rejects.map(({ line }) => line)).toEqual([3]);
  });

  it('has its counterpart in spring, with times that do not exist', async () => {
    const { times, rejects } = await read('time,T\n2026-03-29 00:59,1\n2026-03-29 01:30,1\n2026-03-29 02:00,1\n');
    expect(iso(times)).toEqual(['2026-03-29T00:59:00.000Z', '2026-03-29T01:00:00.000Z']);
    expect(rejects).toEqual([{ line: 3, reason: expect.stringContaining('does not exist in Europe/London') }]);
  });
});

describe('what cannot be read', () => {
  it.each([
    ['empty', ''],
    ['empty', ' \r\n \n'],
    ['no-rows', 'time,T,RH\n'],
    ['no-rows', 'a,b\nc,d\n'],
    ['no-rows', 'time,T\n12:00,1\n'],
    ['no-quantity', 'time,wind\n2026-01-31 17:20,3\n'],
  ])('is refused as %s with what to do: %j', async (code, content) => {
    await expect(read(content)).rejects.toMatchObject({ name: 'CsvProblem', code });
  });

  it('is a file that is not there, or a folder', async () => {
    await expect(guessCsv(join(folder, 'nowhere.csv'))).rejects.toMatchObject({ code: 'unreadable' });
    await expect(guessCsv(folder)).rejects.toMatchObject({ code: 'unreadable' });
  });

  it('is an open quote, told by its line, and the memory it would take is not', async () => {
    const good = Array.from({ length: 50 }, (_, n) => `2026-01-31 17:${String(n).padStart(2, '0')},1`).join('\n');
    const path = file(`time,T\n${good}\n"${'2026-01-31 18:00,1\n'.repeat(100_000)}`);
    const reading = async (): Promise<void> => {
      for await (const _ of readItems(path, await guessCsv(path), london));
    };
    await expect(reading()).rejects.toMatchObject({
      code: 'broken-quotes',
      message: expect.stringContaining('line 51'),
    });
  });

  it('leaves the rows around it untouched', async () => {
    const all = await items(
      [
        'time,T,RH',
        '2026-01-31 17:00,12.6,80',
        '2026-01-31 17:10,12.6,300',
        '2026-01-31 17:20,warm,80',
        '2026-01-31 17:30,,',
        'time,T,RH',
        '2026-02-30 17:40,12.6,80',
        '1970-01-01 00:00,12.6,80',
        '2126-01-01 00:00,12.6,80',
        '2026-01-31 17:50,1e400,103',
        '2026-01-31 18:00,12.6,80',
      ].join('\n'),
    );
    expect(
      all.map((item) => [item.line, item.kind, item.kind === 'row' ? item.values.map(({ value }) => value) : null]),
    ).toEqual([
      [2, 'row', [12.6, 80]],
      [3, 'row', [12.6]],
      [3, 'reject', null],
      [4, 'row', [80]],
      [4, 'reject', null],
      [5, 'gap', null],
      [6, 'reject', null],
      [7, 'reject', null],
      [8, 'reject', null],
      [9, 'reject', null],
      [10, 'row', [103]],
      [10, 'reject', null],
      [11, 'row', [12.6, 80]],
    ]);
  });
});

describe('an import', () => {
  it('adds nothing the second time', async () => {
    const home = await openHome();
    const plan = await planImport(file(`${rows}2026-01-31T17:20:00Z,12.6,80\n2026-01-31T17:30:00Z,12.5,81\n`), london);
    const target = { dwellingId: home.dwellingId, sensorKey: 'eaves', receivedAt: Date.UTC(2026, 1, 1) };
    expect(await runImport(home.store, plan, target)).toEqual({ stored: 4, repeated: 0, conflicting: 0 });
    expect(await runImport(home.store, plan, target)).toEqual({ stored: 0, repeated: 4, conflicting: 0 });
    expect(await everyReading(home.store, home.dwellingId)).toHaveLength(4);
    const other = await planImport(file(`${rows}2026-01-31T17:20:00Z,13,80\n`), london);
    expect(await runImport(home.store, other, target)).toEqual({ stored: 0, repeated: 1, conflicting: 1 });
    await home.close();
  });
});

const openData = fileURLToPath(new URL('../../../shared/open-data', import.meta.url));
const here = existsSync(openData);
if (!here) console.warn('LEFT OUT: the loggers of real houses, for there is no ../shared/open-data beside the project');

// TRH-database (A. Laukkarinen et al.) and Finnish Meteorological Institute open data, CC BY 4.0: hourly, UTC+2 all year.
describe.skipIf(!here)('the loggers of real houses', () => {
  const logs = here
    ? ['house-a', 'house-b'].flatMap((house) =>
        readdirSync(join(openData, house)).map((name) => join(openData, house, name)),
      )
    : [];

  it.each(logs.map((path) => [path.slice(openData.length + 1), path] as const))(
    '%s is read as it stands, every row',
    async (_, path) => {
      const log = await readLoggerCsv(path, london);
      expect(log.rejects).toEqual([]);
      expect(log.guess.zone).toEqual({ kind: 'clock', zone: '+2', from: 'header' });
      expect(log.guess.quantities.map(({ quantity }) => quantity)).toEqual(['temperature', 'humidity']);
      expect(log.times.length).toBeGreaterThan(6000);
      for (let i = 0; i < log.times.length; i++) {
        // midnight at UTC+2 is 22:00 UTC, and every step is one hour
        expect(log.times[i]).toBe(log.times[0]! + i * 3_600_000);
        expect(Number.isNaN(log.temperature[i]!) || Number.isNaN(log.humidity[i]!)).toBe(false);
      }
      expect(log.times[0]! % 86_400_000).toBe(22 * 3_600_000);
    },
  );
});
