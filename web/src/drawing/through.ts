import type { PlaceNow } from '../../../server/api/contract/figures.ts';
import { saturationPressure } from '../../../server/physics/saturation.ts';

/** Where one passes on the way from the room to outdoors. */
export type NodeName = 'room' | 'surface' | 'behind' | 'outdoors';

type Figure = PlaceNow['temperature'];

/** What is known at one of them; null where it is not. Temperature °C, vapour pressures Pa. */
export interface Node {
  readonly name: NodeName;
  /** the place that says so */
  readonly placeId: number;
  readonly temperature: Figure;
  readonly vapour: Figure;
  /** vapour pressure at which air of that temperature is full, Pa */
  readonly most: number | null;
  /** share of the way across, 0 to 1 */
  readonly across: number;
}

export interface Through {
  readonly nodes: readonly Node[];
  /** dew point of the room's air, °C; null where it is not known */
  readonly dewPoint: number | null;
  readonly lined: boolean;
}

const acrossOf = { room: 0.06, surface: 0.36, behind: 0.6, outdoors: 0.94 } as const satisfies Record<NodeName, number>;

/**
 * Temperature and vapour from the room through the sloping ceiling to outdoors, as far as they are measured; null where
 * fewer than two temperatures are, or no ceiling surface is watched. Of several surfaces the coldest is taken.
 */
export function throughCeiling(places: readonly PlaceNow[], lined: boolean): Through | null {
  const surface = places
    .filter(({ kind, temperature }) => kind === 'ceiling-surface' && temperature !== null)
    .sort((a, b) => a.temperature!.value - b.temperature!.value)[0];
  if (surface === undefined) return null;
  const rooms = places.filter(({ kind }) => kind === 'room-air');
  const room = rooms.find(({ placeId }) => placeId === surface.airPlaceId) ?? rooms[0];
  const behind = lined ? places.find(({ kind }) => kind === 'behind-lining') : undefined;
  const outdoors = places.find(({ kind }) => kind === 'outdoor-air');
  const nodeOf = (name: NodeName, place: PlaceNow | undefined): Node[] => {
    if (place === undefined || place.temperature === null) return [];
    return [
      {
        name,
        placeId: place.placeId,
        temperature: place.temperature,
        vapour: place.vapourPressure,
        most: saturationPressure(place.temperature.value),
        across: acrossOf[name],
      },
    ];
  };
  const nodes = [
    ...nodeOf('room', room),
    ...nodeOf('surface', surface),
    ...nodeOf('behind', behind),
    ...nodeOf('outdoors', outdoors),
  ];
  return nodes.length < 2 ? null : { nodes, dewPoint: room?.dewPoint?.value ?? null, lined };
}

/** A scale from values to a band of the paper, y down, with a margin so that nothing touches its edge. */
export function scaleOf(values: readonly number[], top: number, bottom: number): (value: number) => number {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const spare = Math.max((high - low) * 0.12, 0.5);
  return (value) => bottom - ((value - low + spare) / (high - low + 2 * spare)) * (bottom - top);
}
