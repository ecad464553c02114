import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';

/** The table behind a chart; its rows are made when it is opened. */
export function TableBehind(props: {
  summary: string;
  columns: readonly string[];
  rows: () => readonly { readonly key: string; readonly cells: readonly ComponentChildren[] }[];
}) {
  const [open, setOpen] = useState(false);
  return (
    <details class="behind" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{props.summary}</summary>
      {open && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
        <section class="scrolls" tabIndex={0} aria-label={props.summary}>
          <table class="figures-table">
            <thead>
              <tr>
                {props.columns.map((column, i) => (
                  <th key={column} scope="col" class={i === 0 ? undefined : 'number'}>
                    {column}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {props.rows().map(({ key, cells }) => (
                <tr key={key}>
                  {cells.map((cell, i) =>
                    i === 0 ? (
                      <th key={props.columns[i]} scope="row">
                        {cell}
                      </th>
                    ) : (
                      <td key={props.columns[i]} class="number">
                        {cell}
                      </td>
                    ),
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
    </details>
  );
}
