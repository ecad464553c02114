import type { Dwelling } from '../../../server/api/contract/dwelling.ts';
import { call } from '../api/client.ts';
import { revisions } from '../api/live.ts';
import { useLoad } from '../api/load.ts';
import { number } from '../words/format.ts';
import { words } from '../words/words.ts';

/** How many notices are going on and nobody has seen yet, beside the name of their screen; nothing where there are none. */
export function OpenNotices(props: { home: Dwelling }) {
  const { slug } = props.home;
  const { loaded } = useLoad(`open notices ${slug}`, revisions.notices.value, (signal) =>
    call('listNotices', { params: { dwelling: slug }, query: { past: 0 } }, signal),
  );
  const open = loaded.kind === 'loading' ? null : loaded.value;
  const unseen = open?.current.filter(({ acknowledgedAt }) => acknowledgedAt === null).length ?? 0;
  if (unseen === 0) return null;
  return (
    <span class="nav-count">
      {number(unseen)}
      <span class="unseen"> {words.openNotices}</span>
    </span>
  );
}
