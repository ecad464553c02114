import type { Store } from '../../store/port.ts';
import { RequestProblem } from '../problem.ts';
import type { Door } from '../router.ts';
import type { Access } from './access.ts';
import { requireReach } from './homes.ts';
import { isLandlord, may, nameOf } from './visit.ts';

/** Fields of a body that say what was done to whom, and are no secret. */
const TOLD = ['name', 'role', 'username', 'sensorKey', 'kind', 'label', 'from', 'to', 'scope', 'agreedBy', 'behindMs'];

/** The one place that decides who may do an operation, and writes down who did. */
export function createDoor(store: Store, access: Access, clock: () => number): Door {
  const dwellingIdOf = async (slug: unknown): Promise<number | null> =>
    typeof slug !== 'string' ? null : ((await store.findDwelling(slug))?.id ?? null);
  return {
    visit: access.visit,
    async admit({ actor }, operation, params) {
      const { shared } = operation;
      if (!may(actor, operation.who) && !(shared !== undefined && isLandlord(actor))) {
        if (actor.kind === 'stranger') {
          throw new RequestProblem('sign-in-needed', 'Sign in with your name and passphrase.');
        }
        throw new RequestProblem(
          'not-allowed',
          `This is for the ${operation.who === 'owner' ? 'owner' : 'household'}.`,
        );
      }
      if (actor.kind === 'person') {
        if (operation.ofEveryHome && actor.reach.kind === 'listed') {
          throw new RequestProblem(
            'not-allowed',
            'This shows something of every home, and only some are yours to see.',
          );
        }
        if ('dwelling' in params) await requireReach(store, actor, await dwellingIdOf(params.dwelling), shared ?? null);
      }
      if (actor.kind !== 'device' || operation.who !== 'device') return;
      const { sensor } = params;
      const itself = actor.sensorKey === null || actor.sensorKey === sensor;
      if (!itself || (await dwellingIdOf(params.dwelling)) !== actor.dwellingId) {
        throw new RequestProblem('not-allowed', `The account ${actor.username} may not send as ${String(sensor)}.`);
      }
    },
    async done({ actor }, action, params, body) {
      const told =
        typeof body === 'object' && body !== null
          ? Object.fromEntries(
              Object.entries(body).filter(
                ([key, value]) => TOLD.includes(key) && ['string', 'number'].includes(typeof value),
              ),
            )
          : {};
      const { dwelling, ...rest } = params;
      await store.recordTrail({
        at: clock(),
        personName: nameOf(actor),
        dwellingId: await dwellingIdOf(dwelling),
        action,
        detail: { ...rest, ...told },
      });
    },
  };
}
