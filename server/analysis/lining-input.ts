import type { BuildUp } from '../physics/build-up.ts';
import type { ClimateMonth } from '../physics/condensation-year.ts';
import type { AirStates } from '../physics/diffusion.ts';
import type { AirHours } from '../physics/hidden-layer.ts';
import type { MouldOptions } from '../physics/mould-options.ts';
import { vapourPressure } from '../physics/vapour.ts';

/** Air on one or both sides, °C and % over liquid water. */
export interface DesignState {
  readonly roomTemperature: number;
  readonly roomHumidity: number;
  readonly outdoorTemperature: number;
  readonly outdoorHumidity: number;
}

/** Logged hours; entry `i` begins at `start + i` hours. NaN is not known. */
export interface LoggedHours {
  /** UTC milliseconds, a whole hour */
  readonly start: number;
  /** IANA time zone for nights and months */
  readonly zone: string;
  readonly air: AirHours;
}

export interface LiningInput {
  readonly before: BuildUp;
  readonly after: BuildUp;
  /** index in `after.layers` of the layer whose room-side face was the ceiling surface, at least 1 */
  readonly oldSurface: number;
  /** indices in `after.layers` of what holds vapour back on purpose, on the room side of the old surface; may be none */
  readonly vapourControl: readonly number[];
  readonly design: DesignState;
  /** twelve months typed in; null: from the log where it is long enough */
  readonly climate: readonly ClimateMonth[] | null;
  readonly logged: LoggedHours | null;
  /** allowance for room air that passes behind the lining, m3/(h m2) */
  readonly airLeak: number;
  /** options of the mould index at the old surface that differ from the defaults */
  readonly mould: Partial<MouldOptions>;
  /** which vapour resistance factor of a material is used */
  readonly cup: 'dry' | 'wet';
}

/** A state typed in, with humidities as vapour pressures. @throws RangeError outside the ranges of temperature and humidity */
export function airOf(state: DesignState): AirStates {
  return {
    roomTemperature: state.roomTemperature,
    outdoorTemperature: state.outdoorTemperature,
    roomVapourPressure: vapourPressure(state.roomTemperature, state.roomHumidity),
    outdoorVapourPressure: vapourPressure(state.outdoorTemperature, state.outdoorHumidity),
  };
}
