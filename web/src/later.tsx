import { type Attributes, type ComponentType, h } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { speakMore } from './words/spoken.ts';
import { words } from './words/words.ts';

/** A part of the page that comes when it is asked for, its words before it. */
export function later<P>(
  fetchPart: () => Promise<ComponentType<P>>,
  room: 'screen' | 'chart' = 'screen',
): ComponentType<P> {
  let fetched: ComponentType<P> | null = null;
  return function Later(props: P) {
    const [, arrived] = useState(0);
    const Arrived = fetched;
    useEffect(() => {
      if (fetched !== null) return;
      speakMore()
        .then(fetchPart)
        .then((component) => {
          fetched = component;
          arrived((n) => n + 1);
        });
    }, []);
    return Arrived === null ? (
      <div class={`waiting room-${room}`} role="status">
        {words.loading}
      </div>
    ) : (
      h(Arrived, props as Attributes & P)
    );
  };
}
