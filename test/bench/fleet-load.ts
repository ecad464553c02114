/** Many homes whose sensors report in turn, a home never twice in a row, faster than the clock. */
export interface FleetLoad {
  readonly port: number;
  readonly homes: number;
  readonly sensors: number;
  /** between two messages of one sensor, ms of its own clock */
  readonly everyMs: number;
  /** how much faster than the clock that one goes */
  readonly compressed: number;
  /** messages of this number on, up to but without the other */
  readonly from: number;
  readonly to: number;
  /** when message `from` is due, UTC ms */
  readonly began: number;
  /** when message 0 was measured, UTC ms */
  readonly first: number;
}

/** Time of a sensor's clock from one message of the fleet to the next, ms; a whole number, as times of readings are. */
export function apartMs({ homes, sensors, everyMs }: Pick<FleetLoad, 'homes' | 'sensors' | 'everyMs'>): number {
  const apart = everyMs / (homes * sensors);
  if (!Number.isInteger(apart)) throw new RangeError(`${homes * sensors} sensors do not share ${everyMs} ms evenly`);
  return apart;
}

export function fleetMessage(load: FleetLoad, n: number) {
  const apart = apartMs(load);
  return {
    home: n % load.homes,
    sensor: Math.floor(n / load.homes) % load.sensors,
    time: load.first + n * apart,
    due: load.began + ((n - load.from) * apart) / load.compressed,
  };
}
