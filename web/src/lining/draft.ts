import type { Section } from '../../../server/api/contract/dwelling.ts';
import type { LiningFile } from '../../../server/api/contract/lining-file.ts';
import { liningWords } from '../words/lining.ts';

/** Values a material may carry of its own. */
export interface OwnValues {
  readonly material?: string | undefined;
  readonly conductivity_w_per_mk?: number | undefined;
  readonly density_kg_per_m3?: number | undefined;
  readonly heat_capacity_j_per_kgk?: number | undefined;
  readonly vapour_resistance_factor?: number | { readonly dry: number; readonly wet: number } | undefined;
}

export interface BridgeDraft extends OwnValues {
  readonly name: string;
  readonly share?: number | undefined;
  readonly width_mm?: number | undefined;
  readonly spacing_mm?: number | undefined;
  readonly line?: string | undefined;
}

export type LayerKind = 'material' | 'sheet' | 'declared' | 'air';

/** A layer as it is being typed: any value may still be missing. Names are those of the file. */
export interface LayerDraft extends OwnValues {
  /** tells layers apart while they move */
  readonly key: number;
  readonly kind: LayerKind;
  readonly name: string;
  readonly thickness_mm?: number | undefined;
  readonly sheet?: string | undefined;
  readonly sd_m?: number | undefined;
  readonly resistance_m2k_per_w?: number | undefined;
  readonly ventilation?: 'closed' | 'well-ventilated' | { readonly openings_mm2?: number | undefined } | undefined;
  readonly bridge?: BridgeDraft | undefined;
  readonly vapour_control?: true | undefined;
}

type FileState = Pick<
  LiningFile,
  'design' | 'climate' | 'air_leak_m3_per_h_m2' | 'old_surface_mould_class' | 'vapour_test' | 'time_zone' | 'note'
>;

/** Everything on the screen that can be changed. */
export interface Draft {
  readonly name: string;
  readonly pitch: number | undefined;
  readonly existing: readonly LayerDraft[];
  readonly lining: readonly LayerDraft[];
  /** the old layers where they change with the lining; null: they stay as they are */
  readonly behind: readonly LayerDraft[] | null;
  readonly rest: FileState;
}

export type ListName = 'existing' | 'lining' | 'behind';

let lastKey = 0;
export const newKey = (): number => {
  lastKey += 1;
  return lastKey;
};

const layer = (of: Omit<LayerDraft, 'key'>): LayerDraft => ({ ...of, key: newKey() });

export const newLayer = (): LayerDraft =>
  layer({ kind: 'material', name: liningWords.newLayer, material: 'plasterboard' });

/** What goes to the program and into a file: the old layers behind the lining, typed once, stand in both build-ups. */
export function fileOf({ name, pitch, existing, lining, behind, rest }: Draft): unknown {
  const plain = ({ key: _, ...own }: LayerDraft) => own;
  const old = behind ?? existing;
  const after = [
    ...lining.map(plain),
    ...old.map((one, i) =>
      i === 0 && one.name !== existing[0]?.name ? { ...plain(one), old_surface: true } : plain(one),
    ),
  ];
  // a round through JSON leaves out what is not there
  return JSON.parse(
    JSON.stringify({
      ...(name.trim() === '' ? {} : { title: name }),
      ...rest,
      pitch_deg: pitch,
      before: { layers: existing.map(plain) },
      after: { layers: after },
    }),
  );
}

/** A file that was found usable, as a draft. */
export function draftOf(file: LiningFile, oldSurface: number, name: string): Draft {
  const { before, after, pitch_deg, title, ...rest } = file;
  const taken = (layers: LiningFile['before']['layers']): LayerDraft[] =>
    layers.map((one) => {
      const { old_surface: _, ...own } = one as typeof one & { old_surface?: true };
      return layer(own as Omit<LayerDraft, 'key'>);
    });
  const existing = taken(before.layers);
  const behind = taken(after.layers.slice(oldSurface));
  const alike = JSON.stringify(behind.map(withoutKey)) === JSON.stringify(existing.map(withoutKey));
  return {
    name: name || (title ?? ''),
    pitch: pitch_deg,
    existing,
    lining: taken(after.layers.slice(0, oldSurface)),
    behind: alike ? null : behind,
    rest,
  };
}

const withoutKey = ({ key: _, ...own }: LayerDraft) => own;

const BOARD_MM = 12.5;

/**
 * A sensible beginning: plasterboard under a ventilated void, lined with foam and board as thick as the section says, or
 * 40 mm where it says nothing.
 */
export function startOf(section: Section, zone: string): Draft {
  const t = liningWords.start;
  const thickness = section.liningThicknessMm > 0 ? section.liningThicknessMm : 40;
  const board = Math.min(BOARD_MM, thickness / 2);
  const bridge: BridgeDraft = { name: t.ribs, material: 'softwood', width_mm: 38, spacing_mm: 600 };
  return {
    name: '',
    pitch: section.pitchDeg,
    existing: [
      layer({ kind: 'sheet', name: t.oldPaint, sheet: 'emulsion-paint' }),
      layer({ kind: 'material', name: t.oldBoard, material: 'plasterboard', thickness_mm: BOARD_MM }),
      layer({
        kind: 'air',
        name: t.void,
        thickness_mm: 100,
        ventilation: 'well-ventilated',
        bridge: { name: t.rafters, material: 'softwood', width_mm: 47, spacing_mm: 450 },
      }),
      layer({ kind: 'sheet', name: t.felt, sheet: 'bituminous-paper' }),
      layer({ kind: 'material', name: t.tiles, material: 'clay-tile', thickness_mm: 15 }),
    ],
    lining: [
      layer({ kind: 'sheet', name: t.paint, sheet: 'emulsion-paint' }),
      layer({ kind: 'material', name: t.board, material: 'plasterboard', thickness_mm: board }),
      layer({
        kind: 'material',
        name: t.foam,
        material: 'rigid-polyurethane',
        thickness_mm: thickness - board,
        sd_m: 100,
        vapour_control: true,
        bridge,
      }),
    ],
    behind: null,
    rest: {
      time_zone: zone,
      design: { room_c: 20, room_humidity_pct: 60, outdoor_c: -5, outdoor_humidity_pct: 80 },
      air_leak_m3_per_h_m2: 0.05,
      old_surface_mould_class: 'sensitive',
      vapour_test: 'dry',
    },
  };
}

/** An invented, cool and damp year to begin with where months are typed in. */
export const exampleClimate: NonNullable<LiningFile['climate']> = {
  humidity_class: 3,
  months: (
    [
      ['January', 31, 2.8, 92],
      ['February', 28, 2.8, 88],
      ['March', 31, 4.5, 84],
      ['April', 30, 6.7, 80],
      ['May', 31, 9.8, 78],
      ['June', 30, 12.6, 79],
      ['July', 31, 14, 80],
      ['August', 31, 13.7, 81],
      ['September', 30, 11.5, 84],
      ['October', 31, 9.1, 88],
      ['November', 30, 5.2, 91],
      ['December', 31, 3.5, 92],
    ] as const
  ).map(([name, days, outdoor_c, outdoor_humidity_pct]) => ({
    name,
    days,
    outdoor_c,
    outdoor_humidity_pct,
    room_c: 20,
  })),
};

/** Moves a layer one place; the list as it was where there is no such place. */
export function moved(list: readonly LayerDraft[], index: number, by: -1 | 1): readonly LayerDraft[] {
  const to = index + by;
  if (to < 0 || to >= list.length) return list;
  const next = [...list];
  [next[index], next[to]] = [next[to]!, next[index]!];
  return next;
}
