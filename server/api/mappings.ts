import { type Leaf, leavesOf, suggestPattern } from '../ingest/guess.ts';
import { prepareMapping, type ReadyMapping, topicParts } from '../ingest/mapping.ts';
import { payloadLimits, readJson } from '../ingest/payload.ts';
import type { Intake } from '../ingest/receiver.ts';
import { type Reread, type Rereader, usableReadings } from '../ingest/reread.ts';
import { covers, filterOf } from '../ingest/topic-pattern.ts';
import { understandMapped } from '../ingest/understand.ts';
import { quantities } from '../physics/quantities.ts';
import type { Dwelling, Mapping, New, QuarantineGroup, Store } from '../store/port.ts';
import { RequestProblem } from './problem.ts';
import type { Handlers } from './router.ts';
import { toInstant } from './views.ts';

export interface MappingParts {
  readonly store: Store;
  readonly receiver: Pick<Intake, 'forget'>;
  readonly rereader: Pick<Rereader, 'run'>;
  /** what is subscribed to at an external broker; null: everything comes */
  readonly topicFilters: readonly string[] | null;
}

type MappingHandlers = Pick<
  Handlers,
  | 'listUnassigned'
  | 'listMappings'
  | 'addMapping'
  | 'changeMapping'
  | 'removeMapping'
  | 'previewMapping'
  | 'readInQuarantine'
>;

/** Reasons for which a message waits for a mapping or a dwelling, and not for its sender. */
const unassignedFaults = [
  'unknown-topic',
  'unknown-dwelling',
  'which-dwelling',
  'no-sensor-name',
  'mapping-finds-nothing',
  'no-known-quantity',
];
const MOST_TOPICS = 200;
const MOST_GROUPS = 500;
const MOST_TOPICS_LOOKED_AT = 10_000;
const MOST_TEXT = 4096;
const LARGEST_TREE = 1 << 16;
const MOST_PREVIEWED_TOPICS = 20;
const MESSAGES_PREVIEWED = 3;

/** Handlers of everything about messages of other forms than our own. */
export function createMappingHandlers(
  { store, receiver, rereader, topicFilters }: MappingParts,
  dwellingOf: (params: { dwelling: string }) => Promise<Dwelling>,
): MappingHandlers {
  const mappingView = ({ dwellingId: _, ...mapping }: Mapping) => {
    const filter = filterOf(ready(mapping, 0).pattern);
    return {
      ...mapping,
      values: [...mapping.values],
      filter,
      subscribed: topicFilters === null || topicFilters.some((wide) => covers(wide, filter)),
    };
  };

  async function readIn(): Promise<Reread> {
    receiver.forget();
    return rereader.run();
  }

  async function find(dwelling: Dwelling, id: number): Promise<Mapping> {
    const found = (await store.mappings()).find((mapping) => mapping.dwellingId === dwelling.id && mapping.id === id);
    if (!found) throw new RequestProblem('not-found', `There is no mapping ${id} in ${dwelling.slug}.`);
    return found;
  }

  return {
    async listUnassigned() {
      const groups = await store.quarantineGroups(MOST_GROUPS);
      return groups
        .filter(({ code }) => unassignedFaults.includes(code))
        .slice(0, MOST_TOPICS)
        .map(unassignedView);
    },

    async listMappings({ params }) {
      const { id } = await dwellingOf(params);
      return (await store.mappings()).filter(({ dwellingId }) => dwellingId === id).map(mappingView);
    },

    async addMapping({ params, body }) {
      const dwelling = await dwellingOf(params);
      ready(body, dwelling.id);
      const mapping = await store.addMapping({ ...body, dwellingId: dwelling.id });
      return { mapping: mappingView(mapping), readIn: await readIn() };
    },

    async changeMapping({ params, body }) {
      const dwelling = await dwellingOf(params);
      const old = await find(dwelling, params.id);
      const given = Object.fromEntries(Object.entries(body).filter(([, value]) => value !== undefined));
      ready({ ...old, ...given }, dwelling.id);
      const mapping = await store.changeMapping(dwelling.id, params.id, body);
      return { mapping: mappingView(mapping), readIn: await readIn() };
    },

    async removeMapping({ params }) {
      const dwelling = await dwellingOf(params);
      await store.removeMapping(dwelling.id, params.id);
      receiver.forget();
      return undefined;
    },

    async previewMapping({ params, body }) {
      const dwelling = await dwellingOf(params);
      const draft = ready(body, dwelling.id);
      const topics = (await store.unresolvedTopics('', MOST_TOPICS_LOOKED_AT)).filter(
        (topic) => topicParts(draft, topic) !== null,
      );
      const messages = [];
      for (const topic of topics.slice(0, MOST_PREVIEWED_TOPICS)) {
        for (const row of await store.quarantined(topic, MESSAGES_PREVIEWED)) {
          const understood = understandMapped(topic, row.payload, row.receivedAt, [draft], payloadLimits);
          messages.push({
            topic,
            receivedAt: toInstant(row.receivedAt),
            readings: (understood?.kind === 'readings' ? usableReadings(understood.readings, row.source) : []).map(
              ({ sensorKey, quantity, time, value }) => ({
                sensorKey,
                quantity,
                unit: quantities[quantity].unit,
                time: toInstant(time),
                value,
              }),
            ),
            fault: understood?.fault ?? null,
          });
        }
      }
      return { messages };
    },

    async readInQuarantine() {
      return readIn();
    },
  };
}

/** The mapping made ready to read with. @throws RequestProblem listing all that is wrong with it */
function ready(mapping: Omit<New<Mapping>, 'dwellingId'>, dwellingId: number): ReadyMapping {
  const result = prepareMapping({ ...mapping, dwellingId });
  if (result.kind === 'ready') return result.ready;
  const told = result.faults.map(({ pointer, detail }) => `${pointer} ${detail}`).join('; ');
  throw new RequestProblem('bad-request', `The mapping does not fit: ${told}.`, [...result.faults]);
}

function unassignedView({ topic, code, message, count, firstAt, lastAt, lastPayload }: QuarantineGroup) {
  const json = readJson(lastPayload, { ...payloadLimits, maxBytes: LARGEST_TREE });
  const name = topic.slice(topic.lastIndexOf('/') + 1);
  return {
    topic,
    count,
    firstAt: toInstant(firstAt),
    lastAt: toInstant(lastAt),
    fault: { code, message },
    text: new TextDecoder().decode(lastPayload.subarray(0, MOST_TEXT)),
    tree: json.kind === 'json' ? { value: json.value } : null,
    leaves: json.kind === 'json' ? leavesOf(json.value, name, lastAt) : ([] as Leaf[]),
    suggestion: suggestPattern(topic),
  };
}
