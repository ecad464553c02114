import type { UnassignedTopic } from '../../../server/api/contract/mapping.ts';
import { connectingWords as t } from '../words/connecting.ts';
import { number } from '../words/format.ts';
import { childPointer, type Draft, has } from './draft.ts';

type Leaf = UnassignedTopic['leaves'][number];

/** A message as the tree it is. Each of its values is a button that takes it into the mapping, or out again. */
export function PayloadTree(props: { topic: UnassignedTopic; draft: Draft; choose: (leaf: Leaf) => void }) {
  const { topic } = props;
  if (topic.tree === null) return null;
  const leaves = new Map(topic.leaves.map((leaf) => [leaf.pointer, leaf]));
  return (
    <div class="tree">
      <Branch
        value={topic.tree.value}
        pointer=""
        name={null}
        leaves={leaves}
        draft={props.draft}
        choose={props.choose}
      />
    </div>
  );
}

interface BranchProps {
  value: unknown;
  pointer: string;
  name: string | number | null;
  leaves: ReadonlyMap<string, Leaf>;
  draft: Draft;
  choose: (leaf: Leaf) => void;
}

function Branch(props: BranchProps) {
  const { value, pointer, name, leaves, draft, choose } = props;
  if (typeof value !== 'object' || value === null) {
    const leaf = leaves.get(pointer);
    const shown = JSON.stringify(value) ?? 'null';
    return (
      <>
        {name !== null && <Name name={name} />}
        {leaf === undefined ? (
          <code>{shown}</code>
        ) : (
          <button type="button" class="leaf" aria-pressed={has(draft, pointer)} onClick={() => choose(leaf)}>
            {shown}
            <span class="unseen"> {pointer === '' ? t.wholeMessage : pointer}</span>
          </button>
        )}
      </>
    );
  }
  const children = Array.isArray(value) ? value.map((child, i) => [i, child] as const) : Object.entries(value);
  return (
    <>
      {name !== null && (
        <>
          <Name name={name} />
          <span class="small">{t.items(number(children.length))}</span>
        </>
      )}
      <ul>
        {children.map(([key, child]) => (
          <li key={key}>
            <Branch
              value={child}
              pointer={childPointer(pointer, key)}
              name={key}
              leaves={leaves}
              draft={draft}
              choose={choose}
            />
          </li>
        ))}
      </ul>
    </>
  );
}

const Name = (props: { name: string | number }) => (
  <span class="tree-name">{props.name === '' ? t.unnamed : String(props.name)}</span>
);
