import { type MaterialName, materials, type SheetName, sheets } from '../../../server/physics/material.ts';
import { number } from '../words/format.ts';
import { liningWords as t } from '../words/lining.ts';
import { said } from '../words/say.ts';
import type { BridgeDraft, LayerDraft, LayerKind, OwnValues } from './draft.ts';
import { ChoiceField, NumberField, TextField, TickField } from './value-field.tsx';

type FaultOf = (field: string) => string | null;

const kinds: readonly LayerKind[] = ['material', 'sheet', 'declared', 'air'];
const materialOptions = [
  ...Object.entries(materials).map(([id, { name }]) => [id, said.term(name)] as const),
  ['', t.ownMaterial] as const,
];
const sheetOptions = [
  ...Object.entries(sheets).map(([id, { name }]) => [id, said.term(name)] as const),
  ['', t.ownMaterial] as const,
];

/** What a layer keeps when it becomes one of another kind. */
function asKind({ key, name, thickness_mm, vapour_control, bridge }: LayerDraft, kind: LayerKind): LayerDraft {
  const common = { key, name, kind };
  switch (kind) {
    case 'material':
      return { ...common, material: 'plasterboard', thickness_mm, vapour_control, bridge };
    case 'sheet':
      return { ...common, sheet: 'polyethylene-0.15', vapour_control };
    case 'declared':
      return { ...common };
    case 'air':
      return { ...common, thickness_mm: thickness_mm ?? 25, ventilation: 'closed', bridge };
  }
}

/** All values of one layer. */
export function LayerFields(props: { layer: LayerDraft; fault: FaultOf; change: (layer: LayerDraft) => void }) {
  const { layer, fault, change } = props;
  const set = (part: Partial<LayerDraft>) => change({ ...layer, ...part });
  return (
    <>
      <div class="field-row">
        <ChoiceField
          label={t.fields.kind}
          value={layer.kind}
          options={kinds.map((kind) => [kind, t.kinds[kind]])}
          change={(kind) => change(asKind(layer, kind as LayerKind))}
        />
        <TextField label={t.fields.name} value={layer.name} fault={fault('name')} change={(name) => set({ name })} />
      </div>
      {(layer.kind === 'material' || layer.kind === 'air') && (
        <NumberField
          label={t.fields.thickness_mm}
          value={layer.thickness_mm}
          fault={fault('thickness_mm')}
          change={(thickness_mm) => set({ thickness_mm })}
        />
      )}
      {layer.kind === 'material' && (
        <>
          <MaterialFields own={layer} fault={fault} set={set} />
          <NumberField
            label={t.fields.sd_m}
            value={layer.sd_m}
            fault={fault('sd_m')}
            hint={sdHint(layer)}
            change={(sd_m) => set({ sd_m })}
          />
        </>
      )}
      {layer.kind === 'sheet' && (
        <div class="field-row">
          <ChoiceField
            label={t.fields.sheet}
            value={layer.sheet ?? ''}
            options={sheetOptions}
            change={(sheet) => set({ sheet: sheet === '' ? undefined : sheet })}
          />
          <NumberField
            label={t.fields.sd_m}
            value={layer.sd_m}
            fault={fault('sd_m')}
            hint={layer.sheet === undefined ? undefined : t.ofTable(number(sheets[layer.sheet as SheetName].sd, 1))}
            change={(sd_m) => set({ sd_m })}
          />
        </div>
      )}
      {layer.kind === 'declared' && (
        <div class="field-row">
          <NumberField
            label={t.fields.resistance_m2k_per_w}
            value={layer.resistance_m2k_per_w}
            fault={fault('resistance_m2k_per_w')}
            change={(resistance_m2k_per_w) => set({ resistance_m2k_per_w })}
          />
          <NumberField
            label={t.fields.sd_m}
            value={layer.sd_m}
            fault={fault('sd_m')}
            change={(sd_m) => set({ sd_m })}
          />
        </div>
      )}
      {layer.kind === 'air' && <VentilationFields layer={layer} fault={fault} set={set} />}
      {(layer.kind === 'material' || layer.kind === 'sheet') && (
        <TickField
          label={t.fields.vapour_control}
          checked={layer.vapour_control === true}
          change={(on) => set({ vapour_control: on ? true : undefined })}
        />
      )}
      {fault('vapour_control') !== null && <small class="fault">{fault('vapour_control')}</small>}
      {(layer.kind === 'material' || layer.kind === 'air') && (
        <BridgeFields bridge={layer.bridge} fault={fault} change={(bridge) => set({ bridge })} />
      )}
    </>
  );
}

const sdHint = ({ material, thickness_mm }: LayerDraft): string | undefined =>
  material === undefined || thickness_mm === undefined
    ? undefined
    : t.ofTable(number((materials[material as MaterialName].vapourResistance.dry * thickness_mm) / 1000, 2));

function VentilationFields(props: {
  layer: LayerDraft;
  fault: FaultOf;
  set: (part: Pick<LayerDraft, 'ventilation'>) => void;
}) {
  const { ventilation } = props.layer;
  const open = typeof ventilation === 'object' ? ventilation : null;
  return (
    <div class="field-row">
      <ChoiceField
        label={t.fields.ventilation}
        value={open ? 'some' : String(ventilation ?? 'closed')}
        options={(['closed', 'some', 'well-ventilated'] as const).map((name) => [name, t.ventilations[name]])}
        change={(name) =>
          props.set({ ventilation: name === 'some' ? { openings_mm2: 500 } : (name as 'closed' | 'well-ventilated') })
        }
      />
      {open && (
        <NumberField
          label={t.fields.openings_mm2}
          value={open.openings_mm2}
          fault={props.fault('ventilation.openings_mm2') ?? props.fault('ventilation')}
          change={(openings_mm2) => props.set({ ventilation: { openings_mm2 } })}
        />
      )}
    </div>
  );
}

/** A material of the table, and values of one's own over it. */
function MaterialFields(props: { own: OwnValues; fault: FaultOf; set: (part: OwnValues) => void }) {
  const { own, fault, set } = props;
  const table = own.material === undefined ? null : materials[own.material as MaterialName];
  const factor = own.vapour_resistance_factor;
  const single = typeof factor === 'object' ? factor.dry : factor;
  const hint = (value: number | undefined, places: number) =>
    value === undefined ? undefined : t.ofTable(number(value, places));
  const values = (
    <div class="field-row">
      <NumberField
        label={t.fields.conductivity_w_per_mk}
        value={own.conductivity_w_per_mk}
        fault={fault('conductivity_w_per_mk')}
        hint={hint(table?.conductivity, 3)}
        change={(conductivity_w_per_mk) => set({ conductivity_w_per_mk })}
      />
      <NumberField
        label={t.fields.vapour_resistance_factor}
        value={single}
        fault={fault('vapour_resistance_factor')}
        hint={
          table ? t.ofTable(`${number(table.vapourResistance.dry)} / ${number(table.vapourResistance.wet)}`) : undefined
        }
        change={(vapour_resistance_factor) => set({ vapour_resistance_factor })}
      />
      <NumberField
        label={t.fields.density_kg_per_m3}
        value={own.density_kg_per_m3}
        fault={fault('density_kg_per_m3')}
        hint={hint(table?.density, 0)}
        change={(density_kg_per_m3) => set({ density_kg_per_m3 })}
      />
      <NumberField
        label={t.fields.heat_capacity_j_per_kgk}
        value={own.heat_capacity_j_per_kgk}
        fault={fault('heat_capacity_j_per_kgk')}
        hint={hint(table?.heatCapacity, 0)}
        change={(heat_capacity_j_per_kgk) => set({ heat_capacity_j_per_kgk })}
      />
    </div>
  );
  return (
    <>
      <ChoiceField
        label={t.fields.material}
        value={own.material ?? ''}
        options={materialOptions}
        change={(material) => set({ material: material === '' ? undefined : material })}
      />
      {table === null ? (
        values
      ) : (
        <details>
          <summary>{t.ownValues}</summary>
          {values}
        </details>
      )}
    </>
  );
}

function BridgeFields(props: {
  bridge: BridgeDraft | undefined;
  fault: FaultOf;
  change: (bridge: BridgeDraft | undefined) => void;
}) {
  const { bridge, change } = props;
  const fault: FaultOf = (field) => props.fault(`bridge.${field}`);
  const set = (part: Partial<BridgeDraft>) => bridge && change({ ...bridge, ...part });
  const byShare = bridge?.share !== undefined;
  return (
    <>
      <TickField
        label={t.fields.hasBridge}
        checked={bridge !== undefined}
        change={(on) =>
          change(on ? { name: t.start.ribs, material: 'softwood', width_mm: 47, spacing_mm: 600 } : undefined)
        }
      />
      {bridge && (
        <fieldset class="inset">
          <legend>{t.fields.bridge}</legend>
          <TextField
            label={t.fields.bridgeName}
            value={bridge.name}
            fault={fault('name')}
            change={(name) => set({ name })}
          />
          <MaterialFields own={bridge} fault={fault} set={set} />
          <div class="field-row">
            {byShare ? (
              <NumberField
                label={t.fields.share}
                value={bridge.share}
                fault={fault('share')}
                change={(share) => set({ share })}
              />
            ) : (
              <>
                <NumberField
                  label={t.fields.width_mm}
                  value={bridge.width_mm}
                  fault={fault('width_mm')}
                  change={(width_mm) => set({ width_mm })}
                />
                <NumberField
                  label={t.fields.spacing_mm}
                  value={bridge.spacing_mm}
                  fault={fault('spacing_mm')}
                  change={(spacing_mm) => set({ spacing_mm })}
                />
              </>
            )}
          </div>
          {props.fault('bridge') !== null && <small class="fault">{props.fault('bridge')}</small>}
        </fieldset>
      )}
    </>
  );
}
