import { createContext } from 'preact';
import { useContext } from 'preact/hooks';
import type { Dwelling } from '../../server/api/contract/dwelling.ts';

/** The dwelling all screens are about. */
export const Home = createContext<Dwelling | null>(null);

export function useHome(): Dwelling {
  const home = useContext(Home);
  if (home === null) throw new Error('a screen was drawn outside a home');
  return home;
}
