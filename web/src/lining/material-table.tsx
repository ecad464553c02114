import { materials, sheets } from '../../../server/physics/material.ts';
import { Figure, Workings } from '../parts/working.tsx';
import { number } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { said } from '../words/say.ts';

/** Where a value of the table comes from, for whoever asks how it was worked out. */
const workings = [...Object.values(materials), ...Object.values(sheets)].map(({ name, source, status }) => ({
  figure: name,
  formula: t.working.table,
  inputs: [],
  uncertainty: t.working.tableUncertainty[status],
  source,
}));

/** The built-in values, each with its source and how it came to us. */
export function MaterialTable() {
  const c = t.tableColumns;
  const s = t.sheetColumns;
  const cell = (name: string, column: string, text: string) => (
    <td data-label={column}>
      <Figure path={name} text={text} of={`${said.term(name)}, ${column}`} />
    </td>
  );
  return (
    <Workings.Provider value={workings}>
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
                <th scope="row">{said.term(one.name)}</th>
                {cell(one.name, c.lambda, number(one.conductivity, 3))}
                {cell(one.name, c.density, number(one.density))}
                {cell(one.name, c.mu, `${number(one.vapourResistance.dry)} / ${number(one.vapourResistance.wet)}`)}
                <td class="small">{`${said.term(one.source)}; ${t.statuses[one.status]}`}</td>
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
                <th scope="row">{said.term(one.name)}</th>
                {cell(one.name, s.sd, number(one.sd, 1))}
                <td class="small">{`${said.term(one.source)}; ${t.statuses[one.status]}`}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </Workings.Provider>
  );
}
