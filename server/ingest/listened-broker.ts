import { Aedes, type AedesOptions, type Client, type PublishPacket } from 'aedes';

type Done = (error?: Error) => void;
/** As aedes calls it: with the client that a message came from, where there is one. */
type Publish = (packet: PublishPacket, from: Client | null | Done, done?: Done) => void;

/**
 * Passes messages of devices on only while somebody listens: to look for listeners of each message and find none takes as
 * long as to read it. What the broker itself says, and what is retained for later listeners, is passed on in any case.
 */
export class ListenedBroker extends Aedes {
  readonly #isHeard: () => boolean;

  /** @param isHeard whether any client has subscribed to anything */
  constructor(isHeard: () => boolean, options: AedesOptions) {
    super(options);
    this.#isHeard = isHeard;
  }

  override publish(packet: PublishPacket, from: Client | null | Done, done?: Done): void {
    if (typeof from === 'function' || packet.retain || this.#isHeard()) {
      (super.publish as Publish)(packet, from, done);
    } else done?.();
  }
}
