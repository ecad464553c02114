import { materials, sheets } from '../../../server/physics/material.ts';
import { number } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';

/** The built-in values, each with its source and how it came to us. */
export function MaterialTable() {
  const c = t.tableColumns;
  const s = t.sheetColumns;
  return (
    <details>
      <summary>{t.tableTitle}</summary>
      <p class="small">{t.tableLead}</p>
      <table class="folds">
        <caption class="unseen">{t.tableTitle}</caption>
        <thead>
          <tr>
            {[c.material, c.lambda, c.density, c.mu, c.source].map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {Object.values(materials).map((one) => (
            <tr key={one.name}>
              <th scope="row">{one.name}</th>
              <td data-label={c.lambda}>{number(one.conductivity, 3)}</td>
              <td data-label={c.density}>{number(one.density)}</td>
              <td data-label={c.mu}>{`${number(one.vapourResistance.dry)} / ${number(one.vapourResistance.wet)}`}</td>
              <td class="small">{`${one.source}; ${t.statuses[one.status]}`}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <table class="folds">
        <caption class="unseen">{t.fields.sheet}</caption>
        <thead>
          <tr>
            {[s.sheet, s.sd, s.source].map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {Object.values(sheets).map((one) => (
            <tr key={one.name}>
              <th scope="row">{one.name}</th>
              <td data-label={s.sd}>{number(one.sd, 1)}</td>
              <td class="small">{`${one.source}; ${t.statuses[one.status]}`}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
