/**
 * The kinds of place that can be watched. A control surface is comparable to the treated one and is not treated.
 */
export const placeKinds = [
  'room-air',
  'ceiling-surface',
  'control-surface',
  'behind-lining',
  'loft-air',
  'loft-timber',
  'outdoor-air',
  'supply-air',
] as const;

export type PlaceKind = (typeof placeKinds)[number];

/** A surface touches the room's air and is judged by that air's vapour pressure. */
export const isSurface = (kind: PlaceKind): boolean => kind === 'ceiling-surface' || kind === 'control-surface';

/** Named spans of the story. Only before and after are compared; what lies in works or drying-out counts in neither. */
export const phaseKinds = ['before', 'works', 'drying-out', 'after', 'other'] as const;

export type PhaseKind = (typeof phaseKinds)[number];

export const HOUR_MS = 3_600_000;
