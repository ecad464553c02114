import type { Reach } from '../../analysis/portfolio/vocabulary.ts';
import type { Role, Session } from '../../store/port.ts';
import { type AccessLevel, mayDo } from '../contract/access.ts';

/** Who asks. */
export type Actor =
  /** somebody who is not signed in, where one has to */
  | { readonly kind: 'stranger' }
  /** there is no passphrase yet: whoever sits at this machine */
  | { readonly kind: 'at-the-machine' }
  | {
      readonly kind: 'device';
      readonly username: string;
      readonly dwellingId: number;
      readonly sensorKey: string | null;
    }
  | {
      readonly kind: 'person';
      readonly id: number;
      readonly name: string;
      readonly role: Role;
      /** the homes of others are closed to them */
      readonly reach: Reach;
      readonly session: Session;
    };

/** One request, and what its answer may do to the browser's session. */
export interface Visit {
  readonly actor: Actor;
  /** where it comes from, as far as the socket and proxies that are trusted tell */
  readonly address: string;
  readonly browser: string;
  /** Gives the browser a session token, or takes it away. */
  keepToken(token: string | null): void;
}

const levels: Record<Actor['kind'], (actor: Actor) => AccessLevel> = {
  stranger: () => 'anyone',
  'at-the-machine': () => 'owner',
  device: () => 'device',
  person: (actor) => (actor.kind === 'person' ? actor.role : 'anyone'),
};

export const levelOf = (actor: Actor): AccessLevel => levels[actor.kind](actor);

/** Whether an actor may do what asks for at least `needed`. */
export const may = (actor: Actor, needed: AccessLevel): boolean => mayDo[levelOf(actor)].includes(needed);

/** The name that goes on the trail. */
export const nameOf = (actor: Actor): string | null =>
  actor.kind === 'person' ? actor.name : actor.kind === 'device' ? actor.username : null;

export const isLandlord = (actor: Actor): boolean => actor.kind === 'person' && actor.role === 'landlord';
