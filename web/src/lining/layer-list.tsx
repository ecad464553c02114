import { useEffect, useRef, useState } from 'preact/hooks';
import { number, quantity } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { words } from '../words/words.ts';
import { type LayerDraft, type ListName, moved, newLayer } from './draft.ts';
import type { Faults } from './faults.ts';
import { LayerFields } from './layer-fields.tsx';

/** Layers from the room outwards; added, moved, changed and taken away by mouse or by keyboard. */
export function LayerList(props: {
  title: string;
  lead: string;
  name: ListName;
  layers: readonly LayerDraft[];
  faults: Faults;
  change: (layers: readonly LayerDraft[]) => void;
}) {
  const { layers, faults, name, change } = props;
  const [open, setOpen] = useState<number | null>(null);
  const list = useRef<HTMLOListElement>(null);
  const focus = useRef<string | null>(null);
  // A moved row takes its buttons along: focus goes with it, and to what is left when a row goes.
  useEffect(() => {
    if (focus.current === null) return;
    const wanted = list.current?.parentElement?.querySelector<HTMLElement>(`[data-focus="${focus.current}"]`);
    focus.current = null;
    wanted?.focus();
  });
  const move = (index: number, by: -1 | 1) => {
    const next = moved(layers, index, by);
    if (next === layers) return;
    const at = index + by;
    const atEnd = at === 0 || at === layers.length - 1;
    const which = atEnd ? (by < 0 ? 'down' : 'up') : by < 0 ? 'up' : 'down';
    focus.current = `${which} ${layers[index]!.key}`;
    change(next);
  };
  const remove = (index: number) => {
    const beside = layers[index + 1] ?? layers[index - 1];
    focus.current = beside === undefined ? 'add' : `change ${beside.key}`;
    change(layers.filter((_, at) => at !== index));
  };
  const add = () => {
    const added = newLayer();
    setOpen(added.key);
    focus.current = `change ${added.key}`;
    change(name === 'lining' ? [...layers, added] : [added, ...layers]);
  };
  return (
    <section class="layers">
      <h2>{props.title}</h2>
      <p class="small">{props.lead}</p>
      {layers.length === 0 && <p>{t.noLining}</p>}
      <ol ref={list}>
        {layers.map((layer, index) => {
          const fault = (field: string) => faults.at(name, index, field);
          const of = t.layerOf(number(index + 1), layer.name);
          const shown = open === layer.key;
          return (
            <li key={layer.key} class={firstFault(faults, name, index) !== null ? 'has-fault' : undefined}>
              <div class="layer-line">
                <span class="layer-name">
                  {layer.name} <span class="small">{shortly(layer)}</span>
                </span>
                <span class="layer-buttons">
                  <button
                    type="button"
                    class="plain"
                    data-focus={`change ${layer.key}`}
                    aria-expanded={shown}
                    onClick={() => setOpen(shown ? null : layer.key)}
                  >
                    {t.change}
                    <span class="unseen"> {of}</span>
                  </button>
                  <button
                    type="button"
                    class="plain"
                    data-focus={`up ${layer.key}`}
                    aria-disabled={index === 0}
                    title={t.up}
                    onClick={() => move(index, -1)}
                  >
                    ↑<span class="unseen"> {`${t.up}: ${of}`}</span>
                  </button>
                  <button
                    type="button"
                    class="plain"
                    data-focus={`down ${layer.key}`}
                    aria-disabled={index === layers.length - 1}
                    title={t.down}
                    onClick={() => move(index, 1)}
                  >
                    ↓<span class="unseen"> {`${t.down}: ${of}`}</span>
                  </button>
                  <button type="button" class="plain" title={words.remove} onClick={() => remove(index)}>
                    ×<span class="unseen"> {`${t.removeLayer}: ${of}`}</span>
                  </button>
                </span>
              </div>
              {shown && (
                <fieldset class="inset">
                  <legend class="unseen">{of}</legend>
                  <LayerFields
                    layer={layer}
                    fault={fault}
                    change={(next) => change(layers.map((one) => (one.key === next.key ? next : one)))}
                  />
                </fieldset>
              )}
              {!shown && firstFault(faults, name, index) !== null && (
                <small class="fault">{firstFault(faults, name, index)}</small>
              )}
            </li>
          );
        })}
      </ol>
      <button type="button" data-focus="add" onClick={add}>
        {t.add}
        <span class="unseen"> {t.addTo(props.title)}</span>
      </button>
    </section>
  );
}

const watched = [
  ...['name', 'thickness_mm', 'material', 'sheet', 'sd_m', 'resistance_m2k_per_w', 'ventilation', 'vapour_control'],
  ...['conductivity_w_per_mk', 'vapour_resistance_factor', 'density_kg_per_m3', 'heat_capacity_j_per_kgk', 'bridge'],
  ...['ventilation.openings_mm2', 'bridge.name', 'bridge.width_mm', 'bridge.spacing_mm', 'bridge.share'],
];

const firstFault = (faults: Faults, list: ListName, index: number): string | null =>
  watched.map((field) => faults.at(list, index, field)).find((fault) => fault !== null) ?? null;

function shortly(layer: LayerDraft): string {
  const parts = [
    layer.thickness_mm === undefined
      ? null
      : quantity(layer.thickness_mm, 'mm', Number.isInteger(layer.thickness_mm) ? 0 : 1),
    layer.kind === 'air' && layer.ventilation === 'well-ventilated' ? t.ventilatedVoid : null,
    layer.bridge === undefined ? null : layer.bridge.name,
    layer.vapour_control ? t.vapourControl : null,
  ];
  return parts.filter((part) => part !== null).join(', ');
}
