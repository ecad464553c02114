import { DateTime } from 'luxon';
import { clockOf } from '../ingest/csv.ts';
import type { ImportPlan } from '../ingest/import.ts';
import { quantities } from '../physics/quantities.ts';
import type { AppendOutcome, Dwelling, New } from '../store/port.ts';

const separators: Readonly<Record<string, string>> = { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'bar' };

const orders = {
  ymd: 'year, month, day',
  dmy: 'day, month, year',
  mdy: 'month, day, year',
  epoch: 'counted from 1970',
};

/** What an import would do, for the person who decides. Numbers as they will be stored. */
export function importSummary(
  plan: ImportPlan,
  target: { readonly dwelling: Dwelling | New<Dwelling>; readonly sensorKey: string; readonly isNew: boolean },
): string {
  const { guess } = plan;
  const { dwelling, sensorKey, isNew } = target;
  const at = (time: number): string =>
    DateTime.fromMillis(time, { zone: dwelling.zone }).toFormat('yyyy-MM-dd HH:mm:ss ZZ');
  const columns = guess.quantities.map(({ quantity, name, unit }) => {
    const extent = plan.quantities.find((found) => found.quantity === quantity);
    const { unit: own } = quantities[quantity];
    const values =
      extent === undefined
        ? 'no value'
        : `${extent.count} values, ${rounded(extent.min)} to ${rounded(extent.max)} ${own}`;
    return `${quantity.padEnd(14)} from "${name}" in ${unit}: ${values}`;
  });
  const lines: [label: string, text: string][] = [
    [
      'file',
      `${plan.path} (${separators[guess.delimiter] ?? guess.delimiter}, decimal ${guess.decimal === ',' ? 'comma' : 'point'}, ${guess.headerRows} header ${guess.headerRows === 1 ? 'row' : 'rows'}, ${guess.encoding})`,
    ],
    ['dwelling', `${dwelling.name} (${dwelling.slug}, ${dwelling.zone})${isNew ? ': new, it will be made' : ''}`],
    ['sensor', sensorKey],
    [
      'time',
      `from "${guess.timeColumns.map(({ name }) => name).join('" and "')}", ${orders[guess.dateOrder]}; ${zoneText(plan)}`,
    ],
    ...columns.map((text, index): [string, string] => [index === 0 ? 'readings' : '', text]),
    ['span', plan.first === null || plan.last === null ? 'nothing' : `${at(plan.first)} to ${at(plan.last)}`],
    [
      'rows',
      `${plan.rows}${plan.intervalSeconds === null ? '' : `, mostly ${plan.intervalSeconds} s apart`}${plan.gaps > 0 ? `; ${plan.gaps} more without a value` : ''}`,
    ],
    ...(guess.ignored.length > 0 ? [['not read', guess.ignored.join(', ')] as [string, string]] : []),
    ...guess.notes.map((note): [string, string] => ['note', note]),
    [
      'left out',
      plan.rejected === 0
        ? 'nothing'
        : `${plan.rejected} ${plan.rejected === 1 ? 'line or value' : 'lines or values'}:`,
    ],
  ];
  const rejects = plan.rejects.map(({ line, reason }) => `    line ${line}: ${reason}`);
  const more = plan.rejected - plan.rejects.length;
  if (more > 0) rejects.push(`    and ${more} more; --rejects FILE lists them all`);
  return `${[...lines.map(([label, text]) => `  ${label.padEnd(10)}${text}`), ...rejects].join('\n')}\n`;
}

function zoneText({ guess, rules }: ImportPlan): string {
  const clock = clockOf(guess, rules);
  if (clock === null) return 'each with its offset from UTC';
  if (guess.zone.kind !== 'clock') return `taken as local time in ${clock.name}, the dwelling's zone`;
  return `${clock.name}, as the ${guess.zone.from === 'header' ? 'header says' : 'option says'}`;
}

const rounded = (value: number): string => String(Math.round(value * 100) / 100);

export function outcomeText({ stored, repeated, conflicting }: AppendOutcome, sensorKey: string): string {
  const parts = [`${stored} readings of ${sensorKey} were stored`];
  if (repeated > 0) parts.push(`${repeated} were there already`);
  if (conflicting > 0) {
    parts.push(`${conflicting} disagree with what was there and are kept beside it as conflicts`);
  }
  return `${parts.join('; ')}.\n`;
}
