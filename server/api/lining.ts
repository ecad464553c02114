import { defaultTarget } from '../analysis/assessment-settings.ts';
import { HOUR_MS } from '../analysis/vocabulary.ts';
import { readAssessment, usualPhases } from '../store/assessment-reader.ts';
import type { BuildUps, Dwelling, Store } from '../store/port.ts';
import type { Assessor } from './assessor.ts';
import type { BuildUpsWire } from './contract/build-ups.ts';
import { readLiningFile } from './contract/lining-file.ts';
import { type LiningWork, liningAnswerOf } from './lining-work.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

interface LiningParts {
  readonly store: Store;
  readonly assessor: Pick<Assessor, 'checkLining'>;
  readonly clock: () => number;
  readonly dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>;
}

type Names = 'checkLining' | 'listBuildUps' | 'addBuildUps' | 'changeBuildUps' | 'removeBuildUps';

/** The lining check and the build-ups that are kept for it. */
export function liningHandlers({ store, assessor, clock, dwellingOf }: LiningParts): Pick<Handlers, Names> {
  return {
    async checkLining({ params, query, body }) {
      const dwelling = await dwellingOf(params);
      const { file, input } = usable(body);
      const places = query.log === 'own' ? await placesOf(store, dwelling, clock()) : null;
      const work: LiningWork = { title: file.title ?? null, input, places };
      // years of hours take seconds; without them it is done before another process would have begun
      return places === null ? liningAnswerOf(work) : assessor.checkLining(work);
    },

    async listBuildUps({ params }) {
      return (await store.buildUps((await dwellingOf(params)).id)).map(buildUpsView);
    },

    async addBuildUps({ params, body }) {
      const dwelling = await dwellingOf(params);
      const document = JSON.stringify(usable(body.file).file);
      return buildUpsView(
        await store.addBuildUps({ dwellingId: dwelling.id, name: body.name, document, savedAt: clock() }),
      );
    },

    async changeBuildUps({ params, body }) {
      const dwelling = await dwellingOf(params);
      const changed = await store.changeBuildUps(dwelling.id, params.id, {
        ...(body.name === undefined ? {} : { name: body.name }),
        ...(body.file === undefined ? {} : { document: JSON.stringify(usable(body.file).file) }),
        savedAt: clock(),
      });
      return buildUpsView(changed);
    },

    async removeBuildUps({ params }) {
      await store.removeBuildUps((await dwellingOf(params)).id, params.id);
      return undefined;
    },
  };
}

/** A file that the contract let pass may still contradict itself; each fault has its place in it. */
function usable(json: unknown) {
  const read = readLiningFile(json);
  if (read.kind === 'usable') return read;
  throw new RequestProblem(
    'bad-request',
    'The build-ups cannot be used as they are.',
    read.problems.map(({ at, message }) => ({ pointer: at, detail: message })),
  );
}

/** Every place with its hours as a comparison of the first ceiling surface would see them; null where there is none. */
async function placesOf(store: Store, dwelling: Dwelling, now: number) {
  const [places, phases] = await Promise.all([store.places(dwelling.id), store.phases(dwelling.id)]);
  const surface = places.find(({ kind }) => kind === 'ceiling-surface');
  if (surface === undefined) return null;
  return readAssessment(store, dwelling, {
    surface,
    ...usualPhases(phases),
    target: defaultTarget,
    now: Math.floor(now / HOUR_MS) * HOUR_MS,
  });
}

const buildUpsView = ({ id, name, document, savedAt }: BuildUps): BuildUpsWire => ({
  id,
  name,
  savedAt: toInstant(savedAt),
  file: JSON.parse(document),
});
