import type { ComponentChildren } from 'preact';
import { accessWords } from '../words/access.ts';
import { isOwner } from './door.ts';

/** What only an owner may do. Everybody else reads in its place that it takes one. */
export function Owners(props: { what?: keyof typeof accessWords.owners; children?: ComponentChildren }) {
  if (isOwner()) return <>{props.children}</>;
  return (
    <p class="small owners">
      {accessWords.owners[props.what ?? 'change']} {accessWords.ownersNext}
    </p>
  );
}
